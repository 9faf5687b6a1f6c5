"""Who may read and who may decide on which revision."""

from django.http import Http404

from drills.formulary.models import FormularyRevision, SignedDocument
from drills.people.access import closed_while_assessed, require_role
from drills.people.models import Person, Role

# Who sees what is not in force: an educator makes drafts, a director approves them.
READERS = (Role.EDUCATOR, Role.DIRECTOR, Role.ADMIN)
IMPORTERS = (Role.EDUCATOR, Role.DIRECTOR)
# Medical direction decides how doses are worked out; an educator or administrator may write it in.
SETTERS = READERS


def require_reader(person: Person) -> None:
    """Let on who may see every revision, while no assessed prompt of theirs is open."""
    require_role(person, *READERS)
    closed_while_assessed(person)


def require_importer(person: Person) -> None:
    """Let on who may bring a workbook in."""
    require_role(person, *IMPORTERS)
    closed_while_assessed(person)


def require_setter(person: Person) -> None:
    """Let on who may set how doses are worked out."""
    require_role(person, *SETTERS)
    closed_while_assessed(person)


def revision_for_reader(person: Person, number: int) -> FormularyRevision:
    """One revision by its number, for who may see every revision."""
    require_reader(person)
    return _revision(number)


def readable_revision(
    person: Person, number: int, *, in_force: FormularyRevision | None
) -> FormularyRevision:
    """One revision by its number: what is in force for everybody, every other for readers."""
    closed_while_assessed(person)
    if in_force and in_force.number == number:
        return in_force
    require_reader(person)
    return _revision(number)


def revision_of_role(person: Person, number: int, role: Role) -> FormularyRevision:
    """One revision by its number, for one role alone."""
    require_role(person, role)
    closed_while_assessed(person)
    return _revision(number)


def signed_paper(person: Person, number: int) -> SignedDocument:
    """The paper that a revision was approved by, for who may see every revision."""
    require_reader(person)
    found = SignedDocument.objects.filter(revision=_revision(number)).first()
    if found is None:
        raise Http404("No signed document was recorded with this revision.")
    return found


def _revision(number: int) -> FormularyRevision:
    found = FormularyRevision.objects.filter(number=number).first()
    if found is None:
        raise Http404("There is no such revision of the formulary.")
    return found
