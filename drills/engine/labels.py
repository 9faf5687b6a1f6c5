"""Sheets of labels, and from how far a phone reads the code on them.

Lengths are millimetres, origin top left. A sheet is named by its measures alone. The measures are
those that die-cut sheets commonly have, no source; on all of them the labels are centred.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from math import radians, tan

NO_BREAK = "\N{NO-BREAK SPACE}"
A4, LETTER = (210.0, 297.0), (215.9, 279.4)

INSET = 1.5  # between the edge of a label and the code; ours: sheets shift in printers
TEXT_INSET = 4.0  # right of the words: what most printers cannot print on, common practice
MOST_OF_WIDTH = 0.55  # of a label is code; the rest is for words; ours
QUIET = 4  # modules of white round a code (ISO/IEC 18004)
CUT = 2.0  # arm of the cross that says where to cut

# A phone's view: 65 degrees across, as common main cameras have; no source. Its photos are taken to
# be of 12 megapixels, the frames in which it looks for codes full HD, which is less than most have.
FIELD_TAN = tan(radians(65 / 2))
FRAME_PX, PHOTO_PX = 1920, 4000
# The least a module may cover in a frame. Ours, measured with a decoder on sharp frames: of 50
# codes 39 are read at 2 pixels and 50 at 2.25, and a phone looks at many frames a second. Out of
# focus it takes 3.
MODULE_PX = 2.0
ARM = 600.0  # arm's length, with the phone in the hand; ours
RULE_OF_TEN = 10  # a code is read with ease from ten times its side: common practice, no source


@dataclass(frozen=True, slots=True)
class SheetFormat:
    """A sheet of equal labels. `gap` lies between columns, none between rows."""

    key: str
    paper: str
    page: tuple[float, float]
    columns: int
    rows: int
    width: float
    height: float
    gap: float = 0.0
    is_plain: bool = False
    measure: str = ""

    @property
    def name(self) -> str:
        """What it is called: by its measures, in inches where those are the round ones."""
        size = self.measure or f"{self.width:g} × {self.height:g} mm"
        kind = f"Plain {self.paper} to cut" if self.is_plain else f"{self.paper} labels"
        return f"{kind}, {self.columns} × {self.rows} of {size.replace(' ', NO_BREAK)}"

    @property
    def count(self) -> int:
        """Labels on a sheet."""
        return self.columns * self.rows

    @property
    def left(self) -> float:
        across = self.columns * self.width + (self.columns - 1) * self.gap
        return (self.page[0] - across) / 2

    @property
    def top(self) -> float:
        return (self.page[1] - self.rows * self.height) / 2

    @property
    def side(self) -> float:
        """The side of a code with the white round it."""
        return min(self.height - 2 * INSET, self.width * MOST_OF_WIDTH)

    @property
    def words_at(self) -> float:
        """Where words begin, from the left edge of a label."""
        return INSET + self.side

    @property
    def words_width(self) -> float:
        return self.width - self.words_at - TEXT_INSET

    def corner(self, position: int) -> tuple[float, float]:
        """The top left corner of a label by its number on the sheet, row by row from 0."""
        row, column = divmod(position, self.columns)
        return self.left + column * (self.width + self.gap), self.top + row * self.height

    @property
    def crossings(self) -> tuple[tuple[float, float], ...]:
        """Where the cuts of a plain sheet cross; none on a sheet that is cut already."""
        if not self.is_plain:
            return ()
        across = [self.left + column * self.width for column in range(self.columns + 1)]
        down = [self.top + row * self.height for row in range(self.rows + 1)]
        return tuple((x, y) for y in down for x in across)


FORMATS = {
    each.key: each
    for each in (
        SheetFormat("a4-2x7", "A4", A4, 2, 7, 99.1, 38.1, gap=2.5),
        SheetFormat("a4-3x8", "A4", A4, 3, 8, 70.0, 37.0),
        SheetFormat("a4-2x4", "A4", A4, 2, 4, 99.1, 67.7, gap=2.5),
        SheetFormat("a4-plain", "A4", A4, 2, 5, 90.0, 50.0, is_plain=True),
        SheetFormat(
            *("letter-2x5", "Letter", LETTER, 2, 5, 101.6, 50.8), gap=4.7625, measure="4 × 2 in"
        ),
        SheetFormat(
            *("letter-3x10", "Letter", LETTER, 3, 10, 66.675, 25.4),
            gap=3.175,
            measure="2 5/8 × 1 in",
        ),
        SheetFormat("letter-plain", "Letter", LETTER, 2, 5, 90.0, 50.0, is_plain=True),
    )
}


def sheet_places(form: SheetFormat, count: int, skip: int) -> list[list[tuple[float, float]]]:
    """The corners of so many labels, sheet by sheet, the first `skip` of the first left out.

    Raises ValueError when a sheet has no label after `skip`.
    """
    if not 0 <= skip < form.count:
        raise ValueError(f"{skip} came in; a sheet has {form.count}, so 0 to {form.count - 1}.")
    numbered = (divmod(skip + each, form.count) for each in range(count))
    sheets = groupby(numbered, key=lambda each: each[0])
    return [[form.corner(position) for _, position in group] for _, group in sheets]


def module_of(side: float, modules: int) -> float:
    """The size of a module of a code with so many a side, where `side` holds the white as well."""
    return side / (modules + 2 * QUIET)


def pixels_per_mm(distance: float, across: int) -> float:
    """Pixels that a millimetre covers at a distance, in a frame of so many across."""
    return across / (2 * distance * FIELD_TAN)


def read_from(module: float) -> float:
    """The distance up to which a module covers pixels enough in a phone's frame: the limit."""
    return FRAME_PX * module / (2 * MODULE_PX * FIELD_TAN)


