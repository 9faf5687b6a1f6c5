"""Which need each item of a revision is: tied by rule or by its keeper, or merely suggested."""

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass

from django.db.models.functions import Coalesce

from drills.engine.suggestions import SAME_CATEGORY, SURE_FROM, SizedNeed, Suggester, Untied
from drills.engine.ties import NeedIndex, NeedWords
from drills.people.prepared import Prepared
from drills.rigs.models import ItemTerms, Layout, Need, Revision, RevisionState, TieDecision

BY_KEEPER, BY_FORMER_WORDS, SUGGESTED = "by its keeper", "by rule when it came in", "suggested"
SUGGESTIONS_SHOWN = 3
_NEEDS = Prepared(
    lambda revision, items: (
        ItemTerms.objects.filter(revision=revision, item__pk__in=items)
        .order_by()
        .values_list("item", Coalesce("need", "item__decision__need"))
    )
)


@dataclass(frozen=True, slots=True)
class Tie:
    """The need of an item by its key. One that is not confirmed is a suggestion.

    Suggestions serve previews and practice, and are marked; nothing assessed may rest on one.
    `holds` is how many of the need one counted unit of the item is.
    """

    need: str
    is_confirmed: bool
    rule: str = ""
    holds: int = 1


@dataclass(frozen=True, slots=True)
class Suggested:
    """A need an item may be, how alike in percent, and the item of the layout that it is now.

    `guards` say what was compared beside the words.
    """

    need: Need
    alike: int
    taken_by: str
    guards: tuple[str, ...] = ()
    is_size_unsaid: bool = False


def need_ties(revision: Revision) -> dict[str, Tie]:
    """The tie of each item of a revision by the item's key; what has none is left out.

    An item that waits has its likest need, unless another item is tied to it or likelier to be it.
    """
    needs = worded_needs()
    rows = list(terms_of(revision))
    ties = confirmed_ties(rows, needs)
    taken = {tie.need for tie in ties.values()}
    suggester = suggester_of(needs)
    likest = sorted(
        (-found[0].similarity, row.item.key, found[0].need)
        for row in rows
        if row.item.key not in ties
        and decision_on(row) is None
        and (found := suggester.suggest(untied(row)))
    )
    by_item = {row.item.key: row for row in rows}
    for _, key, need in likest:
        if need not in taken:
            taken.add(need)
            ties[key] = Tie(need, False, SUGGESTED, holds_of(by_item[key], need))
    return ties


def confirmed_ties(rows: Iterable[ItemTerms], needs: Iterable[Need]) -> dict[str, Tie]:
    """Ties by rule, and by a keeper where no rule ties, by item key."""
    index = index_of(needs)
    ties = {}
    for row in rows:
        decided = decision_on(row)
        need = row.need or (decided.need if decided else None)
        if need:
            rule = _rule(row, need, index) if row.need else BY_KEEPER
            ties[row.item.key] = Tie(need.key, True, rule, holds_of(row, need.key))
    return ties


def holds_of(row: ItemTerms, need: str) -> int:
    """How many of a need, by its key, one counted unit of an item is, as a keeper said of that
    unit; one where nobody has. An empty key asks of a medicine in its own strength."""
    factors = row.item.pack_factors.all()  # fetched with the terms
    unit = row.unit.casefold()
    return next((each.holds for each in factors if (each.need, each.unit) == (need, unit)), 1)


def own_strengths(rows: Iterable[ItemTerms]) -> dict[str, str]:
    """The key of the medicine that each item is in a strength of its own, by the item's key, as
    its keeper decided where no rule ties it."""
    return {
        row.item.key: decided.medicine
        for row in rows
        if row.need_id is None and (decided := decision_on(row)) and decided.medicine
    }


def needs_of_items(revision: Revision, items: Collection[int]) -> dict[int | None, int | None]:
    """The row of the need that each item is confirmed to be, by the item's row."""
    return dict(_NEEDS(revision=revision.pk, items=list(items)))


def open_revisions(layout: Layout) -> list[Revision]:
    """What is to come and what is in force, in this order, as far as there is either."""
    return list(layout.revisions.exclude(state=RevisionState.RETIRED).order_by("-number"))


def terms_of(*revisions: Revision) -> list[ItemTerms]:
    """What the items of some revisions are called, an item of several as the first calls it."""
    found = ItemTerms.objects.filter(revision__in=revisions)
    rows = found.select_related(
        "item__decision__need", "item__decision__decided_by", "need"
    ).prefetch_related("item__pack_factors")
    order = {revision.pk: place for place, revision in enumerate(revisions)}
    first: dict[int, ItemTerms] = {}
    for row in sorted(rows, key=lambda row: order[row.revision_id]):
        first.setdefault(row.item_id, row)
    return sorted(first.values(), key=lambda row: row.item.key)


