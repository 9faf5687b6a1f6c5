"""Tables of the room. Within it `layouts` may use `needs`; `fleet`, `ties` and
`drafts` use both."""

from drills.rigs.models.drafts import DraftStep
from drills.rigs.models.fleet import Absence, Posting, Rig, RigPick, Station
from drills.rigs.models.layouts import (
    Compartment,
    Item,
    ItemTerms,
    Layout,
    Place,
    Point,
    Revision,
    RevisionState,
    StockLine,
)
from drills.rigs.models.needs import Need
from drills.rigs.models.ties import TieDecision

__all__ = [
    "Absence",
    "Compartment",
    "DraftStep",
    "Item",
    "ItemTerms",
    "Layout",
    "Need",
    "Place",
    "Point",
    "Posting",
    "Revision",
    "RevisionState",
    "Rig",
    "RigPick",
    "Station",
    "StockLine",
    "TieDecision",
]
