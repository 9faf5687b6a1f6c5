"""Signing off what was seen at a rig, taking that back, and how long it stands."""

from collections.abc import Collection
from datetime import datetime, timedelta

from django.db import transaction
from django.utils import timezone

from drills.engine.observing import STATE_WORDS
from drills.engine.signing import SigningError, Span, covered, result_at_rig, touched
from drills.engine.standards import shortfalls
from drills.people.access import require_role
from drills.people.audit import record
from drills.people.models import Person, Role
from drills.runs.actions.observing import lines_of
from drills.runs.models import PhaseSpell, Sheet, SigningSettings, SignOff
from drills.runs.models.signing import BECAUSE_LENGTH, MOST_DAYS, MOST_YEARS, THE_ONE
from drills.scenarios.reading import layout_asked

SIGNERS = (Role.FTO, Role.EDUCATOR)
SINGLE_THINGS = "single things show no kit, and a sign-off takes one"
SETTERS = (Role.EDUCATOR, Role.ADMIN)


def signing_settings() -> SigningSettings:
    """What the service set, or how it comes."""
    return SigningSettings.objects.first() or SigningSettings()


def short_of_standard(sheet: Sheet) -> tuple[str, ...]:
    """What a closed sheet falls short of in the standard its drill was made with; none when it
    meets it. Called away, it meets nothing."""
    if sheet.is_of_single_things:
        return (SINGLE_THINGS,)
    if sheet.seconds is None or not sheet.outcome:
        return (sheet.told_outcome.replace(", nothing", ", so nothing of it"),)
    if gone := _voided_of(sheet):
        return gone
    limit = sheet.drill.limit_at_rig_s
    if limit is not None and sheet.person is not None:
        limit *= float(sheet.person.time_allowance)
    result = result_at_rig(
        sheet.outcome, missed=bool(sheet.missed), seconds=sheet.seconds, limit=limit
    )
    return shortfalls(sheet.drill.standard, result)


def _voided_of(sheet: Sheet) -> tuple[str, ...]:
    """What a contest took out of a sheet so that it shows no whole kit, or no time, any more."""
    lines = enumerate(lines_of(sheet))
    gone = [each.name for number, each in lines if each.is_must and number in sheet.voided_lines]
    found = [f"voided, so that nobody saw the whole kit: {', '.join(gone)}"] if gone else []
    if not sheet.time_counts and sheet.drill.limit_at_rig_s is not None:
        found.append("its time was voided, and time is asked")
    return tuple(found)


def touched_by(sheet: Sheet) -> dict[str, tuple[str, ...]]:
    """The categories a sheet touched, with the names of what was brought of each."""
    gone = sheet.voided_lines
    seen = {int(number): said for number, said in sheet.seen.items() if int(number) not in gone}
    return touched(layout_asked(sheet.drill), lines_of(sheet), seen)


def is_in_phases(person: Person) -> bool:
    """Whether somebody is in a phase of a new hire now."""
    return PhaseSpell.objects.filter(person=person, ended_on=None).exists()


def refuse_to_sign(sheet: Sheet, *, by: Person, now: datetime) -> None:
    """Raise `SigningError` where a sheet cannot be signed by this person now."""
    _refuse_who(sheet, by)
    if sheet.is_open:
        state = STATE_WORDS[sheet.state]
        raise SigningError(f"This sheet is {state}. It is signed once it is closed.")
    if sheet.is_of_single_things:
        raise SigningError(
            "Single things sign nothing off. A sign-off takes the kit of a call, brought at the "
            "open doors."
        )
    if sheet.contests.filter(decided_at=None).exists():
        raise SigningError("A mark of it is contested. It is signed once that is decided.")
    if short := short_of_standard(sheet):
        raise SigningError(f"It does not meet the standard: {'; '.join(short)}. Watch another run.")
    _refuse_old(sheet, now)


def _refuse_who(sheet: Sheet, by: Person) -> None:
    require_role(by, *SIGNERS)
    if sheet.person is None:
        raise SigningError("Whoever was seen was erased since; there is nobody to sign off.")
    if sheet.person.pk == by.pk:
        raise SigningError(
            "You were seen in this run, and nobody signs their own. Another officer signs it."
        )
    if not sheet.person.is_active:
        raise SigningError(f"{sheet.person} came in, who left the service.")


def _refuse_old(sheet: Sheet, now: datetime) -> None:
    span = signing_settings().span
    lapsed = timedelta(days=span.lapses_after)
    seen = timezone.localdate(sheet.stopped_at)
    if seen + lapsed <= timezone.localdate(now):
        raise SigningError(
            f"It was seen on {seen:%F}, and a sign-off lapses {span.lapses_after} days after the "
            "run. Watch another one."
        )


