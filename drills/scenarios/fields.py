"""The fields of a row of a call type, as its page asks for them."""

from collections.abc import Mapping
from dataclasses import dataclass

from drills.engine.arriving.tables import HAZARDS, RESOURCES
from drills.engine.calls import ANY_SIZE, CALL, GRADES, PATIENT
from drills.engine.calls_workbook import ABOUT, NEEDS, PATIENTS, PHRASES, Known
from drills.engine.calls_workbook.columns import (
    ALWAYS,
    DRAWN,
    NAME_LENGTH,
    OWNER_LENGTH,
    PHRASE_LENGTH,
    PRIORITIES,
    ROADS,
    SCENE_LENGTH,
    SIZE_UP_LENGTH,
    TEXT_LENGTH,
)
from drills.engine.calls_workbook.problem_rows import (
    KINDS,
    PROBLEM,
    SIGNS,
    SIGNS_OF,
    STATES,
    WORDS,
)
from drills.engine.problemcheck import NAMES
from drills.scenarios.models import CallType, Problem

LISTS_LENGTH = 600  # more than a list may hold: its reader says how much it may
LINE, LINES, CHOICE = "line", "lines", "choice"
TITLES = {
    ABOUT: "What it is",
    PHRASES: "Phrase",
    PATIENTS: "Patient",
    NEEDS: "Need",
}


# What the keys of a call type stand for, as lists beside its form.
VOCABULARIES = (
    ("Hazards, by key", {key: row.words for key, row in HAZARDS.items()}),
    ("Who may be asked for, by key", {key: row.words for key, row in RESOURCES.items()}),
)


@dataclass(frozen=True, slots=True)
class Field:
    """One field: what it is called and what it takes; a choice has its words by value.

    `listed` is the list of words that is offered for it, `half` that two stand beside each other.
    """

    name: str
    label: str
    takes: str = ""
    kind: str = LINE
    longest: int = LISTS_LENGTH
    choices: tuple[tuple[str, str], ...] = ()
    listed: str = ""
    half: bool = False


@dataclass(frozen=True, slots=True)
class Filled:
    """A field with what stands in it, and what is wrong with that."""

    field: Field
    value: str
    fault: str = ""

    @property
    def words(self) -> str:
        """The value as the page says it."""
        return dict(self.field.choices).get(self.value, self.value)


def filled(
    fields: tuple[Field, ...], cells: Mapping[str, str], faults: Mapping[str, str]
) -> list[Filled]:
    """Fields as the page shows them."""
    return [Filled(each, cells.get(each.name, ""), faults.get(each.name, "")) for each in fields]


def fields_of(sheet: str, call: CallType, known: Known) -> tuple[Field, ...]:
    """The fields of a row of a sheet of a call type."""
    if sheet == NEEDS:
        return _needs(call, known)
    if sheet == PATIENTS:
        return _patients(known)
    return _ABOUT if sheet == ABOUT else _phrases(call, known)


def guide(known: Known) -> list[tuple[str, tuple[Field, ...]]]:
    """Every sheet of the workbook with what its columns take, beside the call type."""
    return [(sheet, fields_of(sheet, CallType(), known)) for sheet in TITLES]


def _choice(name: str, label: str, words: Mapping[str, str], *, half: bool = True) -> Field:
    return Field(name, label, kind=CHOICE, choices=tuple(words.items()), half=half)


def _same(words: tuple[str, ...]) -> dict[str, str]:
    return dict(zip(words, words, strict=True))


_KEYS_OF_HAZARDS = "keys of the hazards beside, with semicolons between"
_KEYS_OF_RESOURCES = "keys of the crews and services beside, with semicolons between"
_ABOUT = (
    Field("name", "Name", longest=NAME_LENGTH),
    _choice("priority", "Priority", _same(PRIORITIES), half=False),
    Field("patients_least", "Patients, at least", longest=3, half=True),
    Field("patients_most", "Patients, at most", longest=3, half=True),
    Field("scene", "Scene", "such as home, workplace or roadside", longest=SCENE_LENGTH),
    Field("size_up", "What the first report says", kind=LINES, longest=SIZE_UP_LENGTH),
    Field("hazards", "Hazards", "with semicolons between", kind=LINES),
    Field("hazards_here", "Hazards to look for", _KEYS_OF_HAZARDS, kind=LINES),
    Field("hazards_possible", "Hazards that may be there too", _KEYS_OF_HAZARDS, kind=LINES),
    Field("asks_for", "Must be asked for", _KEYS_OF_RESOURCES, kind=LINES),
    Field("may_ask_for", "May be asked for", _KEYS_OF_RESOURCES, kind=LINES),
    Field("road_kinds", "Roads", f"some of {', '.join(ROADS)}, with semicolons between"),
    Field("source", "Source", "a document, or: common practice, no source", longest=TEXT_LENGTH),
    Field("owner", "Owner", "who keeps it true", longest=OWNER_LENGTH),
    Field("date", "Date", "of the source, such as 2026-11-28", longest=10),
)