def eased_from(module: float, modules: int) -> float:
    """The distance that the rule of ten gives, for the dark part of a code."""
    return RULE_OF_TEN * module * modules


def best_level(side: float, modules: dict[str, int]) -> str:
    """The error level for a code, by how many modules a side it takes at each level.

    Q bears a quarter of the code worn off, M a seventh, at the price of more and smaller modules
    (ISO/IEC 18004). Doors are wiped every shift, so Q is taken wherever it is still read at arm's
    length.
    """
    return "Q" if read_from(module_of(side, modules["Q"])) >= ARM else "M"


def code_path(matrix: Sequence[Sequence[int]]) -> str:
    """The dark modules as one path of whole numbers, a module being 1 and the white included."""
    parts = []
    for y, row in enumerate(matrix, QUIET):
        x = QUIET
        for dark, run in groupby(row):
            length = len(list(run))
            if dark:
                parts.append(f"M{x} {y}h{length}v1h-{length}z")
            x += length
    return "".join(parts)


@dataclass(frozen=True, slots=True)
class Words:
    """Lines of one size, as they fit."""

    size: float
    lines: tuple[str, ...]

    @property
    def height(self) -> float:
        return self.size * LEADING * len(self.lines)


LEADING = 1.2
SMALLEST = 2.4  # about 7 points
LETTER_WIDTH = 0.7  # of the size, on the average of a line in the widest of common plain faces
CAPITAL_WIDTH = 0.8  # the same for codes, which are bold capitals and digits


def fit_words(text: str, *, width: float, height: float, largest: float, letter: float) -> Words:
    """Words at the largest size at which they fit, whole words to a line.

    `letter` is the width of a letter as a part of the size. At the smallest size a word that is
    too long is broken, and what still does not fit is cut short with an ellipsis.
    """
    size, smallest = largest, min(SMALLEST, largest)
    while size > smallest:
        across, down = _room(size, width, height, letter)
        lines = _broken(text, across) if _longest(text) <= across else ()
        if 0 < len(lines) <= down:
            return Words(size, lines)
        size = max(smallest, size * 0.9)
    across, down = (max(1, each) for each in _room(size, width, height, letter))
    lines = _broken(text, across)
    if len(lines) > down:
        lines = (*lines[: down - 1], lines[down - 1][: across - 1] + "…")
    return Words(size, lines)


def _room(size: float, width: float, height: float, letter: float) -> tuple[int, int]:
    """Letters in a line and lines, at a size."""
    return int(width / (size * letter)), int(height / (size * LEADING))


def _longest(text: str) -> int:
    return max(map(len, text.split()), default=1)


def _broken(text: str, most: int) -> tuple[str, ...]:
    """Lines of at most so many letters, broken between words where that can be."""
    lines = [""]
    for word in text.split():
        if lines[-1] and len(lines[-1]) + 1 + len(word) <= most:
            lines[-1] += f" {word}"
            continue
        pieces = [word[at : at + most] for at in range(0, len(word), most)]
        lines = [*lines, *pieces] if lines[-1] else pieces
    return tuple(lines)
