"""Tables of the room. Within it `layouts` may use `needs`; `fleet`, `ties` and
`drafts` use both, `labels` `fleet` and `layouts`; `required` and
`motions` stand alone."""

from drills.rigs.models.drafts import DraftStep
from drills.rigs.models.fleet import (
    Absence,
    Answer,
    Posting,
    Reporting,
    Rig,
    RigDifference,
    RigPick,
    Station,
)
from drills.rigs.models.labels import PlaceLabel, ScanTally
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
from drills.rigs.models.motions import MotionTable
from drills.rigs.models.needs import OWN_PREFIX, FurtherAliases, Need
from drills.rigs.models.photos import PlacePhoto
from drills.rigs.models.reference import ReferenceRow
from drills.rigs.models.required import RequiredList, RequiredRow
from drills.rigs.models.ties import MOST_IN_A_PACK, PackFactor, TieDecision

__all__ = [
    "MOST_IN_A_PACK",
    "OWN_PREFIX",
    "Absence",
    "Answer",
    "Compartment",
    "DraftStep",
    "FurtherAliases",
    "Item",
    "ItemTerms",
    "Layout",
    "MotionTable",
    "Need",
    "PackFactor",
    "Place",
    "PlaceLabel",
    "PlacePhoto",
    "Point",
    "Posting",
    "ReferenceRow",
    "Reporting",
    "RequiredList",
    "RequiredRow",
    "Revision",
    "RevisionState",
    "Rig",
    "RigDifference",
    "RigPick",
    "ScanTally",
    "Station",
    "StockLine",
    "TieDecision",
]
