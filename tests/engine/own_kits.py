"""Kits that somebody brought from a rig, some at random, and what was lost on the way to each."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

from drills.engine.calls import MUST, USEFUL
from drills.engine.layout import Layout
from drills.engine.optimum import Rig
from drills.engine.optimum.kit import OwnWay, Quickest, own_way, quickest_kit
from drills.engine.optimum.losses import Loss, losses_of
from drills.engine.staging import Kit
from drills.engine.wanted import Wanted


@dataclass(frozen=True)
class Lost:
    """One's own way, the quickest, and each loss between the two."""

    own: OwnWay
    quick: Quickest
    losses: tuple[Loss, ...]

    @property
    def cs(self) -> int:
        """By how much the own way takes longer."""
        return self.own.cs - self.quick.cs


def lost_on(
    layout: Layout,
    kit: Kit,
    needs: Sequence[Wanted],
    order: Sequence[str],
    held: tuple[tuple[str, str], ...] = (),
) -> Lost:
    """What was lost on a kit; of any kit at all the losses add up to the difference."""
    rig = Rig(layout)
    own, quick = own_way(rig, kit, order, needs), quickest_kit(rig, needs, held=held)
    assert own is not None
    assert quick is not None
    losses = losses_of(rig, own, quick, kit=kit, wanted=needs, held=held)
    found = Lost(own, quick, losses)
    assert sum(each.cs for each in losses) == found.cs
    return found


def kit_at_random(random: Random, layout: Layout) -> tuple[Kit, list[Wanted], list[str]]:
    """A kit of a few lines and perhaps a bag, for needs that it mostly covers, in any order."""
    lines = random.sample([each for each in layout.stock if each.par], random.randint(2, 7))
    kit = Kit(
        {(each.compartment, each.key): random.randint(1, min(each.par, 2)) for each in lines},
        frozenset(
            each.code for each in layout.compartments if each.is_bag and random.random() < 0.2
        ),
    )
    counts = Counter({thing: n for (_, thing), n in kit.lines.items()})
    needs = [
        Wanted(thing, USEFUL if number and random.random() < 0.2 else MUST, n, things=(thing,))
        for number, (thing, n) in enumerate(counts.items())
    ]
    order = [*dict.fromkeys(code for code, _ in kit.lines), *sorted(kit.bags)]
    random.shuffle(order)
    return kit, needs, order
