"""Names as they are given, evened out, and names by which one cohort or station is found."""

from typing import Any

from django.db.models import QuerySet

from drills.engine.workbook.cells import UNWANTED, tidy

# A roster has these between several words of one cell.
BETWEEN = ";|"


def plain_name(given: str, *, longest: int) -> str:
    """The name with its spaces evened out; raises `ValueError` for what is no name."""
    name = tidy(given)
    if not name:
        raise ValueError("The name is empty; it takes the name as others read it.")
    if UNWANTED.search(name):
        raise ValueError(f"The name is {name!r}; it takes text without control characters.")
    if len(name) > longest:
        raise ValueError(f"The name has {len(name)} characters; it takes at most {longest}.")
    return name


def name_apart(given: str, slug: str, *, kind: str, there: QuerySet[Any], longest: int) -> str:
    """A name that a roster tells from those of all rows that are there, in capitals or not."""
    name = plain_name(given, longest=longest)
    if any(sign in name for sign in BETWEEN):
        raise ValueError(
            f"The name is {name!r}; it takes one without {' and '.join(BETWEEN)}, which stand "
            "between two names in a roster."
        )
    for key, other in there.values_list("slug", "name"):
        if key.casefold() == slug.casefold():
            raise ValueError(f"There is a {kind} {key!r} already.")
        if other.casefold() == name.casefold():
            raise ValueError(f"There is a {kind} named {other!r} already, {key!r}.")
    return name
