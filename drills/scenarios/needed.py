"""Which things of a revision calls must have."""

from django.db.models.functions import Coalesce

from drills.engine.calls import MUST
from drills.rigs.models import ItemTerms, Revision
from drills.scenarios.models import CallType


def needed_on(revision: Revision) -> frozenset[str]:
    """The keys of things that are a must-have of any call type in use, by confirmed ties; what
    serves instead where nothing that is asked for is aboard. In two queries."""
    need = Coalesce("need__key", "item__decision__need__key")
    tied: dict[str, set[str]] = {}
    for key, item in ItemTerms.objects.filter(revision=revision).values_list(need, "item__key"):
        tied.setdefault(key, set()).add(item)
    found: set[str] = set()
    for rows in CallType.objects.filter(retired_on=None).values_list("needs", flat=True):
        for row in rows:
            if row["grade"] == MUST:
                asked = (tied.get(each, set()) for each in (row["need"], *row["serves_instead"]))
                found |= next(filter(None, asked), set())
    return frozenset(found)
