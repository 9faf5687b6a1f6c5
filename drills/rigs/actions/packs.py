"""How many of what an item is tied to one counted unit of it is."""

from datetime import datetime

from django.db import transaction

from drills.people.audit import record
from drills.people.models import Person
from drills.rigs.models import Item, PackFactor


@transaction.atomic
def count_pack(item: Item, *, need: str, unit: str, holds: int, by: Person, now: datetime) -> bool:
    """Keep that one `unit` of an item is `holds` of a need, by its key; whether it is new.

    An empty key is a medicine in a strength of its own. It holds on every layout, and at the next
    import, as long as the item is tied and counted so.
    """
    Item.objects.select_for_update().get(pk=item.pk)
    factors = PackFactor.objects.filter(item=item, need=need, unit=unit.casefold())
    last = factors.first()
    before = last.holds if last else 1
    if before == holds:
        return False
    factors.update_or_create(
        item=item,
        need=need,
        unit=unit.casefold(),
        defaults={"holds": holds, "decided_by": by, "decided_at": now},
    )
    told = {"need": need, "unit": unit}
    record(
        "count pack",
        item.name[:160],
        by=by,
        now=now,
        before=told | {"holds": before},
        after=told | {"holds": holds},
    )
    return True
