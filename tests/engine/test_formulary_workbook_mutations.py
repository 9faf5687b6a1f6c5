"""Formulary workbooks that are garbled, damaged or hostile: refused, or read as what they say."""

import random
from dataclasses import replace

import pytest

from drills.engine.concentrations import read_strength
from drills.engine.formulary_workbook import read_book, to_csv, to_xlsx, to_zip
from drills.engine.formulary_workbook.columns import COLUMNS
from drills.engine.quantities import read_quantity
from tests.engine.formulary_files import KNOWN, demonstration, good, read, with_cell
from tests.engine.workbook_files import as_csv, as_xlsx, as_zip, csv_zip, parts_of
from tests.engine.workbook_hostile import ARCHIVES, PARTS

GARBLES = (
    *("", " ", "0", "-1", "1.5", "1,5", "9" * 50, "NaN", "1e3", "=A1", "'", '"', "\x00", "\u202e"),
    *("yes", "no", "x" * 400, "a;b;;c", "🚑", "2027-13-01", "2026-01-31", "1:10,000", "10%", "1:7"),
    *("0.15 mg/kg", "15 mg", ".5 mg", "1,000 mL", "5 mcg/kg/min", "0,2 mg/kg", "3 mL/kg/%", "kg"),
    *("testol", "testamine", "testol-1000", "T2", "paramedic", "per kg", "range", "1 mg / 0 mL"),
)
AMOUNTS = ("dose", "dose_high", "minimum", "maximum", "max_total", "take", "diluent_volume")
DEEP = ("a million", "ten million", "fifty thousand", "all the", "a cell of", "last column")
ELSEWHERE = ("shared text that is not there", "no number")  # in a sheet that is not opened
HOSTILE = {
    name: each
    for name, each in (ARCHIVES | PARTS).items()
    if not name.startswith(DEEP) and name not in ELSEWHERE
}


def _cells():
    """Every cell under a header, by sheet, row and place."""
    for sheet, rows in good().items():
        for row in range(1, len(rows)):
            for at in range(1 if sheet == "formulary" else 0, len(rows[row])):
                yield sheet, row, at


def _value(book, sheet, row, at):
    """What a cell of the good workbook became."""
    if sheet == "formulary":
        return getattr(book, good()[sheet][row][0], None)
    return getattr(getattr(book, sheet)[row - 1], COLUMNS[sheet][at])


def _but_for(book, sheet, row, at):
    """A formulary without the value of one cell."""
    if sheet == "formulary":
        return replace(book, **{good()[sheet][row][0]: ""}) if row > 1 else book
    lines = list(getattr(book, sheet))
    lines[row - 1] = replace(lines[row - 1], **{COLUMNS[sheet][at]: None})
    return replace(book, **{sheet: tuple(lines)})


@pytest.mark.parametrize("place", list(_cells()), ids=lambda each: "-".join(map(str, each)))
def test_a_garbled_cell_is_refused_or_means_what_it_says(place):
    """Nothing is raised; where it is read, no other value changed, and an amount is that amount."""
    sheet, row, at = place
    sound = read(good()).book
    for garble in GARBLES:
        sheets = good()
        sheets[sheet][row][at] = garble

        parsed = read(sheets)

        assert (parsed.book is None) == bool(parsed.problems)
        assert all(str(each).endswith(".") for each in parsed.problems)
        if parsed.book is None:
            continue
        assert _but_for(parsed.book, *place) == _but_for(sound, *place), garble
        value = _value(parsed.book, *place)
        if sheet == "rules" and COLUMNS[sheet][at] in AMOUNTS and value:
            assert read_quantity(value) == read_quantity(garble), garble
        elif sheet == "presentations" and COLUMNS[sheet][at] == "strength" and value:
            same = read_quantity if garble.endswith(" mg") else read_strength
            assert same(value) == same(garble), garble
        assert read_book(to_zip(parsed.book), KNOWN).book == parsed.book, garble


@pytest.mark.parametrize(
    ("sheet", "column", "garble"),
    [
        ("rules", "dose", "0.15 mg/kg"),
        ("rules", "dose_high", "0.15 mg/kg"),
        ("rules", "minimum", ".5 mg"),
        ("rules", "maximum", "15 mg"),
        ("rules", "max_total", "0,2 mg/kg"),
        ("rules", "take", ".5 mg"),
        ("rules", "diluent_volume", "1,000 mL"),
        ("rules", "date", "2026-01-31"),
        ("presentations", "strength", "1:10,000"),
        ("presentations", "strength", "15 mg"),
    ],
)
def test_some_garbles_of_every_kind_are_read(sheet, column, garble):
    """Else the promise above would hold of a reader that refuses everything."""
    assert garble in GARBLES
    assert read(with_cell(sheet, column, garble)).book is not None


def test_a_formula_is_no_amount():
    """What another program worked out is not trusted, and neither is an error."""
    for value in ("=0.1", '="0.1 mg/kg"'):
        (told,) = read_book(as_xlsx(with_cell("rules", "dose", value)), KNOWN).problems

        assert (told.sheet, told.row, told.column) == ("rules", 2, "dose")
        assert told.got.startswith("a formula")


@pytest.mark.parametrize("write", [to_xlsx, to_zip])
@pytest.mark.parametrize("which", ["good", "demonstration"])
def test_what_came_in_goes_out_and_comes_in_the_same(write, which):
    """A formulary is the same after a round, and its second writing has the bytes of the first."""
    sheets, known = (good(), KNOWN) if which == "good" else demonstration()
    book = read(sheets, known).book

    written = write(book)

    assert read_book(written, known).book == book
    assert write(read_book(written, known).book) == written


def test_a_text_that_looks_like_a_formula_goes_out_as_text():
    """A spreadsheet that opens the file has nothing to work out."""
    sheets = good()
    sheets["rules"][1][COLUMNS["rules"].index("notes")] = "'=1+1"
    book = read(sheets).book

    assert book.rules[0].notes == "=1+1"
    assert b"'=1+1" in to_csv(book)["rules.csv"]
    assert read_book(to_xlsx(book), KNOWN).book == book


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_file_is_refused(name):
    """The guards are those of the layout workbook, and hold for this form as well."""
    hostile = HOSTILE[name]

    parsed = read_book(hostile.make(), KNOWN, name=hostile.name)

    assert parsed.book is None
    assert parsed.problems
    if not hostile.sheet:
        assert any(hostile.said in str(each) for each in parsed.problems), parsed.problems[:5]


def test_five_hundred_mutations_of_bytes():
    """Any bytes give a formulary or say why not."""
    chance = random.Random(20_271_128)  # noqa: S311 - a fixed seed, so that a failure comes again
    whole, parts, book = csv_zip(good()), as_csv(good()), parts_of(as_xlsx(good()))
    outcomes = set()
    for turn in range(500):
        if turn % 3 == 0:
            data = _damaged(chance, whole)
        else:
            of = parts if turn % 3 == 1 else book
            name = chance.choice(sorted(of))
            data = as_zip({**of, name: _damaged(chance, of[name])})

        parsed = read_book(data, KNOWN)

        assert (parsed.book is None) == bool(parsed.problems)
        outcomes.add((turn % 3, parsed.book is None))
    assert len(outcomes) == 6


def _damaged(chance, data):
    changed = bytearray(data)
    for _ in range(chance.randint(1, 2)):
        at = chance.randrange(len(changed) + 1)
        piece = chance.choice((b"", b"\x00", b"\xff", b"\n", b",", b'"', b"<", b"9", b"PK"))
        changed[at : at + chance.choice((0, 1, 8))] = piece
    return bytes(changed)
