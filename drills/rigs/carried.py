"""What a revision, or one rig, carries of medicines and of what doses are given with."""

from collections.abc import Iterable, Mapping

from drills.engine.carried import Aboard, NeedSaid, TakenFor, aboard
from drills.engine.layout import Layout
from drills.rigs.models import Need, Revision, Rig
from drills.rigs.own import layout_on
from drills.rigs.reading import layout_of
from drills.rigs.ties import Tie, holds_of, need_ties, own_strengths, terms_of


def carried_by(revision: Revision) -> Aboard:
    """What a revision says is aboard. What rests on a suggestion is marked; `confirmed` of the
    answer is without it, for whatever is assessed."""
    return carried_in(layout_of(revision), revision)


def carried_on(rig: Rig) -> Aboard:
    """The same as one rig has it, with what it carries elsewhere or not at all."""
    return carried_in(layout_on(rig), rig.revision)


def carried_in(layout: Layout, revision: Revision) -> Aboard:
    """The same of a layout that was read already, such as the one that a drill was made from."""
    return aboard(layout, taken_in(revision), needs_said(Need.objects.all()))


def taken_in(revision: Revision) -> dict[str, TakenFor]:
    """What each item of a revision is taken for, by the item's key."""
    return _taken(need_ties(revision)) | _own(revision)


def _own(revision: Revision) -> dict[str, TakenFor]:
    """The items that are a medicine in a strength of their own."""
    rows = terms_of(revision)
    holds = {row.item.key: holds_of(row, "") for row in rows}
    return {
        item: TakenFor("", medicine, True, holds[item])
        for item, medicine in own_strengths(rows).items()
    }


def _taken(ties: Mapping[str, Tie]) -> dict[str, TakenFor]:
    return {item: TakenFor(tie.need, "", tie.is_confirmed, tie.holds) for item, tie in ties.items()}


def needs_said(needs: Iterable[Need]) -> list[NeedSaid]:
    """Needs in the engine's terms."""
    return [
        NeedSaid(need.key, need.name_us, need.size, need.medicine, need.name_intl) for need in needs
    ]
