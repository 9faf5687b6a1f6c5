"""Which names a file of past records may use, of what is in force today."""

from collections.abc import Iterator

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
        yield from _of(slug, revisions[-1])


def _of(slug: str, there: OnRevision) -> Iterator[tuple[str, ...]]:
    layout = there.layout
    needs = {item: need for need, items in there.by_need.items() for item in items}
    for key, thing in sorted(layout.things.items()):
        several = there.places_of(key) if len(thing.places) > 1 else ()
        places = [LOCKED if layout.is_locked(code) else code for code in several]
        yield slug, thing.name, THING, needs.get(key, ""), "; ".join(dict.fromkeys(places))
    for each in layout.compartments:
        if each.is_bag and not layout.is_locked(each.code):
            yield slug, each.code, f"bag: {each.name}", "", ""
