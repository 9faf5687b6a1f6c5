"""How the items of a revision are packed beside the needs that they are, or may be, tied to."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from drills.engine.packing import Packing, own_packing
from drills.engine.same_medicine import (
    STRENGTH,
    UNSAID,
    VOLUME,
    SameMedicine,
    strengths_apart,
    volumes_apart,
)
from drills.rigs.carried import needs_said
from drills.rigs.models import ItemTerms, Need
from drills.rigs.ties import sized_needs, untied


@dataclass(frozen=True, slots=True)
class NearNeed:
    """A need that is the medicine of an item, packed otherwise, with how both are in words."""

    need: Need
    kind: str
    here: str
    there: str

    @property
    def is_of_another_strength(self) -> bool:
        return self.kind == STRENGTH

    @property
    def is_as_strong(self) -> bool:
        """Whether it is the same strength in another volume, and may be chosen as it is."""
        return self.kind == VOLUME

    @property
    def is_unsaid(self) -> bool:
        """Whether nobody wrote how the item is packed."""
        return self.kind == UNSAID


def near_needs(rows: Iterable[ItemTerms], needs: Collection[Need]) -> dict[int, list[NearNeed]]:
    """Needs that are the medicine of an item in another packing, by the item's row."""
    by_key, known = {need.key: need for need in needs}, SameMedicine(sized_needs(needs))
    return {
        row.item_id: [
            NearNeed(by_key[each.need], each.kind, each.here, each.there)
            for each in known.near(untied(row))
        ]
        for row in rows
    }


def own_of(row: ItemTerms) -> Packing | None:
    """How an item is packed by its own words; None where it says nothing of it."""
    return own_packing(row.presentation, row.name)


def apart(row: ItemTerms, need: Need | None) -> str:
    """Both strengths in words where an item is of another than a need, else empty.

    Such a tie is asked for twice, serves kits and never a dose.
    """
    return strengths_apart(own_of(row), _meant(need))


def in_another_volume(row: ItemTerms, need: Need | None) -> str:
    """Both volumes in words where an item is as strong as a need and of another volume."""
    return volumes_apart(own_of(row), _meant(need))


def _meant(need: Need | None) -> Packing | None:
    return needs_said([need])[0].packing if need else None
