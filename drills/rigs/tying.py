"""What a keeper decides of items that no rule ties: read from a page, and kept."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import datetime

from django.db import transaction

from drills.people.audit import record
from drills.people.models import Person
from drills.rigs.models import Item, ItemTerms, Need, TieDecision
from drills.rigs.ties import index_of

# What an answer may be beside the key of a need; no key has a star.
LATER, OTHER, NONE = "", "*other", "*none"
CHOICE, WORDS = "tie-", "need-"

NOTHING_CHOSEN = "Nothing is chosen yet. Choose a need for an item, or none of these."


@dataclass(slots=True)
class Answers:
    """What was decided by item row, and what is wrong with the rest."""

    decided: dict[int, Need | None] = field(default_factory=dict)
    faults: dict[int, str] = field(default_factory=dict)
    strangers: list[str] = field(default_factory=list)

    @property
    def fault(self) -> str:
        """What is wrong with all of it, empty when it can be kept."""
        if self.faults or self.strangers:
            wrong = len(self.faults) + len(self.strangers)
            return f"{wrong} answer{'s' * (wrong > 1)} cannot be kept. Nothing is stored."
        return "" if self.decided else NOTHING_CHOSEN


def read_answers(
    posted: Mapping[str, str], rows: Collection[ItemTerms], needs: Collection[Need]
) -> Answers:
    """One answer for each item that may be decided; what came in for another is named."""
    answers = Answers(strangers=_strangers(posted, {str(row.item_id) for row in rows}))
    reader = _Reader(needs)
    for row in rows:
        choice = posted.get(f"{CHOICE}{row.item_id}", LATER)
        words = posted.get(f"{WORDS}{row.item_id}", "").strip()
        if choice == LATER and not words:
            continue
        try:
            answers.decided[row.item_id] = reader.read(choice, words)
        except ValueError as refused:
            answers.faults[row.item_id] = str(refused)
    return answers


@transaction.atomic
def decide_ties(decided: Mapping[int, Need | None], *, by: Person, now: datetime) -> int:
    """Keep a keeper's word on items, by the item's row; how many of them are new."""
    items = Item.objects.select_for_update().filter(pk__in=decided).order_by("pk")
    return sum(_decide(item, decided[item.pk], by=by, now=now) for item in items)


def _decide(item: Item, need: Need | None, *, by: Person, now: datetime) -> bool:
    last = TieDecision.objects.select_related("need").filter(item=item).first()
    if last and last.need == need:
        return False
    TieDecision.objects.update_or_create(
        item=item, defaults={"need": need, "decided_by": by, "decided_at": now}
    )
    before = {"need": last.need.key if last.need else ""} if last else None
    after = {"need": need.key if need else ""}
    record("tie item", item.name[:160], by=by, now=now, before=before, after=after)
    return True


class _Reader:
    """Turns a choice and words into a need, or says what would have been accepted."""

    def __init__(self, needs: Collection[Need]) -> None:
        self._needs = {need.key: need for need in needs}
        self._index = index_of(needs)

    def read(self, choice: str, words: str) -> Need | None:
        if words:
            if choice not in (LATER, OTHER):
                raise ValueError(f"Two answers came in: a choice, and “{words[:80]}”. Keep one.")
            return self._named(words)
        if choice == OTHER:
            raise ValueError("Another need was chosen and none named. Give its name or key.")
        if choice == NONE:
            return None
        if choice not in self._needs:
            raise ValueError(f"“{choice[:80]}” came in. Choose one of the needs, or none of these.")
        return self._needs[choice]

    def _named(self, words: str) -> Need:
        key = self._index.called(words)
        if not key:
            raise ValueError(
                f"“{words[:80]}” came in. A need is named by its key, its name in either spelling, "
                "or a word that it alone has."
            )
        return self._needs[key]


def _strangers(posted: Mapping[str, str], known: Collection[str]) -> list[str]:
    """Fields that answer for an item nobody asked about, by the beginning of their names."""
    named = {
        name: name.removeprefix(prefix)
        for prefix in (CHOICE, WORDS)
        for name, value in posted.items()
        if name.startswith(prefix) and value.strip()
    }
    return [name[:40] for name, number in named.items() if number not in known]
