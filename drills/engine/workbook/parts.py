"""The parts of a spreadsheet, counted before a library reads them.

A part of a few hundred kilobytes may unfold to millions of rows, cells or strings, each of which
costs a library a thousand times its size. The limits are ours, no source: with each of them
reached, reading stays under 256 MB and a few seconds.
"""

import re
from collections.abc import Mapping
from itertools import islice

from drills.engine.workbook.problems import quote

MAX_ROWS_WRITTEN = 100_000  # blank ones too, which some programs write
MAX_CELLS = 300_000  # the longest stock sheet that is read has 240,000
MAX_SHARED = 120_000  # texts that cells share
MAX_VALUES = 800_000  # two marks for each cell, and what shared texts are made of
MAX_OTHER_MARKS = 40_000  # styles, rules, merged cells, names: in one part
MAX_TEXT = 200_000  # bytes; a cell of a spreadsheet holds at most 32,767 characters

ROW = re.compile(rb"<(?:[\w.-]+:)?row[\s/>]")
CELL = re.compile(rb"<(?:[\w.-]+:)?c[\s/>]")
SHARED = re.compile(rb"<(?:[\w.-]+:)?si[\s/>]")
VALUE = re.compile(rb"<(?:[\w.-]+:)?(?:v|f|is|t)[\s/>]")
DATA = re.compile(rb"</?(?:[\w.-]+:)?(?:row|c|v|f|is|si|t)[\s/>]")
COUNTED = {
    ROW: ("rows", MAX_ROWS_WRITTEN),
    CELL: ("cells", MAX_CELLS),
    SHARED: ("texts", MAX_SHARED),
    VALUE: ("values", MAX_VALUES),
}
DECLARED = re.compile(rb"""\s*<\?xml[^>]{0,200}?encoding\s*=\s*["']([^"']{0,40})""")
KNOWN_ENCODINGS = ("utf-8", "utf8", "us-ascii", "ascii")


class TooLargeError(Exception):
    """A spreadsheet that is refused before it is read: what came in, and what is accepted."""

    def __init__(self, got: str, accepted: str) -> None:
        super().__init__(got)
        self.got, self.accepted = got, accepted


def weigh(parts: Mapping[str, bytes]) -> None:
    """Raise `TooLargeError` where a part holds more than can be read without harm.

    A part in another encoding than UTF-8 is refused as well, since it cannot be counted, and so is
    one that brings entities of its own, since they are more than they look.
    """
    left = {pattern: most for pattern, (_, most) in COUNTED.items()}
    for name, part in parts.items():
        _refuse_form(name, part)
        _refuse_long_text(name, part)
        for pattern, (what, most) in COUNTED.items():
            left[pattern] -= _count(pattern, part, left[pattern])
            if left[pattern] < 0:
                raise TooLargeError(f"a spreadsheet of more {what}", f"at most {most}")
        if part.count(b"<") - _count(DATA, part, len(part)) > MAX_OTHER_MARKS:
            got = f"a spreadsheet with too many styles, rules or names ({quote(name)})"
            raise TooLargeError(got, f"at most {MAX_OTHER_MARKS} marks beside rows and cells")


def _refuse_form(name: str, part: bytes) -> None:
    if b"<!DOCTYPE" in part or b"<!ENTITY" in part:
        got = f"a spreadsheet with a document type or entities of its own ({quote(name)})"
        raise TooLargeError(got, "plain parts, as spreadsheet programs write")
    declared = DECLARED.match(part.removeprefix(b"\xef\xbb\xbf"))
    is_known = declared is None or declared[1].decode("latin-1").lower() in KNOWN_ENCODINGS
    if b"\x00" in part or not is_known:
        got = f"a part of a spreadsheet in another encoding ({quote(name)})"
        raise TooLargeError(got, "UTF-8, as spreadsheet programs write")


def _refuse_long_text(name: str, part: bytes) -> None:
    """Refuse what goes on without a mark: looked for in steps, so that it is seen at twice that."""
    steps = range(0, len(part) - MAX_TEXT, MAX_TEXT)
    if any(part.find(b"<", at, at + MAX_TEXT) < 0 for at in steps):
        got = f"a spreadsheet with a text of more than {MAX_TEXT} bytes ({quote(name)})"
        raise TooLargeError(got, "texts that a cell can hold")


def _count(pattern: re.Pattern[bytes], part: bytes, most: int) -> int:
    """How often a pattern occurs, counted no further than one over the most."""
    return sum(1 for _ in islice(pattern.finditer(part), most + 1))
