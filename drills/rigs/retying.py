"""What words of needs change on drafts: shown before they are stored, then stored with them."""

from collections.abc import Collection
from dataclasses import dataclass
from hashlib import sha256

from drills.engine.ties import plain
from drills.rigs.models import ItemTerms, Need, RevisionState
from drills.rigs.ties import decision_on, index_of, worded_needs


@dataclass(frozen=True, slots=True)
class Retie:
    """An item of a draft, the need it is tied to now, and the one that the rules tie it to."""

    terms: ItemTerms
    before: Need | None
    after: Need | None


def reties(needs: Collection[Need]) -> list[Retie]:
    """What the rules would tie otherwise on drafts if these were the needs.

    A revision that was in force never changes, so its items keep the tie they came in with.
    """
    rows = ItemTerms.objects.filter(revision__state=RevisionState.DRAFT).select_related(
        "revision", "item__decision__need", "need"
    )
    index, by_key = index_of(needs), {need.key: need for need in needs}
    found = []
    for row in rows.order_by("revision", "name"):
        key = index.tie(
            given=row.need_given,
            name=row.name,
            aliases=row.aliases,
            presentation=row.presentation,
        )
        if key != (row.need.key if row.need else ""):
            found.append(Retie(row, _held(row), by_key.get(key)))
    return found


def retie_drafts() -> list[Retie]:
    """Tie the items of every draft by the words that needs have now; what changed."""
    found = reties(worded_needs())
    for each in found:
        each.terms.need = each.after
    ItemTerms.objects.bulk_update([each.terms for each in found], ["need"], batch_size=500)
    return found


def digest_of(found: Collection[Retie]) -> str:
    """Tells what was shown from what would be stored by now."""
    said = [
        f"{each.terms.pk} {each.before and each.before.key} {each.after and each.after.key}"
        for each in found
    ]
    return sha256("\n".join(sorted(said)).encode()).hexdigest()[:16]


def shared_words(need: Need, needs: Collection[Need]) -> list[tuple[str, list[Need]]]:
    """The words of a need that others have too, which therefore tie an item to none of them."""
    found: list[tuple[str, list[Need]]] = []
    for word in (need.name_us, need.name_intl, *need.every_alias):
        others = [other for other in needs if other.key != need.key and _has(other, plain(word))]
        if others and word not in dict(found):
            found.append((word, others))
    return found


def _has(need: Need, word: str) -> bool:
    return word in {plain(each) for each in (need.name_us, need.name_intl, *need.every_alias)}


def _held(row: ItemTerms) -> Need | None:
    """The need an item is tied to by rule, else by its keeper."""
    decided = decision_on(row)
    return row.need or (decided.need if decided else None)
