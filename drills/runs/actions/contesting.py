"""Contesting the mark of an answer, and deciding on it."""

from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import QuerySet

from drills.competency.actions import void_evidence
from drills.engine.moves import CONTEST, refusal
from drills.people.audit import record
from drills.people.models import Person
from drills.runs.actions.serving import source_of
from drills.runs.models import (
    Contest,
    Presentation,
    PresentationState,
    Run,
    Verdict,
    VoidReason,
)


class ContestError(ValueError):
    """A contest that cannot be taken; the text says why."""


def read_reason(because: str) -> str:
    """Why a mark is contested; raises `ContestError` where nothing came in."""
    if not because.strip():
        raise ContestError("No reason came in. Say what is wrong with the mark.")
    return because.strip()


def read_answer(answer: str) -> str:
    """What the person who contested reads; raises `ContestError` where nothing came in."""
    if not answer.strip():
        raise ContestError("No answer came in. Whoever contested it reads why.")
    return answer.strip()


@transaction.atomic
def contest(run: Run, *, token: str, because: str, now: datetime) -> Contest:
    """Keep that the person of a finished run contests one of its answers."""
    reason = read_reason(because)
    if (state := Run.objects.get(pk=run.pk).state_at(now)) not in CONTEST.to:
        raise ContestError(refusal(state, CONTEST))
    answered = run.presentations.filter(state=PresentationState.ANSWERED, token=token)
    presentation = answered.exclude(prompt=None).first()
    if presentation is None:
        raise ContestError("That is no answer of this run.")
    made, is_new = Contest.objects.get_or_create(
        presentation=presentation, defaults={"because": reason, "made_at": now}
    )
    if not is_new:
        raise ContestError("This answer was contested before. It is contested once.")
    record(
        "contest answer",
        _subject(presentation),
        by=run.person,
        now=now,
        after={"because": reason},
    )
    return made


@transaction.atomic
def decide_contest(
    waiting: Contest, *, verdict: Verdict, answer: str, by: Person, now: datetime
) -> None:
    """Uphold the mark, or void the answer: its evidence goes out of every estimate.

    With it goes what came of asking again, since that was asked for this mark alone. What the
    marks were stays in the audit. The first decision stands.
    """
    said = read_answer(answer)
    open_one = Contest.objects.select_for_update(of=("self",)).select_related("presentation__run")
    found = open_one.filter(pk=waiting.pk, decided_at=None).first()
    if found is None:
        raise ContestError("This was decided before. The first decision stands.")
    presentation = found.presentation
    if presentation.run.person == by:
        raise ContestError("Nobody decides on an answer of their own.")
    found.verdict, found.answer, found.decided_by, found.decided_at = verdict, said, by, now
    found.save()
    after = {"verdict": verdict.value, "answer": said}
    subject, before = _subject(presentation), _mark(presentation)
    record("decide contest", subject, by=by, now=now, before=before, after=after)
    if verdict == Verdict.VOIDED:
        _void(presentation, now=now)
        for retry in _retries_of(presentation):
            _void(retry, now=now)
            told = {"asked_again_for": subject}
            record("void retry", _subject(retry), by=by, now=now, before=_mark(retry), after=told)


def _void(presentation: Presentation, *, now: datetime) -> None:
    presentation.state = PresentationState.VOID
    presentation.void_reason = VoidReason.CONTESTED
    presentation.save(update_fields=["state", "void_reason"])
    void_evidence(source_of(presentation.token), by=VoidReason.CONTESTED, now=now)


def _retries_of(presentation: Presentation) -> QuerySet[Presentation]:
    """The answers given when this one was asked again; of a retry, none."""
    later = presentation.run.presentations.filter(
        prompt=presentation.prompt, order__gt=presentation.order
    )
    return later.filter(is_retry=True, state=PresentationState.ANSWERED).order_by("order")


def _mark(presentation: Presentation) -> dict[str, Any]:
    return {"outcome": presentation.outcome, "marks": presentation.marks}


def _subject(presentation: Presentation) -> str:
    return f"answer {presentation.order} of run {presentation.run_id}"
