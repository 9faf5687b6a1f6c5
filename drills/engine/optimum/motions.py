"""How long each motion takes: our own rounded seconds, to be calibrated at the rig."""

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from drills.engine.tables.kinds import Sourced
from drills.engine.tables.reading import read_file

FOLDER = Path(__file__).parent


@dataclass(frozen=True, slots=True, kw_only=True)
class Motion(Sourced):
    """A motion by its key, what it is, and its seconds; of walking the metres in a second."""

    key: str
    what: str
    seconds: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Study(Sourced):
    """What others measured, to stand beside our seconds; nothing is worked out from it.

    `built` are our motions for the same task, each with how often it comes; the word none where it
    is no task of ours.
    """

    key: str
    what: str
    found: str
    built: str

    @property
    def ours_cs(self) -> int:
        """The same task by our own motions, in hundredths of a second; 0 where it is none."""
        words = [] if self.built == "none" else self.built.split()
        return sum(int(n) * cs(key) for n, key in zip(words[::2], words[1::2], strict=True))


MOTIONS = read_file(FOLDER / "motions.csv", Motion)
PUBLISHED = read_file(FOLDER / "published.csv", Study)
SECONDS = {each.key: each.seconds for each in MOTIONS}
# One looks over a place in a few glances, however much lies there.
_GLANCES = 6


def cs(key: str) -> int:
    """A motion in hundredths of a second."""
    return int(SECONDS[key] * 100)


def look_cs(lines: int) -> int:
    """Looking over a place with so many lines of stock."""
    return cs("look") * min(_GLANCES, -(-lines // 2))


def walk_cs(metres: float, *, inside: bool) -> int:
    """Walking so far, to the micrometre, never rounded down: so a detour is never quicker than the
    way itself."""
    in_one_cs = int(SECONDS["inside" if inside else "outside"] * 10_000)
    return -(-round(metres * 1_000_000) // in_one_cs)
