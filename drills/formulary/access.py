"""Who may approve which revision."""

from django.http import Http404

from drills.formulary.models import FormularyRevision
from drills.people.access import closed_while_assessed, require_role
from drills.people.models import Person, Role


def revision_to_approve(person: Person, number: int) -> FormularyRevision:
    """One revision by its number, for a medical director."""
    require_role(person, Role.DIRECTOR)
    closed_while_assessed(person)
    found = FormularyRevision.objects.filter(number=number).first()
    if found is None:
        raise Http404("There is no such revision of the formulary.")
    return found
