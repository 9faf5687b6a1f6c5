"""The time that a step should take, and a whole drill: a small table, and the quickest way to bring
a kit where it is known.

A target is something to hold oneself to. A limit is another thing: by it an answer is late.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from drills.engine.recipes import STAGE
from drills.engine.tables.kinds import Sourced
from drills.engine.tables.reading import read_file

# What is shown is rounded up to so many seconds, so that the way of a kit tells of no place.
SHOWN_IN = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Target(Sourced):
    """The seconds that one step of a kind should take; `words` is what the kind is called."""

    kind: str
    words: str
    seconds: int


@dataclass(frozen=True, slots=True)
class Step:
    """All steps of one kind in a drill: how many, what they should take together, and from where
    that is. `own` is what one's own took, none before the start."""

    words: str
    count: int
    seconds: float
    basis: str
    own: float | None = None

    @property
    def rounded(self) -> float:
        """The target as it is shown, in seconds."""
        return -(-self.seconds // SHOWN_IN) * SHOWN_IN

    @property
    def shown(self) -> str:
        """The target in minutes and seconds, rounded up."""
        return clocked(self.rounded)

    @property
    def own_shown(self) -> str:
        """One's own time in minutes and seconds."""
        return clocked(self.own or 0.0)


TARGETS: Mapping[str, Target] = {
    row.kind: row for row in read_file(Path(__file__).parent / "targets.csv", Target)
}
QUICKEST = "the quickest way on this rig, and the time to choose it is not in it"


def steps_of(
    kinds: Iterable[str],
    *,
    quickest_s: Iterable[float | None] = (),
    own_s: Mapping[str, float] | None = None,
) -> tuple[Step, ...]:
    """The steps of a drill by kind, in the order of their first prompts.

    `kinds` are those of its prompts. `quickest_s` are the seconds of the quickest way for each kit
    in turn, none where it is not known. `own_s` are one's own seconds by kind.
    """
    counts: dict[str, int] = {}
    for kind in kinds:
        counts[kind] = counts.get(kind, 0) + 1
    ways = list(quickest_s)
    return tuple(
        Step(
            TARGETS[kind].words,
            many,
            *_taken(kind, many, ways),
            None if own_s is None else own_s.get(kind, 0.0),
        )
        for kind, many in counts.items()
        if kind in TARGETS
    )


def whole(steps: Iterable[Step]) -> Step:
    """All steps of a drill together."""
    steps = tuple(steps)
    own = [each.own for each in steps if each.own is not None]
    return Step(
        words="Together",
        count=sum(each.count for each in steps),
        seconds=sum(each.rounded for each in steps),
        basis="",
        own=sum(own) if own else None,
    )


def clocked(seconds: float) -> str:
    """Seconds as minutes and seconds: `1:05`."""
    minutes, left = divmod(round(seconds), 60)
    return f"{minutes}:{left:02}"


def _taken(kind: str, many: int, ways: list[float | None]) -> tuple[float, str]:
    row = TARGETS[kind]
    known = [each for each in ways if each is not None] if kind == STAGE else []
    unknown = many - len(known)
    if known and not unknown:
        return sum(known), QUICKEST
    basis = f"{row.seconds} s each: {row.source}"
    return sum(known) + unknown * row.seconds, f"{QUICKEST}; else {basis}" if known else basis
