"""The rows of a phase as its page posts them: words, category and layout, by place in the list."""

from collections.abc import Iterator
from itertools import count

from django.http import QueryDict

from drills.engine.layout import CATEGORIES
from drills.rigs.models import Layout
from drills.runs.actions.phases import Item, PhaseError
from drills.runs.models import Phase

BLANK_ROWS = 3
MOST_ROWS = 60


def read_items(data: QueryDict) -> list[Item]:
    """The rows that have words; one that was emptied goes. Raises `PhaseError`."""
    return [_read(row) for row in _posted(data) if row["words"].strip()]


def typed_rows(phase: Phase, data: QueryDict | None) -> list[dict[str, str]]:
    """The rows as the page shows them: as they were typed, else as they are kept; then blank ones
    to write in."""
    if data is not None:
        return list(_posted(data))
    kept = [
        {
            "number": str(row.pk),
            "words": row.words,
            "category": row.category,
            "layout": row.layout.slug if row.layout else "",
        }
        for row in phase.items.select_related("layout")
    ]
    return kept + [dict.fromkeys(("number", "words", "category", "layout"), "")] * BLANK_ROWS


def _posted(data: QueryDict) -> Iterator[dict[str, str]]:
    for at in count():
        if f"words-{at}" not in data or at >= MOST_ROWS:
            return
        names = ("number", "words", "category", "layout")
        yield {name: data.get(f"{name}-{at}", "") for name in names}


def _read(row: dict[str, str]) -> Item:
    words, category = " ".join(row["words"].split()), row["category"]
    if category and category not in CATEGORIES:
        raise PhaseError(
            f"{words[:40]}: {category[:40]!r} came in. One of {', '.join(CATEGORIES)} is accepted."
        )
    number = row["number"]
    is_kept = number.isascii() and number.isdecimal() and len(number) < 10
    return Item(int(number) if is_kept else None, words, category, _layout_of(row["layout"], words))


def _layout_of(slug: str, words: str) -> Layout | None:
    if not slug:
        return None
    found = Layout.objects.filter(slug=slug).first()
    if found is None:
        raise PhaseError(f"{words[:40]}: there is no layout {slug[:40]!r}. Choose one of the list.")
    return found
