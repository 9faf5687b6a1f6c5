"""Staging: what a call asks for as things of this rig, and the judgement of a kit brought to it.

A kit is stock lines with counts, and bags that were brought whole. Missing a must-have fails it
whatever the rest; what nobody asked for, more than twice what was asked and the wrong size cost
marks, and so does a bag in which nothing is that was asked for. How many marks, and that a spare of
each costs none, is ours, no source; with no marks left it fails too, so that nobody empties the
rig. Time is kept apart, and its optimum is not worked out here.
"""

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import ceil

from drills.engine.calls import MUST, NEEDLESS, USEFUL, Asked, Call
from drills.engine.layout import WHEELED, Layout
from drills.engine.optimum import BY_THE_CURB, PatientPlace
from drills.engine.scoring import PARTLY, RIGHT, WRONG
from drills.engine.staying import carried_ties

FULL_MARKS, WRONG_GRAB_COSTS, NEEDLESS_COSTS = 100, 10, 5

Line = tuple[str, str]


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


@dataclass(frozen=True, slots=True)
class StageTask:
    """A call, and what is to be brought to it: all of it, or what an area or one patient takes.

    Of a treatment `area`, in words, `told` are who waits there: number, who and findings. `tied`
    are the things of the rig tied to any need, `unconfirmed` those of a tie merely suggested. It
    goes to the patient as they stand from the rig.
    """

    call: Call
    wanted: tuple[Wanted, ...]
    tied: frozenset[str]
    unconfirmed: frozenset[str] = frozenset()
    patient: int = 0
    area: str = ""
    told: tuple[tuple[int, str, str], ...] = ()
    stands: PatientPlace = BY_THE_CURB


@dataclass(frozen=True, slots=True)
class Kit:
    """What was brought: counts by (compartment code, thing key), and codes of whole bags."""

    lines: Mapping[Line, int] = field(default_factory=dict)
    bags: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Missing:
    """A must-have that was not brought, or not enough of it."""

    wanted: Wanted
    brought: int


@dataclass(frozen=True, slots=True)
class StageMark:
    """The judgement of a kit: the outcome, marks of 100, and each reason.

    `wrong` are things brought by mistake with the need they were taken for, `needless` things
    that nobody asked for, `excess` things of which more than twice came of what was asked for,
    `idle_bags` codes of bags brought for nothing, `unjudged` things that are tied to no need.
    """

    outcome: str
    marks: int
    missing: tuple[Missing, ...] = ()
    wrong: tuple[tuple[str, Wanted], ...] = ()
    needless: tuple[str, ...] = ()
    excess: tuple[str, ...] = ()
    idle_bags: tuple[str, ...] = ()
    instead: tuple[tuple[str, Wanted], ...] = ()
    unjudged: tuple[str, ...] = ()


def kit_keys(layout: Layout) -> dict[str, int]:
    """Everything that can be brought, with how many there are: stock lines, and whole bags.

    The key of a line is the code of its compartment, a space and the key of the thing; codes have
    no spaces, so that `read_kit` finds them again.
    """
    lines = {f"{line.compartment} {line.key}": line.par for line in layout.stock}
    return lines | {each.code: 1 for each in layout.compartments if each.is_bag}


def read_kit(keys: Iterable[str]) -> Kit:
    """A kit from keys, each standing for one; a key that comes twice stands for two."""
    counts = Counter(keys)
    lines = {}
    for key, count in counts.items():
        code, space, thing = key.partition(" ")
        if space:
            lines[code, thing] = count
    return Kit(lines, frozenset(key for key in counts if " " not in key))


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
    counts = [each.total() for each in share(named, _counted(layout.pars_there(held), packs))]
    return tuple(
        each if each.quantity == count else _short(each, count)
        for each, count in zip(named, counts, strict=True)
    )


def _short(wanted: Wanted, count: int) -> Wanted:
    """A need of which so many can be brought; of what is needless nothing is short."""
    short = 0 if wanted.grade == NEEDLESS else wanted.quantity - count
    return replace(wanted, quantity=count, short=short)


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


def _packs(wanted: Iterable[Wanted]) -> dict[str, int]:
    """How many one of each thing is that is a pack; a thing is tied once, so it is one number."""
    return {thing: count for each in wanted for thing, count in each.holds.items()}


def _counted(things: Mapping[str, int], packs: Mapping[str, int]) -> Counter[str]:
    """Things as what they are packs of, by the key of the thing."""
    return Counter({thing: count * packs.get(thing, 1) for thing, count in things.items()})


def _all_of(needs: Iterable[str], things: Mapping[str, Sequence[str]]) -> tuple[str, ...]:
    return tuple(thing for need in needs for thing in things.get(need, ()))


def mark_stage(
    layout: Layout, wanted: Sequence[Wanted], kit: Kit, tied: Collection[str]
) -> StageMark:
    """Judge a kit. `tied` are the things that are tied to any need; the others are not judged.

    What is inside a bag brought whole is there, and never needless.
    """
    missing, instead = _allot(wanted, _loose(kit.lines) + _in_bags(layout, kit))
    loose = _loose(_beside_bags(layout, kit))
    asked_for = _asked_for(wanted)
    wrong, others = _apart(wanted, [thing for thing in loose if thing not in asked_for])
    found = StageMark(
        outcome=WRONG,
        marks=0,
        missing=tuple(missing),
        wrong=tuple(wrong),
        needless=tuple(thing for thing in others if thing in tied),
        excess=tuple(_excess(wanted, loose, asked_for)),
        idle_bags=tuple(_idle_bags(layout, asked_for, kit, tied)),
        instead=tuple(instead),
        unjudged=tuple(thing for thing in others if thing not in tied),
    )
    if missing or not (kit.lines or kit.bags):
        return found
    marks = max(FULL_MARKS - _cost(found), 0)
    return replace(found, outcome=_outcome(marks), marks=marks)


