"""What a call asks for as things of this rig: what can be brought of it, and what is short.

One thing is promised once. So what is asked for together can be brought together.
"""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from drills.engine.calls import MUST, USEFUL, Asked
from drills.engine.layout import Layout
from drills.engine.staying import carried_ties


@dataclass(frozen=True, slots=True)
class Wanted:
    """One need of a call as things of this rig, by thing key.

    `quantity` is what can be brought of it here, and `short` what is missing aboard. `instead` and
    `wrong` are things that serve as well, and that are brought by mistake. `holds` says of those
    that serve and are packs how many one of them is.
    """

    need: str
    grade: str
    quantity: int
    name: str = ""
    short: int = 0
    things: tuple[str, ...] = ()
    instead: tuple[str, ...] = ()
    wrong: tuple[str, ...] = ()
    level: str = ""
    why: str = ""
    patients: tuple[int, ...] = ()
    holds: Mapping[str, int] = field(default_factory=dict, hash=False)

    @property
    def serving(self) -> tuple[str, ...]:
        """All that counts for it: its own things first."""
        return (*self.things, *self.instead)


def musts(wanted: Iterable[Wanted]) -> list[Wanted]:
    """The must-haves alone."""
    return [each for each in wanted if each.grade == MUST]


def want(
    layout: Layout,
    ties: Mapping[str, str],
    asked: Iterable[Asked],
    held: Collection[tuple[str, str]] = (),
    holds: Mapping[str, int] | None = None,
) -> tuple[Wanted, ...]:
    """What is asked for as things of a layout; `ties` are need keys by thing key.

    `holds` is how many of its need one of a thing is, where that is not one: par counts by it.

    Where too few are aboard, what is there is asked for and the rest is said to be short. What is
    `held` is reported not to be there and counts as not aboard: (thing key, place key), an empty
    thing being all that is there and an empty place anywhere. One thing is promised once, to a
    must-have before anything useful, as `share` does; of what is needless nothing is promised.
    """
    things: dict[str, list[str]] = {}
    for thing, need in carried_ties(ties).items():
        things.setdefault(need, []).append(thing)
    packs = {thing: count for thing, count in (holds or {}).items() if count > 1}
    named = [_named(each, things, packs) for each in asked]
    counts = [each.total() for each in share(named, counted(layout.pars_there(held), packs))]
    return tuple(
        each if each.quantity == count else _short(each, count)
        for each, count in zip(named, counts, strict=True)
    )


def _short(wanted: Wanted, count: int) -> Wanted:
    """A need of which so many can be brought; of what nobody asks for nothing is short."""
    short = wanted.quantity - count if wanted.grade in (MUST, USEFUL) else 0
    return replace(wanted, quantity=count, short=short)


def _named(asked: Asked, things: Mapping[str, Sequence[str]], packs: Mapping[str, int]) -> Wanted:
    """A need with its things by name, before anything is counted."""
    own, instead = tuple(things.get(asked.need, ())), _all_of(asked.instead, things)
    return Wanted(
        need=asked.need,
        name=asked.name,
        grade=asked.grade,
        quantity=asked.quantity,
        things=own,
        instead=instead,
        wrong=_all_of(asked.wrong_grab, things),
        level=asked.level,
        why=asked.why,
        patients=asked.patients,
        holds={each: packs[each] for each in (*own, *instead) if each in packs},
    )


def _all_of(needs: Iterable[str], things: Mapping[str, Sequence[str]]) -> tuple[str, ...]:
    return tuple(thing for need in needs for thing in things.get(need, ()))


def share(needs: Sequence[Wanted], things: Mapping[str, int]) -> list[Counter[str]]:
    """Share things out, so that as much as can be is served: what each need gets, by thing key.

    Must-haves come first and what is needless gets nothing. Each takes of its own things before
    anything serves instead; what two could use goes to the one that has nothing else.
    """
    sharing = _Sharing(needs, Counter(things), [Counter() for _ in needs])
    for grade in (MUST, USEFUL):
        here = [number for number, each in enumerate(needs) if each.grade == grade]
        for number in here:
            sharing.take_own(number)
        for number in here:
            sharing.fill(number)
    return [+each for each in sharing.got]


@dataclass(frozen=True, slots=True)
class _Sharing:
    """What is `left` of things by key, and what each need has `got` of them."""

    needs: Sequence[Wanted]
    left: Counter[str]
    got: list[Counter[str]]

    def take_own(self, number: int) -> None:
        need, has = self.needs[number], self.got[number]
        for thing in need.things:
            count = min(need.quantity - has.total(), self.left[thing])
            self.left[thing] -= count
            has[thing] += count

    def fill(self, number: int) -> None:
        """Give a need one thing after the other, while it lacks any and there are any."""
        while self.got[number].total() < self.needs[number].quantity:
            if not self.has_one_more(number, set()):
                return

    def has_one_more(self, number: int, seen: set[str]) -> bool:
        """Give a need one thing more by an augmenting path of bipartite matching: no need that
        gives one up has fewer than before. `seen` are the things tried on this path."""
        for thing in self.needs[number].serving:
            if thing in seen:
                continue
            seen.add(thing)
            source = self._source_of(thing, number, seen)
            if source is not None:
                source[thing] -= 1
                self.got[number][thing] += 1
                return True
        return False

    def _source_of(self, thing: str, number: int, seen: set[str]) -> Counter[str] | None:
        """What is left, or what a need has got that can do with another thing."""
        if self.left[thing]:
            return self.left
        givers = (
            has
            for other, has in enumerate(self.got)
            if other != number and has[thing] and self.has_one_more(other, seen)
        )
        return next(givers, None)


def packs_of(wanted: Iterable[Wanted]) -> dict[str, int]:
    """How many one of each thing is that is a pack; a thing is tied once, so it is one number."""
    return {thing: count for each in wanted for thing, count in each.holds.items()}


def counted(things: Mapping[str, int], packs: Mapping[str, int]) -> Counter[str]:
    """Things as what they are packs of, by the key of the thing."""
    return Counter({thing: count * packs.get(thing, 1) for thing, count in things.items()})