def new_fields() -> tuple[Field, ...]:
    """What is asked of a new call type; the rest comes from the one that it starts as."""
    names = dict(CallType.objects.order_by("name").values_list("slug", "name"))
    asked = {each.name: each for each in _ABOUT}
    return (
        _choice("like", "Starts as", names, half=False),
        asked["name"],
        Field("call_type", "Key", "small letters and hyphens, such as gas-leak", longest=60),
        *(asked[each] for each in ("source", "owner", "date")),
    )


def new_problem_fields() -> tuple[Field, ...]:
    """What is asked of a new problem; how it looks comes from the one that it starts as."""
    names = dict(Problem.objects.order_by("name").values_list("slug", "name"))
    return (
        _choice("like", "Starts as", names, half=False),
        Field("name", "Name", "as a medic would say it", longest=NAME_LENGTH),
        Field(PROBLEM, "Key", "small letters and hyphens, such as gas-in-eyes", longest=60),
        _choice("kind", "Kind", _same(KINDS), half=False),
    )


PROBLEM_TITLES = {STATES: "How it looks", SIGNS: "Vital signs at an age"}


def problem_fields(sheet: str, known: Known) -> tuple[Field, ...]:
    """The fields of a row of a problem."""
    severities = _choice("severity", "Severity", {str(at): word for at, word in WORDS.items()})
    bands = ", ".join(known.bands)
    of = (
        (
            Field("findings", "What is found", "no label, and no figures", LINES, PHRASE_LENGTH),
            Field("age_bands", "At these ages", f"of {bands}, with semicolons between"),
        )
        if sheet == STATES
        else (_choice("age_band", "Age", _same(known.bands)),)
    )
    signs = (
        Field(each, NAMES[each][:1].upper() + NAMES[each][1:], "least to most", half=True)
        for each in SIGNS_OF[sheet]
    )
    source = Field("source", "Source", "a document, or: common teaching, from memory")
    return (severities, *of, *signs, source)


def _phrases(call: CallType, known: Known) -> tuple[Field, ...]:
    problems = "; ".join(dict.fromkeys(each["problem"] for each in call.patients))
    return (
        Field(
            "phrase",
            "What is said",
            "{patient}, {place}, {road} and {count} are filled in; do not say he or she",
            kind=LINES,
            longest=PHRASE_LENGTH,
        ),
        Field(
            "age_bands",
            "For these ages alone",
            f"of {', '.join(known.bands)}, with semicolons between; empty for all",
        ),
        Field(
            "problems",
            "For these problems alone",
            f"of {problems}; empty for all" if problems else "keys of problems; empty for all",
        ),
        Field("severities", "For these severities alone", "such as 2; 3; empty for all"),
    )


def _patients(known: Known) -> tuple[Field, ...]:
    return (
        Field("problem", "Problem", "its key", listed="problems"),
        Field(
            "age_bands",
            "Ages, with shares",
            f"such as adult 5; older 2, of {', '.join(known.bands)}",
        ),
        Field("age_from_y", "From this age in years, if narrower", longest=6, half=True),
        Field("age_to_y", "To below this age in years", longest=6, half=True),
        Field("female_share", "Share of women and girls", "0 to 1", longest=6, half=True),
        Field("severities", "Severities", "such as 2; 3", longest=20, half=True),
        _choice("presence", "There", {DRAWN: "drawn by weight", ALWAYS: "always"}),
        Field("weight", "Weight in the draw", "1 where it is empty", longest=4, half=True),
    )


def _needs(call: CallType, known: Known) -> tuple[Field, ...]:
    keys = list(dict.fromkeys(each["problem"] for each in call.patients))
    keys += [each for row in call.needs if (each := row["problem"]) and each not in keys]
    names = dict(Problem.objects.filter(slug__in=keys).values_list("slug", "name"))
    problems = {"": "any problem"} | {key: names.get(key, key) for key in keys}
    levels = {"": "everybody"} | _same(known.levels)
    return (
        Field("need", "Need", "its name or key", listed="needs"),
        _choice("grade", "Grade", _same(GRADES)),
        Field("quantity", "How many", longest=3, half=True),
        _choice("per", "For", {CALL: "the whole call", PATIENT: "each patient"}),
        _choice("problem", "Patients with", problems),
        _choice("size", "Patients of size", {ANY_SIZE: "any size"} | _same(known.sizes)),
        Field("severities", "Severities, 1 to 3", "empty for all", half=True),
        _choice("level", "May be used by", levels, half=False),
        Field("serves_instead", "Serves instead", "names or keys, with semicolons between"),
        Field("wrong_grab", "Brought by mistake", "names or keys, with semicolons between"),
        Field("why", "Why, in one line for the debrief", longest=TEXT_LENGTH),
    )
