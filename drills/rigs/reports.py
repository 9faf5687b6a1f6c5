"""Questions about rigs and who rides them."""

from django.db.models import QuerySet

from drills.people.models import Person
from drills.rigs.models import Rig, RigPick

_LOOK_BACK = 50


def todays_rig(person: Person) -> Rig | None:
    """The rig the person picked last, if any."""
    pick = _picks(person).first()
    return pick.rig if pick else None


def rode_before(person: Person) -> RigPick | None:
    """The newest pick that was of another rig than today's, or of an older revision of it."""
    picks = list(_picks(person)[:_LOOK_BACK])
    if not picks:
        return None
    now = (picks[0].rig_id, picks[0].rig.revision_id)
    return next((each for each in picks if (each.rig_id, each.revision_id) != now), None)


def _picks(person: Person) -> QuerySet[RigPick]:
    return RigPick.objects.filter(person=person).select_related(
        "rig__revision__layout", "rig__layout", "revision__layout"
    )
