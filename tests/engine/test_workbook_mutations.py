"""Two thousand damaged workbooks: each is read or refused, none brings the reader down."""

import random

from drills.engine.workbook import read_workbook
from tests.engine.workbook_files import as_csv, as_xlsx, as_zip, csv_zip, good, parts_of

PIECES = (b"", b"\x00", b"\xff", b"\n", b",", b";", b'"', b"<", b"&x;", b"9" * 40, b"=A1", b"PK")
CELLS = (
    *("", " ", "0", "-1", "1.5", "9" * 50, "NaN", "inf", "=A1", "S1", "BAG", "street", "yes", "no"),
    *(
        "a;b;;c",
        "x" * 600,
        "🚑",
        "\x00",
        "\u202e",
        "one-hand",
        "2027-13-01",
        "2 mg / 2 mL",
        '"',
        "'",
    ),
)


def _bytes_changed(chance, data):
    """The data with one to three short pieces put in, taken out or written over."""
    changed = bytearray(data)
    for _ in range(chance.randint(1, 3)):
        at = chance.randrange(len(changed) + 1)
        piece = chance.choice((*PIECES, bytes([chance.randrange(256)])))
        changed[at : at + chance.choice((0, 1, len(piece), 20))] = piece
    return bytes(changed)


def _part_changed(chance, parts):
    name = chance.choice(sorted(parts))
    return as_zip({**parts, name: _bytes_changed(chance, parts[name])})


def _cells_changed(chance):
    sheets = good()
    for _ in range(chance.randint(1, 3)):
        rows = sheets[chance.choice(sorted(sheets))]
        row = chance.choice(rows)
        row[chance.randrange(len(row))] = chance.choice(CELLS)
    return csv_zip(sheets)


def _mutations():
    chance = random.Random(20_270_731)  # noqa: S311 - a fixed seed, so that a failure comes again
    archive, workbook = csv_zip(good()), as_xlsx(good())
    parts = parts_of(workbook)
    for _ in range(500):
        yield "archive", _bytes_changed(chance, archive)
        yield "sheet of an archive", _part_changed(chance, as_csv(good()))
        yield "cell", _cells_changed(chance)
    for _ in range(250):
        yield "spreadsheet", _bytes_changed(chance, workbook)
        yield "part of a spreadsheet", _part_changed(chance, parts)


def test_two_thousand_mutations():
    """Any bytes give a layout or say why not, in plain sentences."""
    outcomes: dict[str, list[bool]] = {}

    for kind, data in _mutations():
        parsed = read_workbook(data)
        assert (parsed.layout is None) == bool(parsed.problems)
        assert all(str(each).endswith(".") for each in parsed.problems)
        outcomes.setdefault(kind, []).append(parsed.layout is not None)

    assert sum(len(each) for each in outcomes.values()) == 2_000
    assert {kind: {True, False} for kind in outcomes} == {k: set(v) for k, v in outcomes.items()}
