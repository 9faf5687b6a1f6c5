"""What a crew that arrives may choose from: hazards, resources, a report, duties, what is worn."""

from dataclasses import dataclass
from pathlib import Path

from drills.engine.tables.kinds import Sourced
from drills.engine.tables.reading import read_file

FOLDER = Path(__file__).parent
MAY, WRONG, RIGHT, UNASKED = "may", "wrong", "right", "unasked"
DOES, REPORTS = "does", "reports"


@dataclass(frozen=True, slots=True, kw_only=True)
class Hazard(Sourced):
    """A hazard of a scene; those `about` the same are near each other."""

    hazard: str
    words: str
    about: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Resource(Sourced):
    """Somebody to be asked for from the scene; those `about` the same are near each other."""

    resource: str
    words: str
    about: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Element(Sourced):
    """A part of the first report: must, may or wrong, of few patients and of many."""

    element: str
    words: str
    of_few: str
    of_many: str


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
    """Protection that is put on, by its need, and the hazards that it is `against`."""

    need: str
    is_for_all: bool
    against: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Always(Sourced):
    """What comes to every patient of a size, by its need and in words."""

    size: str
    need: str
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Together(Sourced):
    """A need that is of no use without another, and the name of that other."""

    need: str
    comes_with: str
    name: str


HAZARDS = {row.hazard: row for row in read_file(FOLDER / "hazards.csv", Hazard)}
RESOURCES = {row.resource: row for row in read_file(FOLDER / "resources.csv", Resource)}
ELEMENTS = read_file(FOLDER / "reports.csv", Element)
DUTIES = read_file(FOLDER / "duties.csv", Duty)
TOGETHER = read_file(FOLDER / "together.csv", Together)
WORN = {row.need: row for row in read_file(FOLDER / "worn.csv", Worn)}
ALWAYS = {row.size: row for row in read_file(FOLDER / "always.csv", Always)}
