"""Sheets of labels by their measures, words that fit, and from how far a code is read."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.engine.labels import (
    CUT,
    FORMATS,
    FRAME_PX,
    INSET,
    LEADING,
    LETTER_WIDTH,
    QUIET,
    SMALLEST,
    SheetFormat,
    best_level,
    code_path,
    eased_from,
    fit_words,
    module_of,
    pixels_per_mm,
    read_from,
    sheet_places,
)

PRINTERS_KEEP = 4.2  # mm at each edge that printers leave white: common practice, no source
VERSION_4, VERSION_5 = 33, 37  # modules a side

by_format = pytest.mark.parametrize("form", FORMATS.values(), ids=FORMATS.keys())


@by_format
def test_every_label_lies_on_its_sheet_and_on_no_other_label(form: SheetFormat) -> None:
    """A corner or a gap mistaken by a millimetre pushes a label over an edge or its neighbour."""
    corners = [form.corner(each) for each in range(form.count)]

    for x, y in corners:
        assert 0 <= round(x, 3) <= round(form.page[0] - form.width, 3)
        assert 0 <= round(y, 3) <= round(form.page[1] - form.height, 3)
    for x, y in corners:
        touching = [
            (a, b)
            for a, b in corners
            if abs(a - x) < form.width - 1e-6 and abs(b - y) < form.height - 1e-6
        ]
        assert touching == [(x, y)]


@pytest.mark.parametrize(
    ("key", "left", "top", "step"),
    [
        ("a4-2x7", 4.65, 15.15, 101.6),
        ("a4-3x8", 0.0, 0.5, 70.0),
        ("a4-2x4", 4.65, 13.1, 101.6),
        ("letter-2x5", 3.96875, 12.7, 106.3625),
        ("letter-3x10", 4.7625, 12.7, 69.85),
    ],
)
def test_the_first_label_and_the_step_are_where_such_sheets_have_them(
    key: str, left: float, top: float, step: float
) -> None:
    """The measures of die-cut sheets as they are common, no source; in inches 5/32 and 3/16."""
    form = FORMATS[key]

    assert form.corner(0) == pytest.approx((left, top), abs=0.02)
    assert form.corner(1)[0] - form.corner(0)[0] == pytest.approx(step)


@by_format
def test_no_ink_lies_where_a_printer_leaves_white(form: SheetFormat) -> None:
    """The code without its white, and the words, of the outermost labels."""
    dark = INSET + QUIET * module_of(form.side, VERSION_5)
    over = (form.height - form.side) / 2 + QUIET * module_of(form.side, VERSION_5)

    assert form.left + dark >= PRINTERS_KEEP
    assert form.top + over >= PRINTERS_KEEP
    words_end = form.corner(form.columns - 1)[0] + form.words_at + form.words_width
    assert form.page[0] - words_end >= round(min(PRINTERS_KEEP, 4.0), 3)
    assert form.words_width > 20


def test_a_sheet_is_named_by_its_measures_alone() -> None:
    """Each by another name, without a word that is no measure."""
    names = [form.name for form in FORMATS.values()]

    assert len(set(names)) == len(names)
    words = {word for name in names for word in name.replace(",", "").split() if word.isalpha()}
    assert words == {"A", "Letter", "labels", "Plain", "to", "cut", "of", "mm", "in"} - {"A"}


@by_format
def test_only_plain_paper_is_cut_and_at_every_corner(form: SheetFormat) -> None:
    """A cross at each corner of each label, on the paper."""
    corners = {form.corner(each) for each in range(form.count)} if form.is_plain else set()

    found = {(round(x, 3), round(y, 3)) for x, y in form.crossings}
    assert {(round(x, 3), round(y, 3)) for x, y in corners} <= found
    assert len(found) == ((form.columns + 1) * (form.rows + 1) if form.is_plain else 0)
    assert all(CUT <= x <= form.page[0] - CUT and CUT <= y <= form.page[1] - CUT for x, y in found)


def test_a_used_sheet_goes_on_where_it_was_left() -> None:
    """Three of fourteen used: eleven on the first sheet, the rest on the next from its start."""
    form = FORMATS["a4-2x7"]

    sheets = sheet_places(form, 15, 3)

    assert [len(sheet) for sheet in sheets] == [11, 4]
    assert sheets[0][0] == form.corner(3)
    assert sheets[1][0] == form.corner(0)
    assert sheet_places(form, 0, 3) == []


@pytest.mark.parametrize("skip", [-1, 14])
def test_more_used_labels_than_a_sheet_has_are_refused(skip: int) -> None:
    """The message names what came in and what a sheet has."""
    with pytest.raises(ValueError, match=f"{skip} came in; a sheet has 14, so 0 to 13"):
        sheet_places(FORMATS["a4-2x7"], 1, skip)


def test_a_phone_reads_a_module_as_far_as_it_covers_two_pixels() -> None:
    """At 60 cm 65 degrees are 764 mm, so a full HD frame has 2.51 pixels for a millimetre."""
    assert pixels_per_mm(600, FRAME_PX) == pytest.approx(2.51, abs=0.01)
    assert read_from(0.8) == pytest.approx(603, abs=1)
    assert read_from(0.8) * pixels_per_mm(read_from(0.8), FRAME_PX) * 0.8 == pytest.approx(
        2 * read_from(0.8)
    )


def test_the_rule_of_ten_is_of_the_dark_side() -> None:
    """A code of 33 modules of 1 mm is 33 mm wide, and read with ease from 33 cm."""
    assert eased_from(1.0, VERSION_4) == 330


@pytest.mark.parametrize(
    ("key", "level"),
    [("a4-3x8", "M"), ("a4-2x7", "M"), ("a4-2x4", "Q"), ("letter-2x5", "Q"), ("letter-3x10", "M")],
)
def test_a_code_bears_as_much_wear_as_arms_length_allows(key: str, level: str) -> None:
    """Versions 4 and 5 are what M and Q take of an address of 57 letters."""
    assert best_level(FORMATS[key].side, {"M": VERSION_4, "Q": VERSION_5}) == level


@by_format
def test_arms_length_is_reached_by_all_but_the_smallest(form: SheetFormat) -> None:
    """The sheet of 1 inch labels is offered with its figure, 41 cm, and not as good as others."""
    reach = read_from(module_of(form.side, VERSION_4))

    assert (reach >= 600) is (form.key != "letter-3x10")
    if form.key == "letter-3x10":
        assert int(reach / 10) == 41


def test_a_path_draws_each_dark_module_once_inside_the_white() -> None:
    """Two rows: runs are joined, and the white of four modules is left round them."""
    assert code_path(((1, 1, 0), (0, 0, 1))) == "M4 4h2v1h-2zM6 5h1v1h-1z"


@given(
    text=st.text(alphabet="abcdef WM-", min_size=1, max_size=120).filter(str.strip),
    width=st.floats(15, 60),
    height=st.floats(5, 30),
)
def test_words_never_leave_their_room(text: str, width: float, height: float) -> None:
    """Whatever a place is called, its lines stay within width and height."""
    words = fit_words(text, width=width, height=height, largest=6, letter=LETTER_WIDTH)

    assert all(len(line) * words.size * LETTER_WIDTH <= width for line in words.lines)
    assert words.height <= max(height, SMALLEST * LEADING) + 1e-9
    assert SMALLEST <= words.size <= 6


def test_words_are_made_smaller_before_they_are_broken() -> None:
    """A long word at the largest size would break; smaller, it stands whole."""
    words = fit_words("Bench-head bin", width=26, height=14, largest=5, letter=LETTER_WIDTH)

    assert words.lines == ("Bench-head", "bin")
    assert words.size < 5


def test_what_does_not_fit_at_the_smallest_is_cut_with_a_sign() -> None:
    """Nothing is left out without saying so."""
    words = fit_words("word " * 40, width=20, height=6, largest=5, letter=LETTER_WIDTH)

    assert words.lines[-1].endswith("…")
    assert len(words.lines) == 2
