"""What a keeper decides of items that no rule ties: read from a page, and kept."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime

from django.db import transaction

from drills.people.audit import record
from drills.people.models import Person
from drills.rigs.models import Item, ItemTerms, Need, TieDecision
from drills.rigs.strengths import apart, own_of
from drills.rigs.ties import index_of

# What an answer may be beside the key of a need; no key has a star. A medicine in its own strength
# is named by the medicine's key.
LATER, OTHER, NONE, OWN = "", "*other", "*none", "*own "
CHOICE, WORDS, ACROSS = "tie-", "need-", "across-"

NOTHING_CHOSEN = "Nothing is chosen yet. Choose a need for an item, or none of these."
NO_STRENGTH = (
    "No strength is written for this item. Write its presentation in the workbook, such as "
    "10 mg / 2 mL; then its own strength can count."
)


@dataclass(frozen=True, slots=True)
class Word:
    """A keeper's word on an item: a need, a medicine in its own strength, or neither.

    `strengths` are both in words where the need is of another and the keeper said so twice.
    """

    need: Need | None = None
    medicine: str = ""
    strengths: str = ""


@dataclass(slots=True)
class Answers:
    """What was decided by item row, and what is wrong with the rest.

    `apart` are ties across strengths that wait to be confirmed, with both strengths in words.
    """

    decided: dict[int, Word] = field(default_factory=dict)
    faults: dict[int, str] = field(default_factory=dict)
    apart: dict[int, Word] = field(default_factory=dict)
    strangers: list[str] = field(default_factory=list)

    @property
    def fault(self) -> str:
        """What is wrong with all of it, empty when it can be kept."""
        if self.faults or self.strangers:
            wrong = len(self.faults) + len(self.strangers)
            return f"{wrong} answer{'s' * (wrong > 1)} cannot be kept. Nothing is stored."
        if self.apart:
            count = len(self.apart)
            ties = "answer ties" if count == 1 else "answers tie"
            return (
                f"{count} {ties} a medicine to another strength. Nothing is stored yet: look below."
            )
        return "" if self.decided else NOTHING_CHOSEN

    @property
    def about(self) -> set[int]:
        """The rows of the items that any answer came in for."""
        return {*self.decided, *self.faults, *self.apart}


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
            word = reader.read(row, choice, words)
        except ValueError as refused:
            answers.faults[row.item_id] = str(refused)
            continue
        word = replace(word, strengths=apart(row, word.need))
        is_sure = not word.strengths or posted.get(f"{ACROSS}{row.item_id}") == word.strengths
        (answers.decided if is_sure else answers.apart)[row.item_id] = word
    return answers


@transaction.atomic
def decide_ties(decided: Mapping[int, Word | Need | None], *, by: Person, now: datetime) -> int:
    """Keep a keeper's word on items, by the item's row; how many of them are new."""
    items = Item.objects.select_for_update().filter(pk__in=decided).order_by("pk")
    return sum(_decide(item, _as_word(decided[item.pk]), by=by, now=now) for item in items)


def _as_word(said: Word | Need | None) -> Word:
    return said if isinstance(said, Word) else Word(said)


def _decide(item: Item, word: Word, *, by: Person, now: datetime) -> bool:
    last = TieDecision.objects.select_related("need").filter(item=item).first()
    before = Word(last.need, last.medicine, last.strengths) if last else None
    if before == word:
        return False
    TieDecision.objects.update_or_create(
        item=item,
        defaults={
            "need": word.need,
            "medicine": word.medicine,
            "strengths": word.strengths,
            "decided_by": by,
            "decided_at": now,
        },
    )
    record(
        "tie item",
        item.name[:160],
        by=by,
        now=now,
        before=_audited(before) if before else None,
        after=_audited(word),
    )
    return True


def _audited(word: Word) -> dict[str, str]:
    """What the audit says of a word; a strength only where it speaks of one."""
    said = {"medicine": word.medicine, "strengths": word.strengths}
    need = {"need": word.need.key if word.need else ""}
    return need | {name: value for name, value in said.items() if value}


class _Reader:
    """Turns a choice and words into a need, or says what would have been accepted."""

    def __init__(self, needs: Collection[Need]) -> None:
        self._needs = {need.key: need for need in needs}
        self._medicines = {need.medicine for need in needs if need.medicine}
        self._index = index_of(needs)

    def read(self, row: ItemTerms, choice: str, words: str) -> Word:
        if words:
            if choice not in (LATER, OTHER):
                raise ValueError(f"Two answers came in: a choice, and “{words[:80]}”. Keep one.")
            return Word(self._named(words))
        if choice == OTHER:
            raise ValueError("Another need was chosen and none named. Give its name or key.")
        if choice == NONE:
            return Word()
        if choice.startswith(OWN):
            return self._own(row, choice.removeprefix(OWN))
        if choice not in self._needs:
            raise ValueError(f"“{choice[:80]}” came in. Choose one of the needs, or none of these.")
        return Word(self._needs[choice])

    def _own(self, row: ItemTerms, medicine: str) -> Word:
        if medicine not in self._medicines:
            raise ValueError(
                f"“{medicine[:80]}” came in. A strength of its own is of a medicine that needs "
                "speak of, such as epinephrine."
            )
        if own_of(row) is None:
            raise ValueError(NO_STRENGTH)
        return Word(medicine=medicine)

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
        for prefix in (CHOICE, WORDS, ACROSS)
        for name, value in posted.items()
        if name.startswith(prefix) and value.strip()
    }
    return [name[:40] for name, number in named.items() if number not in known]
