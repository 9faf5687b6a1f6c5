"""What is built into a rig and stays there, and what is too heavy for one person."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from drills.engine.layout import Layout
from drills.engine.tables.kinds import Sourced
from drills.engine.tables.reading import read_file

# Up to so much one person carries. The revised NIOSH lifting equation begins at 23 kg, under the
# best conditions (from memory); that two carry what is heavier is ours.
MOST_OF_ONE_KG = Decimal(23)


@dataclass(frozen=True, slots=True, kw_only=True)
class BuiltIn(Sourced):
    """A need that is part of the rig, and why."""

    need: str
    why: str


BUILT_IN = {row.need: row for row in read_file(Path(__file__).parent / "built_in.csv", BuiltIn)}


def carried_ties(ties: Mapping[str, str]) -> dict[str, str]:
    """Needs by thing key, without those that are built in: they serve nothing that is brought."""
    return {thing: need for thing, need in ties.items() if need not in BUILT_IN}


def staying(layout: Layout, ties: Mapping[str, str]) -> dict[str, str]:
    """Why each thing that is built in is, by its key; it is tied to such a need by `ties`, which
    are needs by thing key, or by the layout itself."""
    needs = {line.key: line.need for line in layout.stock if line.need} | dict(ties)
    return {thing: BUILT_IN[need].why for thing, need in needs.items() if need in BUILT_IN}


def too_heavy(layout: Layout) -> dict[str, Decimal]:
    """The things that are too heavy for one person, by key, with what one of them weighs in kg."""
    weights: dict[str, Decimal] = {}
    for line in layout.stock:
        weights[line.key] = max(line.weight_kg or Decimal(0), weights.get(line.key, Decimal(0)))
    return {key: kg for key, kg in weights.items() if kg > MOST_OF_ONE_KG}
