"""How the sign-offs of people stand, as pages show it."""

from collections.abc import Collection, Hashable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import groupby
from typing import Any

from django.db.models import Max, QuerySet
from django.utils import timezone

from drills.engine.recipes import STAGE
from drills.engine.signing import (
    SIGNED,
    STATES,
    WITHDRAWN,
    SigningError,
    Standing,
    lapsing_soon,
    standings,
)
from drills.people.access import may_see
from drills.people.models import Person
from drills.runs.actions import (
    is_in_phases,
    refuse_to_sign,
    short_of_standard,
    signing_settings,
    touched_by,
)
from drills.runs.actions.signing import SIGNERS
from drills.runs.models import PresentationState, Run, RunState, Sheet, SignOff
from drills.runs.models.signing import BECAUSE_LENGTH

_SIGNS = {SIGNED: "right", WITHDRAWN: "wrong"}


@dataclass(frozen=True, slots=True)
class Row:
    """One category of one person on one layout, and the sign-off that decides how it stands."""

    standing: Standing
    signed: SignOff

    @property
    def sign(self) -> str:
        """Which of the marks stands beside it."""
        return _SIGNS.get(self.standing.state, "late")

    @property
    def layout(self) -> str:
        return self.signed.revision.name


@dataclass(frozen=True, slots=True)
class OnLayout:
    """All of one layout; by its states in their order, the categories in each."""

    name: str
    rows: tuple[Row, ...]

    @property
    def by_state(self) -> list[tuple[str, str]]:
        told = ((state, self._in(state)) for state in STATES)
        return [(state, ", ".join(found)) for state, found in told if found]

    def _in(self, state: str) -> list[str]:
        return [each.standing.category for each in self.rows if each.standing.state == state]


@dataclass(frozen=True, slots=True)
class Lapsing:
    """What lapses on one day for one person on one layout, or lapsed."""

    person: Person
    layout: str
    categories: str
    lapses_on: date
    is_lapsed: bool


def rows_of(people: Collection[Person], *, now: datetime) -> dict[int, tuple[Row, ...]]:
    """How each category stands that people were ever signed off in; three queries for all."""
    found: dict[int, list[SignOff]] = {person.pk: [] for person in people}
    for signed in _signed(people):
        if signed.person_id is not None:
            found[signed.person_id].append(signed)
    if not any(found.values()):
        return dict.fromkeys(found, ())
    drilled, span = _drilled(people), signing_settings().span
    return {
        person: tuple(
            _rows(each, span=span, today=timezone.localdate(now), drilled=drilled.get(person, {}))
        )
        for person, each in found.items()
    }


def _rows(signed: Collection[SignOff], **how: Any) -> Iterator[Row]:
    by_mark: dict[Hashable, SignOff] = {each.pk: each for each in signed}
    for standing in standings([each.signed for each in signed], **how):
        yield Row(standing, by_mark[standing.signed.mark])


def on_layouts(person: Person, *, now: datetime) -> list[OnLayout]:
    """How one person stands, by layout."""
    rows = sorted(rows_of([person], now=now)[person.pk], key=lambda row: row.layout)
    grouped = groupby(rows, key=lambda row: row.layout)
    return [OnLayout(name, tuple(each)) for name, each in grouped]


def lapsing_of(people: Collection[Person], *, now: datetime) -> list[Lapsing]:
    """What lapses soon or did of late, of people in the service, the first to lapse first."""
    here = [each for each in people if each.is_active]
    by_name = {person.pk: person for person in here}
    found: list[Lapsing] = []
    for number, rows in rows_of(here, now=now).items():
        found += _lapsing(by_name[number], rows, timezone.localdate(now))
    return sorted(found, key=lambda each: (each.lapses_on, each.person.name, each.layout))


def _lapsing(person: Person, rows: Collection[Row], today: date) -> Iterator[Lapsing]:
    names = {row.standing.layout: row.layout for row in rows}
    soon = lapsing_soon((row.standing for row in rows), today=today)
    for (day, layout), each in groupby(soon, key=lambda one: (one.lapses_on, one.layout)):
        words = ", ".join(one.category for one in each)
        yield Lapsing(person, names[layout], words, day, day <= today)


def sign_offs_of(person: Person) -> QuerySet[SignOff]:
    """Everything that was signed of a person, the run seen last first."""
    return _signed([person]).select_related("withdrawn_by", "sheet__rig")


def _signed(people: Collection[Person]) -> QuerySet[SignOff]:
    rows = SignOff.objects.filter(person__in=people)
    return rows.select_related("officer", "revision__layout")


def _drilled(people: Collection[Person]) -> dict[int, dict[Hashable, date]]:
    """The day of the last drill to the end in which a kit was brought, by person and layout."""
    runs = Run.objects.filter(
        person__in=people,
        state=RunState.FINISHED,
        presentations__prompt__kind=STAGE,
        presentations__state=PresentationState.ANSWERED,
    )
    last = runs.order_by().values_list("person", "drill__revision__layout")
    found: dict[int, dict[Hashable, date]] = {}
    for person, layout, at in last.annotate(Max("finished_at")):
        found.setdefault(person, {})[layout] = timezone.localdate(at)
    return found


@dataclass(frozen=True, slots=True)
class Offered:
    """One category of a run that may be signed: what was brought of it, how it stands by now."""

    category: str
    things: tuple[str, ...]
    now: Row | None


def sign_context(sheet: Sheet, *, viewer: Person, now: datetime) -> dict[str, Any]:
    """What the page shows on which a sheet is signed."""
    fault = _refused(sheet, viewer, now)
    span, seen = signing_settings().span, timezone.localdate(sheet.stopped_at or now)
    return {
        "kept": sheet,
        "fault": fault,
        "offered": [] if fault else _offered(sheet, now),
        "is_in_phases": sheet.person is not None and is_in_phases(sheet.person),
        "drill_on": seen + timedelta(days=span.drill_after),
        "lapses_on": seen + timedelta(days=span.lapses_after),
    }


def _offered(sheet: Sheet, now: datetime) -> list[Offered]:
    if sheet.person is None:
        return []
    layout = sheet.drill.revision.layout_id
    known: Mapping[str, Row] = {
        row.standing.category: row
        for row in rows_of([sheet.person], now=now)[sheet.person.pk]
        if row.standing.layout == layout
    }
    there = touched_by(sheet)
    return [Offered(each, things, known.get(each)) for each, things in there.items()]


def signed_context(sheet: Sheet, *, viewer: Person, now: datetime) -> dict[str, Any]:
    """What a closed sheet says of its sign-off: what it falls short of, and who signed; to an
    officer also whether it may be signed, or why not."""
    signed = SignOff.objects.select_related("officer", "revision").filter(sheet=sheet).first()
    seen = sheet.person
    context: dict[str, Any] = {
        "signed": signed,
        "short": short_of_standard(sheet),
        "may_list": seen is not None and may_see(viewer, seen),
        "may_withdraw": signed is not None
        and signed.withdrawn_at is None
        and signed.officer_id == viewer.pk,
        "longest": BECAUSE_LENGTH,
    }
    if signed is None and not context["short"] and viewer.holds(*SIGNERS):
        context["not_signed"] = _refused(sheet, viewer, now)
        context["may_sign"] = not context["not_signed"]
    return context


def _refused(sheet: Sheet, viewer: Person, now: datetime) -> str:
    try:
        refuse_to_sign(sheet, by=viewer, now=now)
    except SigningError as error:
        return str(error)
    return ""
