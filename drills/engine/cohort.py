"""What the answers of many people say together, nobody named.

Each person counts once for each thing asked: their newest answer in the period. A first answer is
the first to one presentation of a prompt, so who drills every day gives many on one fact; counted
all, the keenest would speak for everybody. The newest is taken because the question is what is
missed now, and what somebody has learnt since is missed no more.
"""

from collections import defaultdict
from collections.abc import Hashable, Iterable
from dataclasses import dataclass
from datetime import datetime

from drills.engine.facts import Fact
from drills.engine.memory import FEWEST_FIRST_ANSWERS, WIDEST_SHOWN, Bar, bar_of, wilson
from drills.engine.scoring import PARTLY, RIGHT

# Ours, no source: what is said of one person or of two is said of somebody one may know.
FEWEST_PEOPLE = 3
TOO_FEW = "fewer than three people"

# As in `memory`: partly right is half; whatever else is not right is missed.
_MISS = {RIGHT: 0.0, PARTLY: 0.5}


@dataclass(frozen=True, slots=True)
class Answer:
    """One first answer of one person on one fact, to a prompt of some kind. `source` names the
    answer it came from."""

    person: Hashable
    fact: Fact
    outcome: str
    at: datetime
    source: str
    is_simulated: bool = False
    kind: str = ""
    is_imported: bool = False

    @property
    def miss(self) -> float:
        """How much of it was missed, from 0 to 1."""
        return _MISS.get(self.outcome, 1.0)


@dataclass(frozen=True, slots=True)
class Tally:
    """What some answers say together: all of them, the people, and the share missed from 0 to 1
    with its 80 % interval. `missed` and `partly` count the answers that stand, one of each person
    on each fact."""

    answers: int
    people: int
    missed: int
    partly: int
    share: float
    low: float
    high: float
    has_simulated: bool
    has_imported: bool = False

    @property
    def is_hidden(self) -> bool:
        """Whether too few people stand behind it to say anything."""
        return self.people < FEWEST_PEOPLE

    @property
    def is_enough(self) -> bool:
        """Whether the share may be shown; else the words are *not enough evidence*."""
        narrow = self.high - self.low <= WIDEST_SHOWN
        return narrow and self.people >= max(FEWEST_PEOPLE, FEWEST_FIRST_ANSWERS)

    @property
    def in_100(self) -> tuple[int, int, int]:
        """Share missed, lower and upper end as whole numbers in 100."""
        return round(100 * self.share), round(100 * self.low), round(100 * self.high)

    @property
    def right_in_100(self) -> int | None:
        """How many in 100 find it, where that may be shown."""
        return 100 - self.in_100[0] if self.is_enough else None

    @property
    def rank(self) -> tuple[bool, bool, float]:
        """Sorts what is surely missed first: enough evidence, then by the lower end."""
        return self.is_hidden, not self.is_enough, -self.low

    @property
    def history(self) -> str:
        """Where these answers come from, in words."""
        return history_of(self.has_simulated, self.has_imported)

    @property
    def bar(self) -> Bar:
        """The interval as it is drawn."""
        return bar_of(self.share, self.low, self.high)


def history_of(has_simulated: bool, has_imported: bool) -> str:
    """Where answers come from, in words: simulated or imported ones among them are told."""
    told = " and ".join(filter(None, ("simulated" * has_simulated, "imported" * has_imported)))
    return f"{told} answers among them" if told else "answered by people"


def counted(answers: Iterable[Answer]) -> list[Answer]:
    """The answers that stand: the newest of each person on each fact."""
    newest: dict[tuple[Hashable, Fact], Answer] = {}
    for each in answers:
        key = each.person, each.fact
        if key not in newest or each.at >= newest[key].at:
            newest[key] = each
    return list(newest.values())


def tally(answers: Iterable[Answer], *, given: int | None = None) -> Tally:
    """Add answers up, on one fact or on several.

    On several a person counts once still, with the mean over the facts they were asked. `given`
    is how many answers there are in all, where those that stand are told alone.
    """
    told = list(answers)
    standing = counted(told)
    misses = _misses(standing)
    people, missed = len(misses), sum(misses)
    low, high = wilson(missed, people)
    partly = sum(each.outcome == PARTLY for each in standing)
    return Tally(
        answers=len(told) if given is None else given,
        people=people,
        missed=sum(each.miss > 0 for each in standing) - partly,
        partly=partly,
        share=missed / people if people else 0.5,
        low=low,
        high=high,
        has_simulated=any(each.is_simulated for each in standing),
        has_imported=any(each.is_imported for each in standing),
    )


def _misses(standing: Iterable[Answer]) -> list[float]:
    """How much each person missed, in the mean over the facts they were asked."""
    found: dict[Hashable, list[float]] = defaultdict(list)
    for each in standing:
        found[each.person].append(each.miss)
    return [sum(own) / len(own) for own in found.values()]


def as_asked(facts: Iterable[Fact]) -> dict[Fact, tuple[Fact, ...]]:
    """The facts together that are asked for as one: an item with all its places.

    A right answer counts for the place given and a wrong one for the place nearest to the cot, so
    of doubles that one alone would seem missed by everybody. Any place is right: they are one.
    """
    found: dict[tuple[str, str], list[Fact]] = defaultdict(list)
    for fact in facts:
        found[fact.kind, fact.thing].append(fact)
    return {fact: tuple(together) for together in found.values() for fact in together}


def by_fact(answers: Iterable[Answer]) -> dict[Fact, list[Answer]]:
    """The answers apart by the fact they are on."""
    found: dict[Fact, list[Answer]] = defaultdict(list)
    for each in answers:
        found[each.fact].append(each)
    return dict(found)


def told_people(count: int) -> str:
    """How many people, in figures; one or two are not told apart."""
    return TOO_FEW if 0 < count < FEWEST_PEOPLE else str(count)
