"""What a crew that arrives may choose from: hazards, resources, a report, duties, what is worn."""

from dataclasses import dataclass
from pathlib import Path

from drills.engine.tables.kinds import Sourced
from drills.engine.tables.reading import read_file

FOLDER = Path(__file__).parent
MAY, WRONG, RIGHT, UNASKED = "may", "wrong", "right", "unasked"
DOES, REPORTS = "does", "reports"
NONE, EVERYWHERE = "none", "always"


@dataclass(frozen=True, slots=True, kw_only=True)
class Hazard(Sourced):
    """A hazard of a scene; those `about` the same are near each other.

    One that `stays` is of such calls whatever the caller says of the place.
    """

    hazard: str
    words: str
    about: str
    stays: bool


def keys_in(cell: str) -> tuple[str, ...]:
    """The keys of a cell that lists them with `;` between; none where it says so."""
    return () if cell == NONE else tuple(cell.split(";"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Said(Sourced):
    """Words of a caller, and the hazards that are there where they are said, and not there.

    `asks` are crews that must be asked for where they are said, or seen of a patient; `spares` are
    those that need not be: on the way, there already, or with nothing to do.
    """

    words: str
    here: str
    absent: str
    asks: str
    spares: str

    @property
    def named(self) -> tuple[str, ...]:
        return keys_in(self.here)

    @property
    def not_there(self) -> tuple[str, ...]:
        return keys_in(self.absent)


@dataclass(frozen=True, slots=True, kw_only=True)
class Resource(Sourced):
    """Somebody to be asked for from the scene; those `about` the same are near each other.

    Who is `against` hazards must be asked for only where one of them is there.
    """

    resource: str
    words: str
    about: str
    against: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Element(Sourced):
    """A part of the first report: must, may or wrong, of few patients and of many.

    Where it hangs on the scene, `when` says on what of it, and it is `otherwise` where that is not
    so. What is unasked is not offered. Its words may have the holes of `reporting`.
    """

    element: str
    words: str
    of_few: str
    of_many: str
    when: str
    otherwise: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Duty(Sourced):
    """What a crew does (must, may or wrong) or whom it reports to (right or wrong), by whether it
    is the first at a call of many or the second; unasked where only the other is asked."""

    duty: str
    asks: str
    words: str
    first: str
    second: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Worn(Sourced):
    """Protection that is put on, by its need, the hazards that it is `against`, and those that
    nobody meets without it."""

    need: str
    is_for_all: bool
    against: str
    must_for: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Always(Sourced):
    """What comes to every patient of a size, by its need and in words."""

    size: str
    need: str
    words: str


HAZARDS = {row.hazard: row for row in read_file(FOLDER / "hazards.csv", Hazard)}
SAID = read_file(FOLDER / "said.csv", Said)
RESOURCES = {row.resource: row for row in read_file(FOLDER / "resources.csv", Resource)}
ELEMENTS = read_file(FOLDER / "reports.csv", Element)
DUTIES = read_file(FOLDER / "duties.csv", Duty)
WORN = {row.need: row for row in read_file(FOLDER / "worn.csv", Worn)}
ALWAYS = {row.size: row for row in read_file(FOLDER / "always.csv", Always)}
