"""Questions about rigs, who rides them, and what is reported on them."""

from django.db.models import QuerySet

from drills.people.models import Person
from drills.rigs.models import Absence, Rig, RigPick
from drills.rigs.reading import layout_of

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


def reported_path(report: Absence) -> str:
    """Where the layout says it is, in the revision that was reported on.

    Of a thing with several places it is not known where the crew looked, so all are named.
    """
    layout = layout_of(report.revision)
    if report.place:
        paths = {each.key: layout.path(each.code) for each in layout.compartments}
        return paths.get(report.place.key, report.place.key)
    thing = layout.things.get(report.item.key) if report.item else None
    places = thing.places if thing else ()
    return f"Any of its {len(places)} places: {'; '.join(map(layout.path, places))}"


def _picks(person: Person) -> QuerySet[RigPick]:
    return RigPick.objects.filter(person=person).select_related(
        "rig__revision__layout", "rig__layout", "revision__layout"
    )
