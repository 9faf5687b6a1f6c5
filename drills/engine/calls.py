"""What calls are made from and what a call asks for, in needs.

Call types, problems and localities are data; nothing clinical stands in this code.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain

MUST, USEFUL, NEEDLESS = "must", "useful", "needless"
GRADES = (MUST, USEFUL, NEEDLESS)
# Of a kit alone, never of a row: it may come and costs nothing, and nobody asks for it.
MAY = "may"
CALL, PATIENT = "call", "patient"
ANY_SIZE = "any"
OF_TWO = "Two "
MOST_NAMED = 3


class CallError(ValueError):
    """Call data that makes no call; the text says what is missing."""


@dataclass(frozen=True, slots=True)
class AgeBand:
    """Ages in years from `from_y` to below `to_y`, and the size of things they take."""

    key: str
    from_y: float
    to_y: float
    size: str


@dataclass(frozen=True, slots=True)
class State:
    """How a problem looks at one severity, 1 mild to 3 severe. Ranges are low and high."""

    severity: int
    findings: str
    age_bands: tuple[str, ...]
    ranges: Mapping[str, tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Vitals:
    """Ranges of vital signs by severity and age band."""

    severity: int
    age_band: str
    ranges: Mapping[str, tuple[float, float]]


@dataclass(frozen=True, slots=True)
class Problem:
    """What may be wrong with a patient, at each severity."""

    key: str
    name: str
    states: tuple[State, ...]
    vitals: tuple[Vitals, ...]


@dataclass(frozen=True, slots=True)
class Profile:
    """Who may be hurt or ill in a call: shares by age band, narrowed to `ages` where given."""

    problem: str
    shares: Mapping[str, float]
    ages: tuple[float | None, float | None]
    female_share: float
    is_always: bool
    weight: float
    severities: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Phrase:
    """What the caller says; empty bands, problems and severities fit every patient.

    One that begins with `Two ` is said of two patients alone.
    """

    text: str
    age_bands: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()
    severities: tuple[int, ...] = ()

    @property
    def is_of_two(self) -> bool:
        return self.text.startswith(OF_TWO)

    @property
    def names_a_patient(self) -> bool:
        """Whether it tells who the first patient is; else it speaks of all of them."""
        return "{patient}" in self.text

    def is_of(self, problem: str, severity: int, *, bands: Iterable[str], counts: set[int]) -> bool:
        """Whether it may be said where the first patient has a problem of a severity.

        `bands` are those of everybody it speaks of, `counts` how many patients there may be.
        """
        is_of_them = is_among(problem, self.problems) and is_among(severity, self.severities)
        is_of_all = all(is_among(band, self.age_bands) for band in bands)
        return is_of_them and is_of_all and (not self.is_of_two or counts == {2})


def first_named(words: Sequence[str]) -> str:
    """The first few in a line, and how many there are more."""
    more = len(words) - MOST_NAMED
    return "; ".join(words[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")


def is_among(word: object, named: Collection[object]) -> bool:
    """Whether a word is named; where none is, all are."""
    return not named or word in named


@dataclass(frozen=True, slots=True)
class CallNeed:
    """One need of a call type, for the whole call or for each patient it fits.

    It is for patients of its problem, size and severities, where it names any.
    Any need of `instead` serves as well; `wrong_grab` is what is brought by mistake. `level` is
    the certification that may use it, empty where everybody may.
    """

    need: str
    grade: str
    quantity: int
    per: str
    name: str = ""
    problem: str = ""
    size: str = ANY_SIZE
    level: str = ""
    instead: tuple[str, ...] = ()
    wrong_grab: tuple[str, ...] = ()
    why: str = ""
    severities: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class CallType:
    """One kind of call: how many patients, who they may be, what is said and what is needed.

    `size_up` and `hazards` are words of its own; the lists after them are keys of the tables of
    arriving: hazards that are looked for and that may be there too, and whom the scene asks for.
    """

    slug: str
    name: str
    least: int
    most: int
    road_kinds: tuple[str, ...]
    phrases: tuple[Phrase, ...]
    profiles: tuple[Profile, ...]
    needs: tuple[CallNeed, ...]
    is_reviewed: bool = False
    size_up: str = ""
    hazards: tuple[str, ...] = ()
    hazards_here: tuple[str, ...] = ()
    hazards_possible: tuple[str, ...] = ()
    asks_for: tuple[str, ...] = ()
    may_ask_for: tuple[str, ...] = ()

    @property
    def troubles(self) -> frozenset[tuple[str, int]]:
        """Every problem that it may bring, with each severity."""
        return frozenset((each.problem, bad) for each in self.profiles for bad in each.severities)


@dataclass(frozen=True, slots=True)
class CallWorld:
    """Everything calls are made from beside the call type itself."""

    bands: Mapping[str, AgeBand]
    problems: Mapping[str, Problem]
    places: tuple[str, ...]
    roads: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Patient:
    """One patient. `weight` is as told, in lb or kg, and a round figure in either.

    `burned` are the regions of the rule of nines that are burned whole, where any are. `problem`,
    `severity` and `band` are what the patient was made from and are never shown.
    `later` says what was new at a second look; the signs are then those found last.
    """

    number: int
    problem: str
    severity: int
    band: str
    size: str
    age_y: float
    is_female: bool
    weight: str
    who: str
    findings: str
    signs: tuple[tuple[str, str], ...]
    later: str = ""
    burned: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Call:
    """One generated call with what it asks for; whether its type was reviewed by anybody.

    `said` is the phrase that its dispatch was made from. `burned_h` are the hours since anybody was
    burned, the same for all of them.
    """

    call_type: str
    name: str
    dispatch: str
    patients: tuple[Patient, ...]
    needs: tuple["Asked", ...]
    is_reviewed: bool = False
    said: Phrase | None = None
    burned_h: int = 0


@dataclass(frozen=True, slots=True)
class Asked:
    """A need of this very call: how many, and for which patients; none means the whole call.

    `for_one` is how many of it one of these patients takes; `is_of_call` says that the call takes
    some of it whatever its patients have, whoever takes more.
    """

    need: str
    grade: str
    quantity: int
    for_one: int = 1
    name: str = ""
    level: str = ""
    instead: tuple[str, ...] = ()
    wrong_grab: tuple[str, ...] = ()
    why: str = ""
    patients: tuple[int, ...] = ()
    is_of_call: bool = False


def needs_of(call_type: CallType, patients: Sequence[Patient]) -> tuple[Asked, ...]:
    """What a call asks for, each need once, the stronger grade first.

    Where several rows name one need, the strongest grade wins. A row for each patient counts the
    patients it fits; beside a row for the whole call the larger count stands.
    """
    rows: dict[str, list[tuple[CallNeed, tuple[int, ...]]]] = {}
    for row in call_type.needs:
        whose = tuple(each.number for each in patients if fits(row, each))
        if whose or is_of_any_call(row):
            rows.setdefault(row.need, []).append((row, whose))
    asked = [_asked(found) for found in rows.values()]
    return tuple(sorted(asked, key=lambda each: GRADES.index(each.grade)))


def needs_for(asked: Iterable[Asked], patient: int) -> tuple[Asked, ...]:
    """What one patient of a call asks for; quantities are of this patient alone."""
    mine = [each for each in asked if patient in each.patients]
    return tuple(replace(each, quantity=each.for_one, patients=(patient,)) for each in mine)


def is_of_any_call(row: CallNeed) -> bool:
    """Whether a row is for the call itself, whoever its patients are."""
    is_of_some = bool(row.problem or row.severities) or row.size != ANY_SIZE
    return row.per == CALL and not is_of_some


def fits(row: CallNeed, patient: Patient) -> bool:
    """Whether a row is for a patient: of the problem, size and severities that it names."""
    is_as_bad = not row.severities or patient.severity in row.severities
    return (
        is_as_bad and row.problem in {"", patient.problem} and row.size in {ANY_SIZE, patient.size}
    )


def _asked(found: Sequence[tuple[CallNeed, tuple[int, ...]]]) -> Asked:
    grade = min((row.grade for row, _ in found), key=GRADES.index)
    strongest = [(row, whose) for row, whose in found if row.grade == grade]
    first = strongest[0][0]
    each = _of_each_patient(strongest)
    named = chain.from_iterable(whose for row, whose in strongest if row.problem)
    concerned = {*named, *each}
    return Asked(
        need=first.need,
        name=first.name,
        grade=grade,
        quantity=max(_of_the_call(strongest), sum(each.values())),
        for_one=max(
            1, _of_the_call((row, whose) for row, whose in strongest if row.problem), *each.values()
        ),
        level=first.level,
        instead=_merged(row.instead for row, _ in strongest),
        wrong_grab=_merged(row.wrong_grab for row, _ in strongest),
        why=first.why,
        patients=tuple(sorted(concerned)),
        is_of_call=any(map(_is_once, found)),
    )


def _is_once(found: tuple[CallNeed, tuple[int, ...]]) -> bool:
    """Whether a call takes some of it whatever its patients have."""
    row, _ = found
    return row.per == CALL and row.grade != NEEDLESS and not row.problem


def _of_the_call(found: Iterable[tuple[CallNeed, tuple[int, ...]]]) -> int:
    """How many the whole call takes, by the rows that count no patients."""
    return max((row.quantity for row, _ in found if row.per == CALL), default=0)


def _of_each_patient(found: Sequence[tuple[CallNeed, tuple[int, ...]]]) -> dict[int, int]:
    """How many each patient takes, by the rows that count patients; the larger row stands."""
    each: dict[int, int] = {}
    for row, whose in found:
        if row.per == PATIENT:
            each |= {number: max(row.quantity, each.get(number, 0)) for number in whose}
    return each


def _merged(lists: Iterable[Iterable[str]]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(chain.from_iterable(lists)))