def suggested(
    rows: Iterable[ItemTerms], needs: Collection[Need], ties: dict[str, Tie]
) -> dict[int, list[Suggested]]:
    """The first suggestions for each item by its row, beside what is tied already."""
    by_key = {need.key: need for need in needs}
    holders = {tie.need: item for item, tie in ties.items()}
    suggester = suggester_of(needs)
    return {
        row.item_id: [
            Suggested(
                by_key[each.need],
                round(each.similarity * 100),
                holders.get(each.need, ""),
                each.guards,
                each.is_size_unsaid,
            )
            for each in suggester.suggest(untied(row))[:SUGGESTIONS_SHOWN]
        ]
        for row in rows
    }


def likest_of(rows: Iterable[ItemTerms], needs: Collection[Need]) -> dict[str, Need]:
    """The need that each item is likest to be, by the item's key, of those that are like any."""
    by_key, suggester = {need.key: need for need in needs}, suggester_of(needs)
    found = {row.item.key: suggester.suggest(untied(row)) for row in rows}
    return {item: by_key[some[0].need] for item, some in found.items() if some}


def tied_twice(ties: dict[str, Tie]) -> dict[str, list[str]]:
    """Item keys by the need that more than one of them is tied to."""
    found: dict[str, list[str]] = defaultdict(list)
    for item, tie in ties.items():
        found[tie.need].append(item)
    return {need: items for need, items in found.items() if len(items) > 1}


def sure_ones(found: dict[int, list[Suggested]]) -> dict[int, Suggested]:
    """By item, the suggestions that may be confirmed together: alike to `SURE_FROM` at least and of
    the same category, more than any other for that item, tied to no item yet, and the likest of
    one item alone. Never one of a patient's size that the item does not say."""
    firsts = {item: some[0] for item, some in found.items() if some and _stands_out(some)}
    wanted = Counter(each.need.key for each in firsts.values())
    return {item: each for item, each in firsts.items() if wanted[each.need.key] == 1}


def _stands_out(some: list[Suggested]) -> bool:
    first = some[0]
    is_likest = all(each.alike < first.alike for each in some[1:])
    is_alike = first.alike >= SURE_FROM * 100 and SAME_CATEGORY in first.guards
    is_free = not first.taken_by and not first.is_size_unsaid
    return is_likest and is_alike and is_free


def not_tied(ties: dict[str, Tie], needs: Iterable[Need]) -> list[tuple[str, list[Need], int]]:
    """Needs that no item is tied to, by category, each with how many the category has."""
    tied = {tie.need for tie in ties.values()}
    by_category: dict[str, list[Need]] = defaultdict(list)
    for need in needs:
        by_category[need.category].append(need)
    return [
        (category, untied, len(by_category[category]))
        for category in sorted(by_category)
        if (untied := [need for need in by_category[category] if need.key not in tied])
    ]


def worded_needs() -> list[Need]:
    """Every need with all of its words, by name."""
    return list(Need.objects.select_related("further").order_by("name_us", "key"))


def index_of(needs: Iterable[Need]) -> NeedIndex:
    """The rules by which items tie to some needs."""
    return NeedIndex(map(_words, needs))


def suggester_of(needs: Iterable[Need]) -> Suggester:
    return Suggester(sized_needs(needs))


def sized_needs(needs: Iterable[Need]) -> list[SizedNeed]:
    """Needs in the engine's terms, with what keeps one from being taken for another."""
    return [SizedNeed(_words(need), need.category, need.size) for need in needs]


def decision_on(row: ItemTerms) -> TieDecision | None:
    """What a keeper decided of an item, if anything."""
    return getattr(row.item, "decision", None)


def _words(need: Need) -> NeedWords:
    packed = need.size if need.medicine and need.size[:1].isdigit() else ""
    return NeedWords(
        need.key, (need.name_us, need.name_intl), need.every_alias, packed, need.medicine
    )


def untied(row: ItemTerms) -> Untied:
    """An item in the engine's terms, whether anything ties it or not."""
    return Untied(row.name, tuple(row.aliases), row.category, row.presentation)


def _rule(row: ItemTerms, need: Need, index: NeedIndex) -> str:
    """The rule that ties an item; where the needs have other words by now, none of them."""
    ruled = index.ruled(
        given=row.need_given, name=row.name, aliases=row.aliases, presentation=row.presentation
    )
    return ruled.rule if ruled.need == need.key else BY_FORMER_WORDS
