"""Required lists as they come in and are tied: what a file would change, and what was answered."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from hashlib import sha256

from django.utils.text import slugify

from drills.engine.required import (
    MAX_HOLDS,
    ListChanges,
    Part,
    Requirement,
    Wanted,
    keeps_tie,
    list_changes,
    read_wanted,
    write_wanted,
)
from drills.engine.required_file import NEEDS_LENGTH, RequiredFile, read_required
from drills.engine.suggestions import Suggestion, Untied
from drills.rigs.models import Need, RequiredList, RequiredRow
from drills.rigs.models.required import LIST_NAME_LENGTH, NOTE_LENGTH
from drills.rigs.required import requirement_of, wanted_of
from drills.rigs.ties import SUGGESTIONS_SHOWN, index_of, suggester_of
from drills.rigs.tying import LATER, NONE, OTHER

TIE, WORDS, HOLDS, NOTE, SEEN = "tie-", "need-", "holds-", "note-", "seen-"
TAKEN_SLUGS = ("take",)  # the first word of another address
SAMPLE_SLUGS = "sample-"  # lists of this and later releases

NOTHING_CHOSEN = "Nothing is chosen yet. Choose a need for a row, or none of these."

Key = tuple[str, str]


@dataclass(frozen=True)
class ListPlan:
    """What loading a file under a name would make of the list of that name."""

    name: str
    slug: str
    file: RequiredFile
    before: list[RequiredRow]

    @cached_property
    def changes(self) -> ListChanges:
        return list_changes(map(requirement_of, self.before), self.file.rows)

    @cached_property
    def old(self) -> dict[Key, RequiredRow]:
        return {requirement_of(row).key: row for row in self.before}

    @property
    def is_new(self) -> bool:
        return not self.before

    @property
    def is_none(self) -> bool:
        """Whether nothing would be changed, neither rows nor ties."""
        return self.changes.is_none and not self.keys_tied

    @cached_property
    def keys_tied(self) -> set[Key]:
        """Keys of the rows that the file ties otherwise than they are, or that were not tied."""
        old = self.old
        return {
            key
            for key, wanted in self.file.ties.items()
            if key not in old or wanted_of(old[key]) != wanted
        }

    @cached_property
    def untied(self) -> list[Requirement]:
        """Changed rows whose tie does not answer them any more."""
        changed = self.changes.changed
        return [now for was, now in changed if self._is_decided(was) and not self.keeps(now)]

    def keeps(self, row: Requirement) -> bool:
        """Whether a row has, after loading, a decision that it has now or that the file gives."""
        if row.key in self.file.ties:
            return True
        was = self.old.get(row.key)
        if was is None or (wanted := wanted_of(was)) is None:
            return False
        return keeps_tie(requirement_of(was), row, wanted)

    def _is_decided(self, row: Requirement) -> bool:
        return wanted_of(self.old[row.key]) is not None

    @property
    def fingerprint(self) -> str:
        """What the list is now, so that what was shown is what is stored."""
        now = [(requirement_of(row), row.needs, row.note, row.decided_at) for row in self.before]
        return sha256(repr(now).encode()).hexdigest()


def slug_of(name: str) -> str:
    """What makes a list the same when it comes again under its name."""
    return slugify(name)[:LIST_NAME_LENGTH]


def plan_list(name: str, data: bytes) -> ListPlan:
    """Read a file as the list of a name; nothing is stored."""
    index = index_of(Need.objects.all())
    slug = slug_of(name)
    before = list(RequiredRow.objects.filter(of__slug=slug))
    return ListPlan(name, slug, read_required(data, index.called), before)


def fault_of_name(name: str) -> str:
    """What is wrong with the name of a list, empty when it will do."""
    slug = slug_of(name)
    if not slug or slug in TAKEN_SLUGS:
        return f"“{name[:80]}” came in. A name with letters a to z or digits is accepted."
    if slug.startswith(SAMPLE_SLUGS):
        return f"“{name[:80]}” came in. Names that begin with Sample are those of the program."
    sample = RequiredList.objects.filter(slug=slug, is_sample=True).first()
    if sample:
        return f"“{sample}” is a sample that comes with the program. Give yours a name of its own."
    return ""


@dataclass(frozen=True, slots=True)
class Alike:
    """Rows of a list that ask the same of several levels, decided on together."""

    rows: list[RequiredRow]

    @property
    def first(self) -> RequiredRow:
        return self.rows[0]

    @property
    def levels(self) -> list[str]:
        return [row.level for row in self.rows if row.level]

    @property
    def seen(self) -> str:
        """A mark of the last decision; empty while there is none."""
        return self.first.decided_at.isoformat() if self.first.decided_at else ""

    @property
    def decided_meanwhile(self) -> str:
        """What to say to whoever decides on what another has decided since."""
        return (
            f"Decided since this was shown: {self.first.needs or 'no need answers it'}. "
            "Look once more; what you send next holds."
        )


def alike(rows: Collection[RequiredRow]) -> list[Alike]:
    """Rows of the same item, number and unit together; of two decisions in one, they stay apart."""
    found: dict[object, list[RequiredRow]] = {}
    for row in rows:
        said = (row.item.casefold(), row.quantity, row.unit.casefold())
        found.setdefault((*said, row.needs, row.note, row.decided_at is None), []).append(row)
    return list(map(Alike, found.values()))


def likest_needs(rows: Collection[Alike], needs: Collection[Need]) -> dict[int, list[Suggestion]]:
    """The needs whose words are alike to those of each row, by the first of its rows."""
    suggester = suggester_of(needs)
    return {
        each.first.pk: suggester.suggest(Untied(each.first.item))[:SUGGESTIONS_SHOWN]
        for each in rows
    }


@dataclass(frozen=True, slots=True)
class RowAnswer:
    """What a keeper decided of a row: the needs that answer it, or none and why."""

    wanted: Wanted
    note: str = ""


@dataclass(slots=True)
class RowAnswers:
    """What was decided by the first of rows that are alike, and what is wrong with the rest."""

    decided: dict[int, RowAnswer] = field(default_factory=dict)
    faults: dict[int, str] = field(default_factory=dict)
    strangers: list[str] = field(default_factory=list)

    @property
    def fault(self) -> str:
        """What is wrong with all of it, empty when it can be kept."""
        if wrong := len(self.faults) + len(self.strangers):
            return f"{wrong} answer{'s' * (wrong > 1)} cannot be kept. Nothing is stored."
        return "" if self.decided else NOTHING_CHOSEN


def read_row_answers(
    posted: Mapping[str, str], rows: Collection[Alike], needs: Collection[Need]
) -> RowAnswers:
    """One answer for each row that may be decided; what came in for another is named."""
    known = {str(each.first.pk) for each in rows}
    answers = RowAnswers(
        strangers=[name[:40] for name, value in posted.items() if _is_strange(name, value, known)]
    )
    reader = _Reader(needs)
    for each in rows:
        given = {kind: posted.get(f"{kind}{each.first.pk}", "").strip() for kind in _KINDS}
        try:
            answer = reader.read(given)
        except ValueError as refused:
            answers.faults[each.first.pk] = str(refused)
            continue
        if answer is None:
            continue
        if posted.get(f"{SEEN}{each.first.pk}", "") != each.seen:
            answers.faults[each.first.pk] = each.decided_meanwhile
            continue
        answers.decided[each.first.pk] = answer
    return answers


_KINDS = (TIE, WORDS, HOLDS, NOTE)


def _is_strange(name: str, value: str, known: Collection[str]) -> bool:
    kind = next((kind for kind in (TIE, WORDS) if name.startswith(kind)), "")
    return bool(kind) and bool(value.strip()) and name.removeprefix(kind) not in known


class _Reader:
    """Turns what was sent for a row into needs, or says what would have been accepted."""

    def __init__(self, needs: Collection[Need]) -> None:
        self._keys = {need.key for need in needs}
        self._index = index_of(needs)

    def read(self, given: Mapping[str, str]) -> RowAnswer | None:
        choice, words, holds = given[TIE], given[WORDS], given[HOLDS]
        if choice == LATER and not words:
            _refuse_half(holds or given[NOTE])
            return None
        if words:
            return RowAnswer(self._named(choice, words, holds))
        if choice == NONE:
            return RowAnswer((), given[NOTE][:NOTE_LENGTH])
        if choice == OTHER:
            raise ValueError("Another need was chosen and none named. Give its name or key.")
        if choice not in self._keys:
            raise ValueError(f"“{choice[:80]}” came in. Choose one of the needs, or none of these.")
        return RowAnswer(((Part(choice, holds=_holds(holds)),),))

    def _named(self, choice: str, words: str, holds: str) -> Wanted:
        if choice not in (LATER, OTHER):
            raise ValueError(f"Two answers came in: a choice, and “{words[:80]}”. Keep one.")
        wanted = read_wanted(words, self._index.called)
        if len(write_wanted(wanted)) > NEEDS_LENGTH:
            raise ValueError(f"At most {NEEDS_LENGTH} characters of needs are kept for one row.")
        if (factor := _holds(holds)) == 1:
            return wanted
        if len(wanted) == len(wanted[0]) == 1 and wanted[0][0].holds == 1:
            return ((replace(wanted[0][0], holds=factor),),)
        raise ValueError(f"“{holds}” came in for several needs. Write it after each: (one is 100).")


def _refuse_half(half: str) -> None:
    """Half an answer is refused, so that nothing which was typed is dropped."""
    if half:
        raise ValueError(f"“{half[:80]}” came in without a choice. Choose, or empty it.")


def _holds(text: str) -> int:
    if not text:
        return 1
    if not (text.isascii() and text.isdigit() and len(text) <= len(str(MAX_HOLDS)) and int(text)):
        raise ValueError(
            f"“{text[:20]}” came in for how many one of ours is. A number from 1 to {MAX_HOLDS} "
            "is accepted."
        )
    return int(text)
