"""Which names a file of past records may use, of what is in force today."""

from collections.abc import Iterable, Iterator

from drills.competency.past.here import OnRevision, here_now
from drills.rigs.models import Layout

HEADER = ("layout", "item", "what it is", "need, accepted as well", "place, of several")
THING, LOCKED = "thing", "behind a lock, not told"


def layouts() -> list[tuple[str, str]]:
    """The slug and the name of each layout that is in force, by slug."""
    here = here_now()
    names = dict(Layout.objects.values_list("slug", "name"))
    return [(slug, names[slug]) for slug in sorted(here.revisions)]


def rows() -> Iterator[tuple[str, ...]]:
    """A row for each thing and each bag of each of those, under the name that is its own."""
    for slug, revisions in sorted(here_now().revisions.items()):
        there = revisions[-1]
        needs = {item: need for need, items in there.by_need.items() for item in items}
        for key, thing in sorted(there.layout.things.items()):
            yield slug, thing.name, THING, needs.get(key, ""), "; ".join(_places(there, key))
        for code, name in _bags(there):
            yield slug, code, f"bag: {name}", "", ""


def _places(there: OnRevision, key: str) -> Iterable[str]:
    """The codes of a thing that lies in several places."""
    layout, codes = there.layout, there.places_of(key)
    told = (LOCKED if layout.is_locked(code) else code for code in codes)
    return dict.fromkeys(told) if len(codes) > 1 else ()


def _bags(there: OnRevision) -> Iterator[tuple[str, str]]:
    """Each bag that is behind no lock, by code."""
    for each in there.layout.compartments:
        if each.is_bag and not there.layout.is_locked(each.code):
            yield each.code, each.name