def _cost(found: StageMark) -> int:
    needless = len(found.needless) + len(found.excess) + len(found.idle_bags)
    return WRONG_GRAB_COSTS * len(found.wrong) + NEEDLESS_COSTS * needless


def _outcome(marks: int) -> str:
    return {0: WRONG, FULL_MARKS: RIGHT}.get(marks, PARTLY)


def _asked_for(wanted: Iterable[Wanted]) -> frozenset[str]:
    """Every thing that a must-have or something useful speaks of."""
    return frozenset(thing for each in _asked(wanted) for thing in each.serving)


def _excess(
    wanted: Iterable[Wanted], loose: Counter[str], asked_for: Collection[str]
) -> Iterable[str]:
    """Things of which more came than twice what the call takes, what is short aboard included."""
    doubled = [replace(each, quantity=2 * (each.quantity + each.short)) for each in _asked(wanted)]
    packs = _packs(doubled)
    brought = _counted(loose, packs)
    over = brought - sum(share(doubled, brought), Counter[str]())
    # What is over in a pack that was opened is none too many: a pack is brought whole.
    return [thing for thing in over if thing in asked_for and over[thing] >= packs.get(thing, 1)]


def _idle_bags(
    layout: Layout, asked_for: Collection[str], kit: Kit, tied: Collection[str]
) -> Iterable[str]:
    """Bags in which nothing is that was asked for; not judged where nothing in them is tied, nor
    what rolls, as the cot comes to every call, nor what comes in another bag."""
    for code in sorted(kit.bags):
        *holders, bag = layout.chain(code)
        if bag.carried == WHEELED or any(each.code in kit.bags for each in holders):
            continue
        inside = _things_in(layout, code)
        if inside & set(tied) and not inside & set(asked_for):
            yield code


def _things_in(layout: Layout, code: str) -> set[str]:
    return {
        line.key
        for line in layout.stock
        if any(each.code == code for each in layout.chain(line.compartment))
    }


def must_haves(layout: Layout, wanted: Iterable[Wanted]) -> Kit:
    """A kit of exactly the must-haves: of each the things of its own first, then what serves."""
    needed = musts(wanted)
    packs = _packs(needed)
    got = sum(share(needed, _counted(layout.pars_there(()), packs)), Counter[str]())
    left = {thing: ceil(count / packs.get(thing, 1)) for thing, count in got.items()}
    taken: dict[Line, int] = {}
    for line in layout.stock:
        here = min(left.get(line.key, 0), line.par)
        if here:
            taken[line.compartment, line.key] = here
            left[line.key] -= here
    return Kit(taken)


def musts(wanted: Iterable[Wanted]) -> list[Wanted]:
    """The must-haves alone."""
    return [each for each in wanted if each.grade == MUST]


def _asked(wanted: Iterable[Wanted]) -> list[Wanted]:
    return [each for each in wanted if each.grade != NEEDLESS]


def _loose(lines: Mapping[Line, int]) -> Counter[str]:
    found: Counter[str] = Counter()
    for (_, thing), count in lines.items():
        found[thing] += count
    return +found


def _beside_bags(layout: Layout, kit: Kit) -> dict[Line, int]:
    """The lines that come in no bag brought whole."""
    return {
        (code, thing): count
        for (code, thing), count in kit.lines.items()
        if not any(each.code in kit.bags for each in layout.chain(code))
    }


def _in_bags(layout: Layout, kit: Kit) -> Counter[str]:
    """What lies in the bags brought whole; a line taken out of one beside it counts once."""
    found: Counter[str] = Counter()
    for line in layout.stock:
        if any(each.code in kit.bags for each in layout.chain(line.compartment)):
            found[line.key] += line.par - kit.lines.get((line.compartment, line.key), 0)
    return +found


def _allot(
    wanted: Sequence[Wanted], brought: Mapping[str, int]
) -> tuple[list[Missing], list[tuple[str, Wanted]]]:
    """What each must-have lacks of what was brought, and what served instead."""
    needed = musts(wanted)
    got = list(zip(needed, share(needed, _counted(brought, _packs(wanted))), strict=True))
    missing = [Missing(each, has.total()) for each, has in got if has.total() < each.quantity]
    return missing, [(thing, each) for each, has in got for thing in each.instead if has[thing]]


def _apart(
    wanted: Iterable[Wanted], unasked: Iterable[str]
) -> tuple[list[tuple[str, Wanted]], list[str]]:
    """Of what nobody asked for: what was taken by mistake, for which need first, and the rest."""
    mistakes = {thing: each for each in reversed(_asked(wanted)) for thing in each.wrong}
    wrong = [(thing, mistakes[thing]) for thing in unasked if thing in mistakes]
    return wrong, [thing for thing in unasked if thing not in mistakes]
