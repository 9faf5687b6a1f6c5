"""The moves of a run, each in one transaction: start, serve, answer, away, not in place.

`serving` may use nothing of the others; `answering` and `starting` use `serving`, and `scanning`,
by which a label answers, both. Beside them `assigning`: recipes given to people, and `series` of
them at once; `observing`: sheets of the open doors, with `single_things` asked for one by one, and
`signing`: what officers signed of those, which uses `observing`; `contesting_sheets` uses both and
`contesting`; `reminders`: how people hear of what is due elsewhere. `phases`, of new hires, is
asked by its own name.
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
from drills.runs.actions.contesting_sheets import contest_sheet, decide_sheet_contest, parts_of
from drills.runs.actions.observing import (
    Watched,
    close_sheet,
    leave_sheet,
    lines_of,
    open_sheet,
    out_of_place,
    start_watch,
    stop_watch,
)
from drills.runs.actions.reminders import (
    confirm_address,
    forget_letter,
    is_confirmed,
    make_feed,
    revoke_feed,
    set_reminders,
    waits_for,
)
from drills.runs.actions.reporting import (
    SettledSinceError,
    may_report_afterwards,
    report_afterwards,
)
from drills.runs.actions.scanning import answer_by_label, last_scanned
from drills.runs.actions.series import (
    HaveSeriesError,
    assign_series,
    excuse_from_series,
    move_series,
    take_back_from_series,
    withdraw_series,
)
from drills.runs.actions.serving import begin, call_away, go_on, report_not_there, serve_next
from drills.runs.actions.signing import (
    is_in_phases,
    refuse_to_sign,
    set_signing,
    short_of_standard,
    sign_off,
    signing_settings,
    touched_by,
    withdraw_sign_off,
)
from drills.runs.actions.single_things import (
    answer_thing,
    limit_of,
    seen_of,
    start_thing,
    verdict_of,
)
from drills.runs.actions.starting import PRESSED_TWICE, press_start, start_run

__all__ = [
    "PRESSED_TWICE",
    "AlreadyAssignedError",
    "AnswerError",
    "AnsweredOtherwiseError",
    "ContestError",
    "HaveSeriesError",
    "NotOpenError",
    "SettledSinceError",
    "Watched",
    "answer_by_label",
    "answer_prompt",
    "answer_thing",
    "assign",
    "assign_series",
    "begin",
    "call_away",
    "close_sheet",
    "confirm_address",
    "contest",
    "contest_sheet",
    "decide_contest",
    "decide_sheet_contest",
    "excuse",
    "excuse_from_series",
    "forget_letter",
    "go_on",
    "is_confirmed",
    "is_in_phases",
    "last_scanned",
    "leave_sheet",
    "limit_of",
    "lines_of",
    "make_feed",
    "may_report_afterwards",
    "move_series",
    "open_sheet",
    "out_of_place",
    "parts_of",
    "press_start",
    "refuse_to_sign",
    "report_afterwards",
    "report_not_there",
    "revoke_feed",
    "seen_of",
    "serve_next",
    "set_reminders",
    "set_signing",
    "short_of_standard",
    "sign_off",
    "signing_settings",
    "start_run",
    "start_thing",
    "start_watch",
    "stop_watch",
    "take_back_excuse",
    "take_back_from_series",
    "touched_by",
    "verdict_of",
    "waits_for",
    "withdraw",
    "withdraw_series",
    "withdraw_sign_off",
]
