"""Codes of a sheet, and the cells elsewhere that name them.

One wrong code is one problem: cells that name a code which no row has are blamed only where no
row could have had it. A row whose own code was refused may be the one they mean; then it is told
what they name.
"""

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import chain, islice

from drills.engine.workbook.cells import Row, tidy
from drills.engine.workbook.problems import quote

SHOWN = 3  # refused rows that are told what they may be, and codes named in one message
# Cyrillic and Greek letters that are drawn like Latin ones. Ours, no source.
LOOK_ALIKE = str.maketrans(
    "\u0410\u0412\u0415\u041a\u041c\u041d\u041e\u0420\u0421\u0422\u0423\u0425\u0405\u0406\u0408"
    "\u0430\u0435\u043e\u0440\u0441\u0443\u0445\u0455\u0456\u0458"
    "\u0391\u0392\u0395\u0396\u0397\u0399\u039a\u039c\u039d\u039f\u03a1\u03a4\u03a5\u03a7\u03bf\u03bd",
    "ABEKMHOPCTYXSIJaeopcyxsijABEZHIKMNOPTYXov",
)
ALONE = "a code of its own, whatever the case of its letters"


@dataclass(frozen=True, slots=True)
class Coded:
    """A row with the code and the name it was read with."""

    row: Row
    code: str
    name: str


@dataclass(frozen=True, slots=True)
class Naming:
    """A cell that names a code which no row has."""

    row: Row
    column: str
    text: str
    accepted: str


class Codes:
    """The codes of one sheet by their form without case."""

    def __init__(self, coded: Iterable[Coded]) -> None:
        self.twins: set[str] = set()
        self._first: dict[str, Coded] = {}
        self._looks: dict[str, Coded] = {}
        self._lost: list[tuple[Row, str]] = []  # refused rows, with what they hold for a code
        self._named: dict[str, list[Naming]] = {}
        for each in coded:
            self._take(each)

    @property
    def is_empty(self) -> bool:
        """Whether no code could be read, so that no cell can be judged by them."""
        return not self._first

    def _take(self, each: Coded) -> None:
        if not each.code:
            self._lost.append((each.row, _plain(_written(each.row))))
            return
        other = self._first.setdefault(each.code.casefold(), each)
        if other is each:
            self._refuse_alike(each)
            return
        self.twins.add(each.code.casefold())
        got = f"{quote(each.code)}, which row {other.row.number} has too,"
        each.row.refuse("code", got, ALONE)
        if each.name.casefold() != other.name.casefold():  # else it is a copy, whose code was this
            self._lost.append((each.row, ""))

    def _refuse_alike(self, each: Coded) -> None:
        """Refuse a code that only its letters' alphabet tells from another: no eye does."""
        other = self._looks.setdefault(looks_of(each.code), each)
        if other is not each:
            got = f"{quote(each.code)}, which looks like {other.code} of row {other.row.number},"
            each.row.refuse("code", got, "a code that cannot be taken for another")

    def is_first(self, row: Row, code: str) -> bool:
        """Whether the row is the one that a code means; the others are refused already."""
        first = self._first.get(code.casefold())
        return first is not None and first.row is row

    def find(self, text: str) -> str:
        """The code as its row writes it, empty where there is none.

        Where no code could be read the text is taken at its word.
        """
        if self.is_empty:
            return text
        found = self._first.get(text.casefold())
        return found.code if found else ""

    def is_twin(self, code: str) -> bool:
        """Whether several rows have the code, so that nobody can say which is meant."""
        return code.casefold() in self.twins

    def miss(self, row: Row, column: str, text: str, accepted: str) -> None:
        """Note that a cell names a code which no row has; `tell` judges it."""
        self._named.setdefault(text.casefold(), []).append(Naming(row, column, text, accepted))

    def tell(self) -> None:
        """Refuse the cells that name what no row has, unless it is the refused rows they mean."""
        written = {plain for _, plain in self._lost} - {""}
        named = {key: cells for key, cells in self._named.items() if _plain(key) not in written}
        left = self._lost_for_good()
        if not named:
            return
        if len(named) <= len(left):
            for row in left[:SHOWN]:
                row.suggest("code", f"perhaps {_listing(named.values())}")
            return
        for cell in chain.from_iterable(named.values()):
            cell.row.refuse(cell.column, quote(cell.text), cell.accepted)

    def _lost_for_good(self) -> list[Row]:
        """Refused rows that no cell speaks of."""
        spoken_for = {_plain(key) for key in self._named}
        return [row for row, plain in self._lost if plain not in spoken_for]


def looks_of(code: str) -> str:
    """The code in the letters it would be read as, without case."""
    return unicodedata.normalize("NFKC", code).translate(LOOK_ALIKE).casefold()


def _listing(named: Iterable[list[Naming]]) -> str:
    """The codes that cells name and no row has, with how many cells name each."""
    said = [
        f"{quote(cells[0].text)}, which {len(cells)} cell{'s name' if len(cells) > 1 else ' names'}"
        for cells in islice(named, SHOWN)
    ]
    return f"{' or '.join(said)} and no row has"


def _written(row: Row) -> str:
    cell = row.cells.get("code", "")
    return tidy(cell) if isinstance(cell, str) else ""


def _plain(code: str) -> str:
    """The letters and digits alone, since a refused code often differs by a space."""
    return "".join(filter(str.isalnum, code)).casefold()
