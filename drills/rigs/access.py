"""Which revision a person may open."""

from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.http import Http404

from drills.people.access import closed_while_assessed, require_role
from drills.people.models import Person, Role
from drills.rigs.models import (
    Absence,
    Layout,
    Place,
    PlaceLabel,
    PlacePhoto,
    Revision,
    RevisionState,
    Rig,
)

KEEPERS = (Role.KEEPER, Role.ADMIN)
# Who is led to what lists require; whoever may open a layout may read it there as well.
JUDGES = (*KEEPERS, Role.EDUCATOR, Role.DIRECTOR)


def require_keeper(person: Person) -> Person:
    """The person, if layouts are theirs to keep and no assessed prompt of theirs is open."""
    require_role(person, *KEEPERS)
    closed_while_assessed(person)
    return person


def revision_to_ride(person: Person, slug: str) -> Revision:
    """What the person rides today, if it is of this layout, else the revision in force; closed
    while an assessed prompt is open. A rig that is not refitted yet rides an older one."""
    closed_while_assessed(person)
    today = person.rig_picks.select_related("rig__revision__layout").first()
    if today is not None and today.rig.revision.layout.slug == slug:
        return today.rig.revision
    found = _revisions(slug).filter(state=RevisionState.PUBLISHED).first()
    if found is None:
        raise Http404("There is no published layout of that name.")
    return found


def readable_revision(person: Person, slug: str, number: int) -> Revision:
    """One revision by its number; drafts are for keepers alone."""
    closed_while_assessed(person)
    found = _revisions(slug).filter(number=number).first()
    if found is None:
        raise Http404("There is no such revision of that layout.")
    if found.state == RevisionState.DRAFT and not person.holds(*KEEPERS):
        raise PermissionDenied("This revision is a draft, which its keeper has not published.")
    return found


def kept_revision(person: Person, slug: str, number: int) -> Revision:
    """One revision by its number, for its keeper."""
    require_keeper(person)
    return readable_revision(person, slug, number)


def kept_layout(person: Person, slug: str) -> Layout:
    """A layout, for its keeper."""
    require_keeper(person)
    found = Layout.objects.filter(slug=slug).first()
    if found is None:
        raise Http404("There is no layout of that name.")
    return found


def kept_rig(person: Person, unit: str) -> Rig:
    """A rig by its unit number, for the keeper."""
    require_keeper(person)
    found = Rig.objects.select_related("revision__layout", "layout").filter(unit=unit).first()
    if found is None:
        raise Http404("There is no rig of that number.")
    return found


def kept_report(person: Person, number: int) -> Absence:
    """A report of what is not where the layout says, answered or not, for the keeper."""
    require_keeper(person)
    rows = Absence.objects.select_related("rig__revision__layout", "revision__layout")
    found = rows.select_related("item", "place", "answered_by").filter(pk=number).first()
    if found is None:
        raise Http404("There is no such report.")
    return found


def kept_place(person: Person, number: int) -> Place:
    """A place, for its keeper."""
    require_keeper(person)
    found = Place.objects.select_related("layout").filter(pk=number).first()
    if found is None:
        raise Http404("There is no such place.")
    return found


def photo_to_see(person: Person, token: str) -> PlacePhoto:
    """A photo, closed while an assessed prompt is open; of a draft's place for keepers alone."""
    closed_while_assessed(person)
    found = PlacePhoto.objects.select_related("place").filter(token=token).first()
    if found is not None and not person.holds(*KEEPERS):
        in_force = found.place.compartments.exclude(revision__state=RevisionState.DRAFT)
        found = found if in_force.exists() else None
    if found is None:
        raise Http404("There is no such photo.")
    return found


def scanned_label(person: Person, token: str) -> PlaceLabel:
    """The label of a token; one that ended is as one that never was."""
    closed_while_assessed(person)
    rows = PlaceLabel.objects.open().select_related("place", "rig__revision__layout")
    found = rows.filter(token=token).first()
    if found is None:
        raise Http404("There is no such label.")
    return found


def _revisions(slug: str) -> QuerySet[Revision]:
    return Revision.objects.select_related("layout").filter(layout__slug=slug)
