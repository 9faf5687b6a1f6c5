"""What patients of an incident are drawn from: appearances, patterns of findings and levels.

An appearance is what is seen of a problem and says nothing of walking, breathing, pulse or mind;
those come from a pattern, so that findings may change and the appearance stays. No row names a
category: that is worked out from the findings by the scheme.
"""

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from drills.engine.tables.kinds import Sourced
from drills.engine.tables.reading import read_file

FOLDER = Path(__file__).parent
ANY, NONE, UNTOLD = "any", "none", "-"
ADULT, CHILD = "adult", "child"
# How bad a grade of appearance is, as problems count it: 1 mild to 3 severe.
SEVERITY = {
    **dict.fromkeys(("slight", "lame"), 1),
    **dict.fromkeys(("serious", "off legs"), 2),
    **dict.fromkeys(("bleeding", "grave", "lost", "hopeless"), 3),
}
# From here on life is in danger.
SEVERE = 3
LAME = "lame"
MINOR_GRADES = ("slight", LAME)
HOPELESS = "hopeless"


@dataclass(frozen=True, slots=True, kw_only=True)
class ProblemKind(Sourced):
    """How a problem gets worse (pulse, rate, mind, airway or none), and whether it is an injury.

    `sits`: by what is seen of it somebody may be carried sitting. `sex` and `ages` say whom alone
    it can be of, by anatomy or by definition; else `any`.
    """

    problem: str
    worsens: str
    is_injury: bool
    sits: bool
    sex: str
    ages: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Appearance(Sourced):
    """What is seen of a problem at a grade."""

    problem: str
    grade: str
    seen: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern(Sourced):
    """Findings that go together, for some grades and ways of getting worse; `-` is untold.

    `rate` is usual, raised, over (what the chart allows), slowed, agonal or none; `refill` short,
    long or none. A trap is one that schemes or first sight are apart on.
    """

    pattern: str
    who: str
    grades: str
    worsens: str
    is_trap: bool
    walks: str
    breathes: str
    breathes_after_opening: str
    breathes_after_rescue_breaths: str
    pulse: str
    rate: str
    refill: str
    obeys: str
    purposeful: str
    avpu: str
    posturing: str
    distress: str
    bleeding_controlled: str
    survivable: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Level(Sourced):
    """The knobs of a difficulty from 1 to 5, each a share of patients from 0 to 1.

    `near`: the counted figure stands beside the limit of the chart. `traps`: a pattern that is one.
    `worsens`: has changed at the second look. With `tells_all` also findings that the chart does
    not ask for are told.
    """

    level: int
    near: Fraction
    traps: Fraction
    worsens: Fraction
    tells_all: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Worsening(Sourced):
    """What a way of getting worse leads to: the pattern, and how it is told."""

    worsens: str
    pattern: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Scarce(Sourced):
    """A thing that a rig may have too few of: how it is counted, asked for, and who needs it.

    Counted by par are the `things`, by need, each of any; where it goes with others, `each_with`,
    no more than there are of those. `outlets` is a word in the names of outlets, `people` how many
    of the crew. It is needed by whom any of `troubles` kills soon, or who is `carried` lying or
    sitting. `is_oxygen` where the question after it is how long the oxygen lasts.
    """

    key: str
    things: str
    each_with: str
    outlets: str
    people: int
    troubles: str
    carried: str
    has: str
    asks: str
    needed_by: str
    is_oxygen: bool


PROBLEMS = {row.problem: row for row in read_file(FOLDER / "problems.csv", ProblemKind)}
APPEARANCES = read_file(FOLDER / "appearances.csv", Appearance)
PATTERNS = read_file(FOLDER / "patterns.csv", Pattern)
_BY_NAME = {row.pattern: row for row in PATTERNS}
LEVELS = {row.level: row for row in read_file(FOLDER / "levels.csv", Level)}
SCARCE = read_file(FOLDER / "scarce.csv", Scarce)
WORSENINGS = {row.worsens: row for row in read_file(FOLDER / "worsening.csv", Worsening)}


def listed(cell: str) -> tuple[str, ...]:
    """The words of a cell that lists some; none where it is untold."""
    return () if cell == UNTOLD else tuple(cell.split(";"))


def pattern_named(name: str) -> Pattern:
    """A pattern by its name; `KeyError` for one that is none."""
    return _BY_NAME[name]


def patterns_for(appearance: Appearance, *, is_child: bool) -> tuple[Pattern, ...]:
    """The patterns that an appearance may come with."""
    who, worsens = (CHILD if is_child else ADULT), PROBLEMS[appearance.problem].worsens
    return tuple(
        row
        for row in PATTERNS
        if row.who in (ANY, who)
        and appearance.grade in row.grades.split(";")
        and row.worsens in (ANY, worsens)
    )
