"""Who may open what. The check is the loader: it gives the object, or ends the request."""

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest
from django.utils import timezone
from django_htmx.middleware import HtmxDetails

from drills.people.models import Pairing, Person, Role

CLOSED = "This page is closed while an assessed prompt is open."


class Request(HttpRequest):
    """A request of somebody who is signed in."""

    user: Person
    htmx: HtmxDetails


class ClosedWhileAssessedError(PermissionDenied):
    """Raised when a page could tell the answer of an assessed prompt that is open."""

    def __init__(self) -> None:
        super().__init__(CLOSED)


def require_role(person: Person, *roles: str) -> Person:
    """The person, if they hold one of the roles."""
    if not person.holds(*roles):
        names = " or ".join(Role(role).label for role in roles)
        raise PermissionDenied(f"This page is for the {names}.")
    return person


def closed_while_assessed(person: Person) -> None:
    """End the request while the person has an assessed prompt open."""
    if person.has_assessed_prompt:
        raise ClosedWhileAssessedError


def visible_person(viewer: Person, employee_number: str) -> Person:
    """The person of that number, if the viewer may see their records; else there is none."""
    if viewer.employee_number == employee_number:
        return viewer
    person = Person.objects.filter(employee_number=employee_number).first()
    if person is None or not may_see(viewer, person):
        raise Http404("There is no such person among those you may see.")
    return person


def may_see(viewer: Person, person: Person) -> bool:
    """Whether the viewer may see the person's records: own, paired with, or as an educator all.

    An administrator keeps the site running, which takes nobody's records.
    """
    if viewer.pk == person.pk or viewer.holds(Role.EDUCATOR):
        return True
    return viewer.holds(Role.FTO) and (
        Pairing.objects.running(timezone.now()).filter(fto=viewer, crew=person).exists()
    )
