"""Calls as they may drop on a layout: so many drawn of each type, and what each must have there.

A call that drops is one call of its type, with its own patients and its own kit. To draw them takes
seconds, so what was drawn is kept by what it was drawn from: once anything of that changes, it is
drawn anew.
"""

from collections import Counter
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime
from functools import lru_cache
from hashlib import sha256

from drills.engine.calls import MUST, Asked, CallError, CallType, CallWorld
from drills.engine.chance import seeded
from drills.engine.coverage import asked_at_most
from drills.engine.dispatch import make_call
from drills.engine.elsewhere import Elsewhere
from drills.engine.layout import Layout
from drills.engine.readying import DrawnKit, Kits, Must
from drills.engine.readying.musts import limit_of, musts_of
from drills.engine.wanted import Wanted, musts, want
from drills.rigs.models import Revision
from drills.rigs.reading import layout_of
from drills.rigs.ties import Tie, need_ties
from drills.scenarios.kept import need_names
from drills.scenarios.models import CallType as CallTypeRow
from drills.scenarios.reading import call_type_of, call_world

# So many calls of each type are drawn, always by the same seed. Ours, no source: of kits that are
# all found with chances .2 apart the mean is then known to .03.
CALLS_DRAWN = 50
SEED = "readiness of calls/1"
# What calls of one type ask for, must-haves alone, and how many ask for just that.
Drawn = Counter[tuple[Asked, ...]]
Aboard = tuple[DrawnKit, ...]


@dataclass(frozen=True, slots=True)
class Dropping:
    """One call type on a layout: the kits of its drawn calls, as far as they are aboard, and how
    many must-haves that any call of it asks for are not. Calls of which nothing is aboard are not
    among them."""

    call: CallTypeRow
    kits: tuple[DrawnKit, ...]
    lacking: int

    @property
    def calls(self) -> int:
        """How many drawn calls there are."""
        return sum(each.calls for each in self.kits)

    @property
    def fewest(self) -> int:
        """How many must-haves the smallest kit has."""
        return min(len(each.musts) for each in self.kits)

    @property
    def most(self) -> int:
        return max(len(each.musts) for each in self.kits)


@dataclass(frozen=True, slots=True)
class DroppingOn:
    """Each call type in use that finds anything on a layout, by name, and all of their kits; what
    has the same `mark` is the same."""

    types: tuple[Dropping, ...]
    kits: Kits
    mark: str


@dataclass(frozen=True, slots=True)
class _Calls:
    """All that calls are drawn from: two that `said` tells alike are the same."""

    said: str
    types: tuple[CallType, ...] = field(compare=False, repr=False)
    world: CallWorld = field(compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class _Here:
    """A layout with its confirmed ties."""

    layout: Layout = field(compare=False, repr=False)
    revision: tuple[int, datetime]
    own: tuple[Elsewhere, ...]
    ties: tuple[tuple[str, Tie], ...]


def dropping_on(revision: Revision, own: Iterable[Elsewhere] = ()) -> DroppingOn:
    """What may drop on a revision, as a rig with these differences has it; by confirmed ties."""
    names, world, differences = need_names(), call_world(), tuple(sorted(own))
    rows = list(CallTypeRow.objects.filter(retired_on=None).order_by("name"))
    types = tuple(call_type_of(row, names) for row in rows)
    layout = layout_of(revision, differences)
    ties = tuple(
        (key, tie)
        for key, tie in sorted(need_ties(revision).items())
        if tie.is_confirmed and key in layout.things
    )
    here = _Here(layout, (revision.pk, revision.imported_at), differences, ties)
    found, kits, mark = _kept_on(here, _Calls(repr((types, world)), types, world))
    told = tuple(Dropping(row, *found[row.slug]) for row in rows if row.slug in found)
    return DroppingOn(told, kits, mark)


@lru_cache(maxsize=32)
def _kept_on(here: _Here, calls: _Calls) -> tuple[dict[str, tuple[Aboard, int]], Kits, str]:
    """The kits of each call type of which anything is aboard and how many must-haves are not, by
    its slug; all kits together, and their mark."""
    ties = dict(here.ties)
    found = {
        each.slug: (
            _kits(here.layout, ties, asked),
            _lacking(here.layout, ties, asked_at_most(each, calls.world)),
        )
        for each, asked in zip(calls.types, _kept_drawn(calls), strict=True)
    }
    found = {slug: told for slug, told in found.items() if told[0]}
    mark = sha256(repr((SEED, CALLS_DRAWN, here, calls)).encode()).hexdigest()
    return found, Kits(kits for kits, _ in found.values()), mark


@lru_cache(maxsize=4)
def _kept_drawn(calls: _Calls) -> tuple[Drawn, ...]:
    """What the drawn calls of each type ask for."""
    return tuple(_drawn(each, calls.world) for each in calls.types)


def _drawn(call_type: CallType, world: CallWorld) -> Drawn:
    """What calls of a type ask for; of data that make no call none is drawn."""
    found: Drawn = Counter()
    for number in range(CALLS_DRAWN):
        with suppress(CallError):
            call = make_call(call_type, world, seeded(f"{SEED}:{call_type.slug}:{number}"))
            found[tuple(each for each in call.needs if each.grade == MUST)] += 1
    return found


def _kits(layout: Layout, ties: dict[str, Tie], drawn: Drawn) -> Aboard:
    """What is drawn as things of a layout, alike ones as one."""
    found: Counter[tuple[Must, ...]] = Counter()
    for asked, calls in drawn.items():
        found[musts_of(layout, _wanted(layout, ties, asked))] += calls
    return tuple(
        DrawnKit(each, limit_of(len(each)), calls) for each, calls in found.items() if each
    )


def _lacking(layout: Layout, ties: dict[str, Tie], asked: Iterable[Asked]) -> int:
    """How many must-haves of those asked for are not aboard."""
    wanted = _wanted(layout, ties, asked)
    return len(wanted) - len(musts_of(layout, wanted))


def _wanted(layout: Layout, ties: dict[str, Tie], asked: Iterable[Asked]) -> list[Wanted]:
    needs = {key: tie.need for key, tie in ties.items()}
    holds = {key: tie.holds for key, tie in ties.items()}
    return musts(want(layout, needs, asked, (), holds))
