"""Who may open what. The check is the loader: it gives the object, or ends the request."""

from datetime import datetime

from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
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


def may_give_code(giver: Person, person: Person) -> bool:
    """Whether one may give a person a code to sign in with, which takes their old password away.

    An FTO may for their own people, and only while those are crew and nothing else: by a code one
    could become another, and with it what that one may do. One's own password needs no code.
    """
    if not person.is_active or giver.pk == person.pk:
        return False
    if giver.holds(Role.ADMIN):
        return True
    return person.roles <= {Role.CREW} and is_paired(giver, person)


def is_paired(fto: Person, crew: Person) -> bool:
    """Whether a field training officer is paired with a crew member now."""
    running = Pairing.objects.running(timezone.now())
    return fto.holds(Role.FTO) and running.filter(fto=fto, crew=crew).exists()


def paired_with(fto: Person, *, now: datetime) -> QuerySet[Person]:
    """The crew who are paired with a person now."""
    pairings = Pairing.objects.running(now).filter(fto=fto)
    return Person.objects.filter(pk__in=pairings.values("crew"))


def may_see(viewer: Person, person: Person) -> bool:
    """Whether the viewer may see the person's records: own, paired with, or as an educator all.

    An administrator keeps the site running, which takes nobody's records.
    """
    if viewer.pk == person.pk or viewer.holds(Role.EDUCATOR):
        return True
    return is_paired(viewer, person)
