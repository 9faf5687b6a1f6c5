"""Words of a file against what is here: each finds its key, or is a problem of its cell."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from itertools import count

from django.core.exceptions import ValidationError
from django.utils.text import slugify

from drills.boards.roster.present import Present, keys_of
from drills.engine.roster import CERTIFICATION, COHORT, LEAVES, NUMBER, STATION, Entry
from drills.engine.workbook.problems import Problem, Remark, quote
from drills.people.models import Role, plain_number
from drills.people.naming import BETWEEN

ROLE_WORDS = {
    word.casefold(): role.value for role in Role for word in (role.value, str(role.label))
}
LONGEST_SLUG = 50
NAMED = 20  # of what there is, that a message lists


@dataclass(slots=True)
class Words:
    """Looks words up; what is not found is a problem, or new where new ones may be added."""

    here: Present
    adds_new: bool
    problems: list[Problem] = field(default_factory=list)
    remarks: list[Remark] = field(default_factory=list)
    stations: dict[str, str] = field(default_factory=dict)
    cohorts: dict[str, str] = field(default_factory=dict)

    def refuse(self, row: int, column: str, got: str, accepted: str) -> None:
        """Note a problem of one cell, or of the whole file where the row is 0."""
        self.problems.append(Problem("", row, column, got, accepted))

    def check_number(self, entry: Entry, spelled: Mapping[str, str]) -> None:
        """A number has the form of one, and the same letters as the person's who has it."""
        if not entry.number:
            return  # told already
        try:
            plain_number(entry.number)
        except ValidationError as error:
            (told,) = error.messages
            self.refuse(entry.row, NUMBER, quote(entry.number), told.partition("it takes ")[2][:-1])
        known = spelled.get(entry.number.casefold(), entry.number)
        if known != entry.number:
            self.refuse(entry.row, NUMBER, quote(entry.number), f"{known}, as it is written here")

    def remark_nobody(self, entry: Entry) -> None:
        """Say that who is to leave was never here."""
        text = "nobody has this number, so nobody leaves"
        self.remarks.append(Remark("", entry.row, LEAVES, text))

    def level(self, entry: Entry, given: str) -> str:
        """The key of a certification level; empty is none."""
        levels = self.here.levels
        found = self._one(entry, CERTIFICATION, given, keys_of(given, levels), levels)
        if found is None:
            self.refuse(entry.row, CERTIFICATION, quote(given), _one_of(levels.values()))
        return found or ""

    def station(self, entry: Entry, given: str) -> str:
        """The key of a station; empty is none."""
        return self._named(entry, STATION, given, self.here.stations, self.stations)

    def cohort(self, entry: Entry, given: str) -> str:
        """The key of a cohort."""
        return self._named(entry, COHORT, given, self.here.cohorts, self.cohorts)

    def _named(
        self, entry: Entry, column: str, given: str, here: Mapping[str, str], new: dict[str, str]
    ) -> str:
        keys = keys_of(given, here) or _bearing(given, new)
        found = self._one(entry, column, given, keys, here)
        if found is None and self.adds_new:
            return self._add(entry, column, given, here, new)
        if found is None:
            accepted = f"{_one_of(here.values())}; or let the import add new ones"
            self.refuse(entry.row, column, quote(given), accepted)
        elif found in here and here[found].casefold() != given.casefold():
            self._remark(entry, column, f"{quote(given)} is the key of {quote(here[found])}")
        return found or ""

    def _one(
        self, entry: Entry, column: str, given: str, keys: list[str], here: Mapping[str, str]
    ) -> str | None:
        """The one key that a word leads to, empty for no word, None where it leads to nothing.

        What several have is a problem and never a guess.
        """
        if not given:
            return ""
        if len(keys) < 2:
            return keys[0] if keys else None
        alone = sorted(key for key in keys if keys_of(key, here) == [key])
        accepted = f"one of their keys: {', '.join(alone)}" if alone else "a name of its own"
        self.refuse(entry.row, column, f"{quote(given)}, which {len(keys)} have,", accepted)
        return ""

    def _add(
        self, entry: Entry, column: str, given: str, here: Mapping[str, str], new: dict[str, str]
    ) -> str:
        """The key of what comes with the file; what is written alike is kept apart."""
        slug = slugify(given)
        if not 0 < len(slug) <= LONGEST_SLUG:
            accepted = f"a name with 1 to {LONGEST_SLUG} of the letters A to Z and digits"
        elif set(given) & set(BETWEEN):
            accepted = f"a name without {' and '.join(BETWEEN)}"
        else:
            alike = {key.casefold(): name for key, name in (*here.items(), *new.items())}
            found = next(key for key in _numbered(slug) if key not in alike)
            if found != slug:
                text = f"{quote(given)} is new beside {quote(alike[slug])}, which is written alike"
                self._remark(entry, column, text)
            new[found] = given
            return found
        self.refuse(entry.row, column, quote(given), accepted)
        return ""

    def _remark(self, entry: Entry, column: str, text: str) -> None:
        """Say something of a word once, at the first row that has it."""
        if not any((each.column, each.text) == (column, text) for each in self.remarks):
            self.remarks.append(Remark("", entry.row, column, text))


def _bearing(given: str, new: Mapping[str, str]) -> list[str]:
    """What is new is found by its name alone: its key is made here and stands in no file."""
    return [key for key, name in new.items() if name.casefold() == given.casefold()]


def _numbered(slug: str) -> Iterator[str]:
    """The slug, then the same with 2, 3 and so on after it, no longer than a slug may be."""
    yield slug
    for number in count(2):
        yield f"{slug[: LONGEST_SLUG - len(str(number)) - 1]}-{number}"


def _one_of(names: Iterable[str]) -> str:
    known = list(names)
    more = f" and {len(known) - NAMED} more" if len(known) > NAMED else ""
    return f"one of {', '.join(known[:NAMED])}{more}" if known else "nothing: there is none yet"
