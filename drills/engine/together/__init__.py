"""What a need is of no use without, and whom it fits: tables of our own, to be checked by medical
direction."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import chain
from pathlib import Path

from drills.engine.calls import MUST, Asked
from drills.engine.tables.kinds import Sourced
from drills.engine.tables.reading import read_file

FOLDER = Path(__file__).parent


@dataclass(frozen=True, slots=True, kw_only=True)
class Part(Sourced):
    """Needs of which any does the same, under one word."""

    part: str
    needs: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Together(Sourced):
    """A need that is of no use without another: needs and parts of which any one serves."""

    need: str
    comes_with: str
    name: str

    @property
    def any_of(self) -> tuple[str, ...]:
        """The needs of which one has to come, each once."""
        return _needs_in(self.comes_with)


@dataclass(frozen=True, slots=True, kw_only=True)
class Airway(Sourced):
    """What keeps the airway of who answers nothing: needs and parts of which any one serves."""

    name: str
    any: str

    @property
    def any_of(self) -> tuple[str, ...]:
        """The needs of which one has to come, each once."""
        return _needs_in(self.any)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sized(Sourced):
    """A need made for some sizes of patients; those of a family do the same for others."""

    need: str
    family: str
    fits: str

    @property
    def sizes(self) -> tuple[str, ...]:
        return tuple(self.fits.split(";"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed(Sourced):
    """A need of a list: used where it lies at the scene and brought to nobody (`scene`), or of use
    beside anybody, to look with, to clear the mouth and to breathe for them (`beside`)."""

    need: str


def _needs_in(words: str) -> tuple[str, ...]:
    found = (PARTS.get(each, (each,)) for each in words.split(";"))
    return tuple(dict.fromkeys(chain.from_iterable(found)))


PARTS = {row.part: tuple(row.needs.split(";")) for row in read_file(FOLDER / "parts.csv", Part)}
_ROWS = read_file(FOLDER / "together.csv", Together)
TOGETHER = {need: [row for row in _ROWS if row.need == need] for need in {r.need for r in _ROWS}}
OF_SCENE, BESIDE_ANYBODY = (
    frozenset(row.need for row in read_file(FOLDER / f"{name}.csv", Listed))
    for name in ("scene", "beside")
)
AIRWAY = read_file(FOLDER / "airway.csv", Airway)
SIZED = {row.need: row for row in read_file(FOLDER / "sized.csv", Sized)}


def is_of_size(need: str, size: str) -> bool:
    """Whether a need may be for somebody of a size; what is made for no size in particular is."""
    return need not in SIZED or size in SIZED[need].sizes


def with_what_they_take(musts: Iterable[Asked]) -> dict[str, Asked]:
    """Must-haves by need, then what they are of no use without, and what that is of no use without,
    in turn. Of several that would do the first is asked for, and the others serve instead."""
    found = {each.need: each for each in musts}
    for need in tuple(found):
        _take(need, found)
    return found


def _take(need: str, found: dict[str, Asked]) -> None:
    for row in TOGETHER.get(need, ()):
        if found.keys().isdisjoint(row.any_of):
            first, *others = row.any_of
            found[first] = Asked(first, MUST, 1, name=row.name, instead=tuple(others))
            _take(first, found)
