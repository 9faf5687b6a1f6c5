"""The settings of a recipe as its form asks for them, each with what it does in a line."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from drills.engine.layout import FACE_NAMES
from drills.engine.recipecheck import (
    AS_ASKED,
    ASSESSED,
    CHOSEN,
    COUNT,
    NAME_LENGTH,
    NOTES_LENGTH,
    PRACTICE,
    RIG_TODAY,
    Typed,
    on_layout,
)
from drills.engine.recipes import (
    ALLOCATE,
    ARRIVE,
    AS_A_CALL_RUNS,
    BUILT_FOCUSES,
    BY_COMPARTMENT,
    CONTENTS,
    DOSE,
    FIELD,
    LOCATE,
    MIXED,
    MOVED,
    REACH,
    RISING,
    STAGE,
    SUPPLY,
    TRIAGE,
)
from drills.engine.scoring import DOOR, POCKET, SHELF
from drills.engine.targets import TARGETS
from drills.engine.timing import OVER_BASELINE

LINE, LINES, NUMBER, ONE, SOME, FLAG = "line", "lines", "number", "one", "some", "flag"
# A recipe of nothing yet.
BLANK: Typed = {
    "mode": [PRACTICE],
    COUNT + LOCATE: ["10"],
    "difficulty": ["2"],
    "layout_rule": [RIG_TODAY],
    "depth": [POCKET],
    "order": [MIXED],
    "probes": ["20"],
    "rule_shown": ["on"],
    "minutes": ["4"],
    "pass_marks_percent": ["80"],
}
_KINDS = {
    MOVED: "where it is since the last revision: a number, or all",
    LOCATE: "where a thing is",
    CONTENTS: "what is in one place",
    REACH: "what is reached, belted in, from a seat",
    ARRIVE: "what one reports on arrival: a number, or all",
    TRIAGE: "everybody of a call: all, or of calls with so many or more",
    FIELD: "one injured patient each, by the criteria of 2021",
    STAGE: "the kit of a call, brought from the whole rig",
    DOSE: "a number with its unit",
    SUPPLY: "how long, how much, how fast",
    ALLOCATE: "who gets what is scarce: a number, or all",
}


@dataclass(frozen=True, slots=True)
class Setting:
    """One field: its name, what it is called, what it does, and the words of each choice."""

    name: str
    label: str
    hint: str = ""
    kind: str = LINE
    choices: tuple[tuple[str, str], ...] = ()
    longest: int = 6
    half: bool = True


@dataclass(frozen=True, slots=True)
class Set:
    """A setting with what is written in it, and what is wrong with that."""

    setting: Setting
    values: tuple[str, ...]
    fault: str = ""

    @property
    def value(self) -> str:
        return self.values[0] if self.values else ""

    @property
    def is_own(self) -> bool:
        """Whether it says what a new recipe does not."""
        return {*self.values} - {""} != {*BLANK.get(self.setting.name, ())} - {""}


@dataclass(frozen=True, slots=True)
class Group:
    """Settings that belong together; `fault` is of no field alone."""

    title: str
    hint: str
    settings: tuple[Set, ...]
    fault: str = ""

    @property
    def is_set(self) -> bool:
        """Whether anything in it is otherwise than in a new recipe, or wrong."""
        return bool(self.fault) or any(each.fault or each.is_own for each in self.settings)


def groups(
    typed: Typed,
    faults: Mapping[str, str],
    call_types: Iterable[tuple[str, str]],
    layouts: Iterable[tuple[str, str]],
) -> list[Group]:
    """Every setting in its group, as it is written."""
    titles = (
        ("What it is", "", _about(layouts)),
        ("What it asks, and how often", "Leave empty what it does not ask.", _counts()),
        ("Of the rig", "", _of_rig()),
        ("Of calls", "Nothing of this matters where nothing comes from calls.", _of_calls()),
        ("Time", "", _time()),
        ("Standard to meet", "Empty and unticked: every answer is asked, no more.", _standard()),
    )
    found = [
        Group(title, hint, tuple(_set(each, typed, faults) for each in settings))
        for title, hint, settings in titles
    ]
    calls = Setting(
        "call_types", "Call types", "none ticked: any", SOME, tuple(call_types), half=False
    )
    found[3] = Group(
        found[3].title, found[3].hint, (*found[3].settings, _set(calls, typed, faults))
    )
    found[1] = Group(found[1].title, found[1].hint, found[1].settings, faults.get("kinds", ""))
    return found


def _set(setting: Setting, typed: Typed, faults: Mapping[str, str]) -> Set:
    return Set(setting, tuple(typed.get(setting.name, ())), faults.get(setting.name, ""))


def _about(layouts: Iterable[tuple[str, str]]) -> tuple[Setting, ...]:
    modes = ((PRACTICE, "practice: told at once"), (ASSESSED, "assessed: told after the run"))
    return (
        Setting("name", "Name", "", LINE, longest=NAME_LENGTH, half=False),
        Setting(
            "notes",
            "What it is for",
            "shown under its name",
            LINES,
            longest=NOTES_LENGTH,
            half=False,
        ),
        Setting("mode", "Practice or assessed", "", ONE, modes),
        Setting("minutes", "Minutes expected", "told to who is given it", NUMBER),
        Setting(
            "difficulty",
            "Difficulty",
            "how deep, how like, how many steps",
            ONE,
            tuple((str(each), f"{each} of 5") for each in range(1, 6)),
        ),
        Setting(
            "layout_rule",
            "Drilled on",
            "",
            ONE,
            (
                (RIG_TODAY, "the rig of the day"),
                (CHOSEN, "a layout that one chooses"),
                *((on_layout(key), f"{name}, whatever one rides") for key, name in layouts),
            ),
        ),
    )


def _counts() -> tuple[Setting, ...]:
    return tuple(
        Setting(COUNT + kind, TARGETS[kind].words, _KINDS[kind], NUMBER) for kind in AS_ASKED
    )


def _of_rig() -> tuple[Setting, ...]:
    focuses = tuple((each, each) for each in BUILT_FOCUSES)
    depths = ((DOOR, "the door"), (SHELF, "the shelf"), (POCKET, "the pocket"))
    orders = (
        (MIXED, "mixed"),
        (BY_COMPARTMENT, "by compartment, as one walks round"),
        (RISING, "rising: the easiest figures first"),
        (AS_A_CALL_RUNS, "as a call runs: all of one call"),
    )
    return (
        Setting("depth", "Depth asked for", "less is partly right", ONE, depths),
        Setting("order", "Order", "", ONE, orders),
        Setting(
            "focus",
            "Looks to",
            "what is critical, for children or controlled alone: nothing else of the rig is asked",
            SOME,
            focuses,
            half=False,
        ),
        Setting("faces", "Faces", "none ticked: all", SOME, tuple(FACE_NAMES.items()), half=False),
        Setting("bags_only", "Only what is in bags", "", FLAG),
        Setting("probes", "Probes in 100", "drawn evenly, so that rates stay true", NUMBER),
    )


def _of_calls() -> tuple[Setting, ...]:
    return (
        Setting("patients_least", "Patients, at least", "empty: as the call type says", NUMBER),
        Setting("patients_most", "Patients, at most", "empty: as the call type says", NUMBER),
        Setting("rule_shown", "Show the dose rule", "unticked: from memory", FLAG),
        Setting("marks_writing", "Mark how a number is written", "unsafe writing costs", FLAG),
    )


def _time() -> tuple[Setting, ...]:
    return (
        Setting(
            "limit_over_baseline_s",
            "Limit, seconds over one's own tapping",
            f"past it is late; empty: {OVER_BASELINE:g}; figures, kits and reach have none",
            NUMBER,
        ),
        Setting(
            "cut_off_s",
            "Cut-off, seconds",
            "assessed only: past it a prompt is closed; empty: none; twice the limit or more",
            NUMBER,
        ),
    )


def _standard() -> tuple[Setting, ...]:
    return (
        Setting("pass_marks_percent", "Marks, of 100", "", NUMBER),
        Setting("pass_in_time_percent", "In time, of 100 right", "", NUMBER),
        Setting("no_unsafe_dose", "No unsafe dose or supply", "", FLAG),
        Setting("no_must_missed", "No must-have missed", "", FLAG),
    )
