"""Who may read call types, and who may change them."""

from django.http import Http404

from drills.people.access import closed_while_assessed, require_role
from drills.people.models import Person, Role
from drills.scenarios.models import CallType, Problem

# What a call needs is the answer of its drill, so that no crew member reads it here.
READERS = (Role.EDUCATOR, Role.FTO, Role.KEEPER, Role.DIRECTOR, Role.ADMIN)
EDITORS = (Role.EDUCATOR, Role.ADMIN)
SETTERS = (Role.EDUCATOR, Role.DIRECTOR, Role.ADMIN)


def require_reader(person: Person) -> None:
    """Let on who may read call types, while no assessed prompt of theirs is open."""
    require_role(person, *READERS)
    closed_while_assessed(person)


def require_editor(person: Person) -> None:
    """Let on who may change call types."""
    require_role(person, *EDITORS)
    closed_while_assessed(person)


def require_setter(person: Person) -> None:
    """Let on who may set how patients are sorted."""
    require_role(person, *SETTERS)
    closed_while_assessed(person)


def call_for_reader(person: Person, slug: str) -> CallType:
    """One call type, for who may read it."""
    require_reader(person)
    return _call(slug)


def call_for_editor(person: Person, slug: str) -> CallType:
    """One call type, for who may change it."""
    require_editor(person)
    return _call(slug)


def problem_for_reader(person: Person, slug: str) -> Problem:
    """One problem, for who may read it."""
    require_reader(person)
    return _problem(slug)


def problem_for_editor(person: Person, slug: str) -> Problem:
    """One problem, for who may change it."""
    require_editor(person)
    return _problem(slug)


def _problem(slug: str) -> Problem:
    found = Problem.objects.filter(slug=slug).first()
    if found is None:
        raise Http404("There is no such problem.")
    return found


def _call(slug: str) -> CallType:
    found = CallType.objects.filter(slug=slug).first()
    if found is None:
        raise Http404("There is no such call type.")
    return found
