"""The phases of a new hire: what the agency writes of them, who is in which, and daily notes."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction
from django.db.models import Max

from drills.people.access import may_see, require_role
from drills.people.audit import record
from drills.people.models import Person, Role
from drills.rigs.models import Layout
from drills.runs.models import DailyNote, ItemShown, Phase, PhaseItem, PhaseSpell
from drills.runs.models.phases import NAME_LENGTH, NOTE_LENGTH, WORDS_LENGTH

WRITERS = (Role.EDUCATOR, Role.ADMIN)
OFFICERS = (Role.FTO, Role.EDUCATOR)


class PhaseError(ValueError):
    """What cannot be kept of a phase or a note; the text says what came in and what is accepted."""


@dataclass(frozen=True, slots=True)
class Item:
    """One row of a phase as it was written: `number` is the row it changes, none for a new one."""

    number: int | None
    words: str
    category: str = ""
    layout: Layout | None = None


@transaction.atomic
def add_phase(name: str, *, by: Person, now: datetime) -> Phase:
    """Add a phase behind the last one."""
    require_role(by, *WRITERS)
    _refuse_words("Name", name, most=NAME_LENGTH)
    last = Phase.objects.aggregate(last=Max("number"))["last"] or 0
    phase = Phase.objects.create(number=last + 1, name=name.strip())
    record("change phase", str(phase), by=by, now=now, after=_told(phase))
    return phase


@transaction.atomic
def change_phase(
    phase: Phase, *, name: str, about: str, items: Sequence[Item], by: Person, now: datetime
) -> Phase:
    """Write a phase anew with the rows it has from now on; a row that is not among them goes.

    What people showed of a row that stays stays shown. Raises `PhaseError`.
    """
    require_role(by, *WRITERS)
    phase = Phase.objects.select_for_update().get(pk=phase.pk)
    before = _told(phase)
    _refuse_words("Name", name, most=NAME_LENGTH)
    _refuse_words("About", about, most=NOTE_LENGTH, least=0)
    rows = {row.pk: row for row in phase.items.all()}
    for item in items:
        _refuse_item(item, rows)
    phase.name, phase.about = name.strip(), about.strip()
    phase.save(update_fields=["name", "about"])
    phase.items.exclude(pk__in=[item.number for item in items if item.number]).delete()
    for order, item in enumerate(items, start=1):
        row = rows[item.number] if item.number else PhaseItem(phase=phase)
        row.order, row.words = order, item.words.strip()
        row.category, row.layout = item.category, item.layout
        row.save()
    record("change phase", str(phase), by=by, now=now, before=before, after=_told(phase))
    return phase


def _refuse_item(item: Item, rows: dict[int, PhaseItem]) -> None:
    _refuse_words("What it must show", item.words, most=WORDS_LENGTH)
    if item.number is not None and item.number not in rows:
        raise PhaseError("A row came in that is gone from this phase. Load the page anew.")
    if item.layout is not None and not item.category:
        raise PhaseError(
            f"{item.words.strip()}: {item.layout} came in without a category. A layout counts for "
            "a category; choose one, or any layout."
        )


@transaction.atomic
def drop_phase(phase: Phase, *, by: Person, now: datetime) -> None:
    """Take the last phase away, unless somebody is or was in it."""
    require_role(by, *WRITERS)
    if phase.spells.exists():
        raise PhaseError(f"{phase}: people are or were in it, so it stays. Its rows can change.")
    if Phase.objects.filter(number__gt=phase.number).exists():
        raise PhaseError(f"{phase}: others come after it. The last one can be taken away.")
    record("drop phase", str(phase), by=by, now=now, before=_told(phase))
    phase.delete()


def _told(phase: Phase) -> dict[str, str | list[str]]:
    rows = phase.items.select_related("layout")
    told = (
        ", ".join(filter(None, (row.words, row.category, row.layout.slug if row.layout else "")))
        for row in rows
    )
    return {"name": phase.name, "about": phase.about, "shows": list(told)}


@transaction.atomic
def place_in_phase(
    person: Person, phase: Phase | None, *, by: Person, today: date, now: datetime
) -> None:
    """Say in which phase somebody is from today on, or that their phases are over.

    It is an officer's word; nothing that was shown moves anybody. Raises `PhaseError` for oneself.
    """
    _refuse_officer(person, by)
    spells = PhaseSpell.objects.select_for_update().filter(person=person, ended_on=None)
    was = spells.select_related("phase").first()
    if (was.phase if was else None) == phase:
        return
    spells.update(ended_on=today)
    if phase is not None:
        PhaseSpell.objects.create(person=person, phase=phase, began_on=today, by=by)
    record(
        "place in phase",
        person.employee_number,
        by=by,
        now=now,
        before={"phase": str(was.phase) if was else ""},
        after={"phase": str(phase) if phase else ""},
    )


@transaction.atomic
def say_shown(
    item: PhaseItem, person: Person, *, is_shown: bool, by: Person, today: date, now: datetime
) -> None:
    """Say that somebody showed a row without a category, or take that back; twice is once."""
    _refuse_officer(person, by)
    if item.category:
        raise PhaseError(f"{item}: it has a category, so a sign-off shows it.")
    found = ItemShown.objects.filter(item=item, person=person)
    if is_shown == found.exists():
        return
    if is_shown:
        ItemShown.objects.create(item=item, person=person, officer=by, shown_on=today)
    else:
        found.delete()
    action = "say shown" if is_shown else "take back shown"
    record(action, person.employee_number, by=by, now=now, after={"phase": str(item.phase)})


@transaction.atomic
def write_note(
    person: Person,
    *,
    day: date,
    went_well: str,
    work_on: str,
    next_step: str,
    by: Person,
    today: date,
    now: datetime,
) -> DailyNote:
    """Keep what an officer noted of somebody's day; it is never changed afterwards.

    The same words for the same day, sent twice, are one note. Raises `PhaseError`.
    """
    _refuse_officer(person, by)
    said = {"went_well": went_well, "work_on": work_on, "next_step": next_step}
    said = {name: text.strip() for name, text in said.items()}
    for name, text in said.items():
        _refuse_words(name.replace("_", " ").capitalize(), text, most=NOTE_LENGTH, least=0)
    if not any(said.values()):
        raise PhaseError("Nothing came in. Write at least one of the three.")
    if day > today:
        raise PhaseError(f"{day:%F} came in, which is to come; {today:%F} or earlier is accepted.")
    note, is_new = DailyNote.objects.get_or_create(
        person=person,
        officer=by,
        day=day,
        **said,
        defaults={"phase": _phase_on(person, day), "written_at": now},
    )
    if is_new:
        told = {"day": f"{day:%F}"}
        record("write daily note", person.employee_number, by=by, now=now, after=told)
    return note


def _phase_on(person: Person, day: date) -> Phase | None:
    """The phase somebody was in on a day; of two that met on it the later one."""
    spells = person.phase_spells.filter(began_on__lte=day).exclude(ended_on__lt=day)
    last = spells.select_related("phase").last()
    return last.phase if last else None


def _refuse_officer(person: Person, by: Person) -> None:
    """It takes an officer of theirs, or an educator, and nobody does it of themselves.

    The person's row is held until the act is over, so that a press sent twice is one.
    """
    Person.objects.select_for_update().filter(pk=person.pk).first()
    require_role(by, *OFFICERS)
    if person.pk == by.pk:
        raise PhaseError("You came in, and nobody does this of themselves. Another officer does.")
    if not may_see(by, person):
        raise PhaseError(f"{person} is not paired with you; an officer of theirs does this.")


def _refuse_words(what: str, text: str, *, most: int, least: int = 1) -> None:
    if not least <= len(text.strip()) <= most:
        raise PhaseError(
            f"{what}: {len(text.strip())} letters came in; {least} to {most} are accepted."
        )
