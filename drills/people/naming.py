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
    """A name that a roster tells from those of all rows that are there, as the slug.

    However they are capitalised: a roster finds a row by either, in any case.
    """
    name = plain_name(given, longest=longest)
    if any(sign in name for sign in BETWEEN):
        raise ValueError(
            f"The name is {name!r}; it takes one without {' and '.join(BETWEEN)}, which stand "
            "between two names in a roster."
        )
    for key, other in there.values_list("slug", "name"):
        if key == slug:
            raise ValueError(f"There is a {kind} {slug!r} already.")
        shared = {slug.casefold(), name.casefold()} & {key.casefold(), other.casefold()}
        if shared:
            raise ValueError(
                f"There is a {kind} {key!r} named {other!r} already; it takes a slug and a name "
                "that no other has, in capitals or not."
            )
    return name
