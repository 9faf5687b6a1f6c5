"""The moves of a run, each in one transaction: start, serve, answer, away, not in place.

`serving` may use nothing of the others; `answering` and `starting` use `serving`. Beside them
`assigning`: recipes given to people.
"""

from drills.runs.actions.answering import (
    AnsweredOtherwiseError,
    AnswerError,
    NotOpenError,
    answer_prompt,
)
from drills.runs.actions.assigning import (
    AlreadyAssignedError,
    assign,
    excuse,
    take_back_excuse,
    withdraw,
)
from drills.runs.actions.contesting import ContestError, contest, decide_contest
from drills.runs.actions.reporting import (
    SettledSinceError,
    may_report_afterwards,
    report_afterwards,
)
from drills.runs.actions.serving import begin, call_away, go_on, report_not_there, serve_next
from drills.runs.actions.starting import start_run

__all__ = [
    "AlreadyAssignedError",
    "AnswerError",
    "AnsweredOtherwiseError",
    "ContestError",
    "NotOpenError",
    "SettledSinceError",
    "answer_prompt",
    "assign",
    "begin",
    "call_away",
    "contest",
    "decide_contest",
    "excuse",
    "go_on",
    "may_report_afterwards",
    "report_afterwards",
    "report_not_there",
    "serve_next",
    "start_run",
    "take_back_excuse",
    "withdraw",
]
