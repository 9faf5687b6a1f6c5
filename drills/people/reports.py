"""What a person may do, as other rooms ask it."""

from drills.people.models import CertificationLevel, Person


def level_above(person: Person | None, level: str) -> str:
    """The name of a certification level when it is above a person's own, else nothing.

    A person without a level has every level above them, and a level that nobody keeps is above
    everybody: what is not known is never allowed. Nobody, since erased, has none above.
    """
    if person is None or not level:
        return ""
    wanted = CertificationLevel.objects.filter(key=level).first()
    if wanted is None:
        return level
    own = person.certification.rank if person.certification else -1
    return wanted.name if wanted.rank > own else ""
