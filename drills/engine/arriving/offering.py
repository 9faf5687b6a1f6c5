"""What is offered to choose from on arrival: all that is right, and others by difficulty."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from random import Random

from drills.engine.arriving.tables import MAY, WRONG
from drills.engine.calls import MUST
from drills.engine.chance import drawn_evenly
from drills.engine.choosing import SOME, Choice, Group
from drills.engine.knobs import setting

OTHERS, NEAR = "others", "near"


@dataclass(frozen=True, slots=True)
class Offer:
    """One thing to choose: its grade, and what it is about, so that others may be near it."""

    key: str
    words: str
    grade: str
    about: str = ""


def some_of(
    key: str, asks: str, offers: Sequence[Offer], difficulty: int, random: Random, *, decides: bool
) -> Group:
    """The question which of them, in the order in which they came."""
    shown = offered(offers, difficulty, random)
    return Group(
        key,
        asks,
        SOME,
        tuple(Choice(each.key, each.words) for each in shown),
        right=keys_of(shown, MUST),
        may=keys_of(shown, MAY),
        decides=decides,
    )


def keys_of(offers: Iterable[Offer], grade: str) -> tuple[str, ...]:
    """The keys of those of a grade."""
    return tuple(each.key for each in offers if each.grade == grade)


def offered(
    offers: Sequence[Offer], difficulty: int, random: Random, *, always: Collection[str] = ()
) -> list[Offer]:
    """All that must be chosen and what is `always` there, with so many others as the difficulty
    says, the harder the nearer; and half as many of those that cost nothing."""
    most, near = int(setting(OTHERS, difficulty)), setting(NEAR, difficulty)
    shown = {each.key for each in offers if each.grade == MUST} | set(always)
    about = {each.about for each in offers if each.key in shown}
    left = [each for each in offers if each.key not in shown]
    wrong = [each for each in left if each.grade == WRONG]
    free = [each for each in left if each.grade == MAY]
    kept = shown | _drawn(wrong, most, near, about, random) | _drawn(free, most // 2, 0, (), random)
    return [each for each in offers if each.key in kept]


def _drawn(
    offers: list[Offer], most: int, near: float, about: Collection[str], random: Random
) -> set[str]:
    """So many of them at random, each with a chance of being near what is asked."""
    kept: set[str] = set()
    for _ in range(min(most, len(offers))):
        is_near = random.random() < near
        alike = [each for each in offers if (each.about in about) == is_near] or offers
        drawn = drawn_evenly(alike, random)
        offers.remove(drawn)
        kept.add(drawn.key)
    return kept
