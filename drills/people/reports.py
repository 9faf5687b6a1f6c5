"""What a person may do, as other rooms ask it."""

from drills.people.models import CertificationLevel, Person


def levels_above(person: Person | None) -> dict[str, str]:
    """The certification levels above a person's own, names by key; none of nobody's.

    A person without a level has every level above them.
    """
    if person is None:
        return {}
    own = person.certification.rank if person.certification else -1
    above = CertificationLevel.objects.filter(rank__gt=own)
    return dict(above.values_list("key", "name"))
