"""Words of a file against what is here: each finds its key, or is a problem of its cell."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from django.core.exceptions import ValidationError
from django.utils.text import slugify

from drills.boards.roster.present import Present
from drills.engine.roster import CERTIFICATION, COHORT, LEAVES, NUMBER, STATION, Entry
from drills.engine.workbook.problems import Problem, Remark, quote
from drills.people.models import Role, plain_number

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
        found = _found(given, self.here.levels)
        if given and not found:
            self.refuse(entry.row, CERTIFICATION, quote(given), _one_of(self.here.levels.values()))
        return found

    def station(self, entry: Entry, given: str) -> str:
        """The key of a station; empty is none."""
        return self._named(entry, STATION, given, self.here.stations, self.stations)

    def cohort(self, entry: Entry, given: str) -> str:
        """The key of a cohort."""
        return self._named(entry, COHORT, given, self.here.cohorts, self.cohorts)

    def _named(
        self, entry: Entry, column: str, given: str, here: Mapping[str, str], new: dict[str, str]
    ) -> str:
        found = _found(given, here) or _found(given, new)
        if found or not given:
            return found
        slug = slugify(given)
        if not self.adds_new:
            accepted = f"{_one_of(here.values())}; or let the import add new ones"
        elif not 0 < len(slug) <= LONGEST_SLUG:
            accepted = f"a name with 1 to {LONGEST_SLUG} of the letters A to Z and digits"
        else:
            new[slug] = given
            return slug
        self.refuse(entry.row, column, quote(given), accepted)
        return ""


def _found(given: str, names: Mapping[str, str]) -> str:
    """The key that a word is, or is the name of, however it is capitalised."""
    wanted = given.casefold()
    by_name = (key for key, name in names.items() if wanted in (key, name.casefold()))
    return next(by_name, slugify(given) if slugify(given) in names else "")


def _one_of(names: Iterable[str]) -> str:
    known = list(names)
    more = f" and {len(known) - NAMED} more" if len(known) > NAMED else ""
    return f"one of {', '.join(known[:NAMED])}{more}" if known else "nothing: there is none yet"
