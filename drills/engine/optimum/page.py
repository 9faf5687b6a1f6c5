"""The motions as the manual prints them: from the rows themselves, never retyped."""

from collections.abc import Callable, Mapping

from drills.engine.optimum.motions import MOTIONS, PUBLISHED, Study
from drills.engine.quantities import plain
from drills.engine.staying import BUILT_IN
from drills.engine.tables.page import as_markdown

_WALKS = {"outside", "inside"}


def _motions() -> str:
    """Every motion with its seconds, and whose figure that is."""
    rows = [
        (each.what, f"{plain(each.seconds)}{' m/s' if each.key in _WALKS else ' s'}", each.status)
        for each in MOTIONS
    ]
    return as_markdown(("motion", "takes", "whose"), rows)


def _published() -> str:
    """What others measured, and the same by our own motions."""
    rows = [
        (each.what, each.found, _ours(each), f"{each.source} *({each.status})*: {each.note}")
        for each in PUBLISHED
    ]
    return as_markdown(("what", "they found", "ours", "source"), rows)


def _built_in() -> str:
    """The needs that are part of the rig, why, and what goes to the patient instead."""
    rows = [(each.need, each.why, each.note, each.source) for each in BUILT_IN.values()]
    return as_markdown(("need", "it stays, as", "instead", "source"), rows)


def _ours(study: Study) -> str:
    return f"{study.ours_cs / 100:.1f} s" if study.ours_cs else "–"


# What stands in double brackets in a chapter, and what is put there.
PRINTED: Mapping[str, Callable[[], str]] = {
    "motions": _motions,
    "published times": _published,
    "built in": _built_in,
}
