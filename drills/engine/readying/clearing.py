"""The shortest drill that asks for some facts: prompts that together speak of all of them."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import TypeVar

from drills.engine.facts import Fact

# What names a prompt, for whoever makes the drill.
Name = TypeVar("Name")


@dataclass(frozen=True, slots=True)
class Asks:
    """What one prompt asks for and how many seconds it takes."""

    facts: frozenset[Fact]
    seconds: float


def shortest(prompts: Mapping[Name, Asks], wanted: Collection[Fact]) -> tuple[Name, ...]:
    """Prompts that together ask for every wanted fact which any prompt asks for, in few seconds.

    Always the one next that asks for most that is still wanted in a second, then without those the
    others made needless. No better way is sure to be quick; how far it is from the best of all on
    small drills is told by a test.
    """
    left = frozenset(wanted)
    chosen: list[Name] = []
    while left and prompts:
        name = max(prompts, key=lambda each: len(prompts[each].facts & left) / _of(prompts, each))
        if not prompts[name].facts & left:
            break
        chosen.append(name)
        left -= prompts[name].facts
    return _without_needless(prompts, chosen, frozenset(wanted))


def _of(prompts: Mapping[Name, Asks], name: Name) -> float:
    return max(prompts[name].seconds, 1e-9)


def _without_needless(
    prompts: Mapping[Name, Asks], chosen: list[Name], wanted: frozenset[Fact]
) -> tuple[Name, ...]:
    """The same facts by fewer prompts, the longest given up first."""
    kept = list(chosen)
    for name in sorted(chosen, key=lambda each: -prompts[each].seconds):
        rest = [each for each in kept if each != name]
        if prompts[name].facts & wanted <= frozenset().union(*(prompts[e].facts for e in rest)):
            kept = rest
    return tuple(kept)