@transaction.atomic
def sign_off(sheet: Sheet, *, by: Person, now: datetime, ticked: Collection[str] = ()) -> SignOff:
    """Sign that the person of a closed sheet met its standard; the same once more changes nothing.

    It covers every category the run touched; of somebody in the phases of a new hire those that
    are `ticked`. Raises `SigningError` for a run that cannot be signed, or was otherwise before.
    """
    rows = Sheet.objects.select_for_update(of=("self",))
    sheet = rows.select_related("drill__revision__layout", "person").get(pk=sheet.pk)
    refuse_to_sign(sheet, by=by, now=now)
    if sheet.person is None or sheet.stopped_at is None:
        raise SigningError("This sheet has lost its person or its time; watch another run.")
    there = touched_by(sheet)
    categories = list(covered(there, ticked, is_in_phases=is_in_phases(sheet.person)))
    if before := SignOff.objects.filter(sheet=sheet).first():
        return _signed_before(before, categories)
    signed = SignOff.objects.create(
        person=sheet.person,
        officer=by,
        sheet=sheet,
        revision=sheet.drill.revision,
        categories=categories,
        seen_at=sheet.stopped_at,
        signed_at=now,
        is_simulated=sheet.is_simulated,
    )
    record("sign off", sheet.person.employee_number, by=by, now=now, after=_told(signed))
    return signed


def _signed_before(before: SignOff, categories: list[str]) -> SignOff:
    if before.withdrawn_at:
        raise SigningError("The sign-off of this run was withdrawn. Watch another run.")
    if before.categories != categories:
        raise SigningError(
            f"{before.by} signed this run before, for {before.listed}. What was signed first "
            "stands; another category takes another run."
        )
    return before


@transaction.atomic
def withdraw_sign_off(signed: SignOff, *, because: str, by: Person, now: datetime) -> SignOff:
    """Take a sign-off back, with a reason; what it said stays in the audit.

    Raises `SigningError` without a reason, for one's own, and for one that was withdrawn before.
    """
    require_role(by, *SIGNERS)
    reason = because.strip()
    signed = SignOff.objects.select_for_update(of=("self",)).get(pk=signed.pk)
    if signed.person_id == by.pk:
        raise SigningError("This is a sign-off of yours, and nobody decides on their own.")
    if signed.withdrawn_at:
        raise SigningError("This was withdrawn before, and the first reason stands.")
    if not reason or len(reason) > BECAUSE_LENGTH:
        raise SigningError(
            f"{len(reason)} letters came in as the reason. Write why it is withdrawn, in at most "
            f"{BECAUSE_LENGTH}; the person reads it."
        )
    before = _told(signed)
    signed.withdrawn_at, signed.withdrawn_by, signed.withdrawn_because = now, by, reason
    signed.save(update_fields=["withdrawn_at", "withdrawn_by", "withdrawn_because"])
    number = signed.person.employee_number if signed.person else "a person"
    record("withdraw sign-off", number, by=by, now=now, before=before, after={"because": reason})
    return signed


def _told(signed: SignOff) -> dict[str, str | list[str]]:
    return {
        "categories": signed.categories,
        "layout": signed.revision.layout.slug,
        "seen": f"{timezone.localdate(signed.seen_at):%F}",
    }


@transaction.atomic
def set_signing(
    *, drill_after: str, lapses_after: str, hold_years: str, by: Person, now: datetime
) -> SigningSettings:
    """Set how long sign-offs stand and are held, each number as it was written.

    What was signed before stands by the new numbers. Raises `SigningError`.
    """
    require_role(by, *SETTERS)
    span = Span(
        _whole("A drill is due after", drill_after, most=MOST_DAYS),
        _whole("A new run after", lapses_after, most=MOST_DAYS),
    )
    years = _whole("Held for", hold_years, most=MOST_YEARS, least=0)
    found = SigningSettings.objects.select_for_update().filter(number=THE_ONE).first()
    before = str(found) if found else None
    kept, _ = SigningSettings.objects.update_or_create(
        number=THE_ONE,
        defaults={
            "drill_after_days": span.drill_after,
            "lapses_after_days": span.lapses_after,
            "hold_years": years,
            "changed_at": now,
        },
    )
    record("set sign-offs", "sign-offs", by=by, now=now, before=before, after=str(kept))
    return kept


def _whole(what: str, text: str, *, most: int, least: int = 1) -> int:
    told = text.strip()
    is_whole = told.isdecimal() and told.isascii() and len(told) < 5
    if not is_whole or not least <= int(told) <= most:
        raise SigningError(
            f"{what}: {told[:20]!r} came in; a whole number from {least} to {most} is accepted."
        )
    return int(told)
