"""How long each motion takes: our own rounded seconds, and what a service multiplies them by.

Times of runs at the rig tell the seconds of a whole kit and not of each motion, so that a service
sets one multiplier for all walking, one for all opening, one for all taking: `engine.calibrating`.
"""

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from drills.engine.tables.kinds import Sourced
from drills.engine.tables.reading import read_file

FOLDER = Path(__file__).parent


@dataclass(frozen=True, slots=True, kw_only=True)
class Motion(Sourced):
    """A motion by its key, the part of a way it belongs to, what it is, and its seconds; of
    walking the metres in a second."""

    key: str
    part: str
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
WALKING, OPENING, TAKING = PARTS = ("walking", "opening", "taking")
_PART_OF = {each.key: each.part for each in MOTIONS}
LEAST_PERCENT, MOST_PERCENT = 50, 300
# One looks over a place in a few glances, however much lies there.
_GLANCES = 6


@dataclass(frozen=True, slots=True)
class Multipliers:
    """What each part of our own table is multiplied by, in whole percent from 50 to 300.

    Raises `ValueError` naming another figure. Whatever is multiplied is rounded up to a hundredth
    of a second: a walk by way of others is never the shorter one.
    """

    walking: int = 100
    opening: int = 100
    taking: int = 100

    def __post_init__(self) -> None:
        for part in PARTS:
            percent = getattr(self, part)
            if not LEAST_PERCENT <= percent <= MOST_PERCENT:
                raise ValueError(
                    f"{percent} % of {part} came in; {LEAST_PERCENT} to {MOST_PERCENT} % of our "
                    "own seconds are accepted."
                )

    def percent(self, key: str) -> int:
        """What a motion is multiplied by."""
        found: int = getattr(self, _PART_OF[key])
        return found

    def cs(self, key: str) -> int:
        """A motion in hundredths of a second."""
        return -(-int(SECONDS[key] * 100) * self.percent(key) // 100)

    def look_cs(self, lines: int) -> int:
        """Looking over a place with so many lines of stock."""
        return self.cs("look") * min(_GLANCES, -(-lines // 2))

    def walk_cs(self, metres: float, *, inside: bool) -> int:
        """Walking so far, to the micrometre, never rounded down: so a detour is never quicker than
        the way itself."""
        in_one_cs = int(SECONDS["inside" if inside else "outside"] * 10_000)
        ours = -(-round(metres * 1_000_000) // in_one_cs)
        return -(-ours * self.walking // 100)


OURS = Multipliers()
cs, look_cs, walk_cs = OURS.cs, OURS.look_cs, OURS.walk_cs
