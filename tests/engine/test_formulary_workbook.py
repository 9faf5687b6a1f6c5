"""The formulary workbook: what is read, what is refused and in which words, what is remarked."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from drills.engine.formulary_workbook import blank_book, read_book
from drills.engine.formulary_workbook.columns import COLUMNS, MOST_RULES
from tests.engine.formulary_files import (
    BY_WEIGHT,
    KNOWN,
    demonstration,
    good,
    read,
    rule_row,
    with_cell,
    with_rule,
)
from tests.engine.workbook_files import as_csv, as_xlsx, as_zip, csv_zip


def problems(sheets):
    parsed = read(sheets)
    assert parsed.book is None
    return [str(each) for each in parsed.problems]


def remarks(sheets):
    parsed = read(sheets)
    assert parsed.book is not None, parsed.problems
    return [str(each) for each in parsed.remarks]


def rule(sheets, at=0):
    parsed = read(sheets)
    assert parsed.book is not None, parsed.problems
    return parsed.book.rules[at]


def packed(sheets):
    parsed = read(sheets)
    assert parsed.book is not None, parsed.problems
    return parsed.book.presentations[0]


def test_a_good_workbook_is_read_whole():
    """Every column of the form is filled, and each lands in its own value."""
    parsed = read(good())

    assert parsed.problems == parsed.remarks == ()
    assert (parsed.book.name, parsed.book.document, parsed.book.version, parsed.book.date) == (
        *("County formulary", "County protocols", "2026"),
        date(2026, 7, 1),
    )
    assert parsed.book.notes == "first line\nsecond line"
    first = parsed.book.rules[0]
    assert first.problems == (("seizure", ()), ("hypoglycaemia", (2, 3)))
    assert (first.age_from_y, first.weight_below_kg) == (Decimal("0.5"), Decimal("40"))
    assert (first.dose, first.dose_high, first.minimum, first.maximum, first.max_total) == (
        *("0.1 mg/kg", "0.2 mg/kg", "0.5 mg", "10 mg", "0.5 mg/kg"),
    )
    assert (first.mixed, first.error_limit, first.repeat_times) == (True, 10, 1)
    assert all(getattr(first, column) not in ("", None, ()) for column in COLUMNS["rules"])


def test_the_demonstration_is_a_workbook_without_a_problem():
    """Published rules pass every check; what cannot be approved is remarked, rule by rule."""
    sheets, known = demonstration()

    parsed = read(sheets, known)

    assert parsed.problems == ()
    assert len(parsed.book.rules) == 76
    assert {each.text for each in parsed.remarks} == {
        "from memory, so the rule cannot be approved",
        "demonstration value, so the rule cannot be approved",
    }


def test_a_spreadsheet_and_csv_files_say_the_same(tmp_path):
    """An .xlsx, a .zip and a folder of one formulary are one formulary."""
    for name, content in as_csv(good(), delimiter=";", newline="\r\n").items():
        (tmp_path / name).write_bytes(content)

    found = [read_book(source, KNOWN).book for source in (as_xlsx(good()), tmp_path)]

    assert found == [read(good()).book] * 2


def test_a_ratio_is_read_and_kept_as_mg_per_ml():
    """A single medicine for injection is never written as a ratio."""
    assert packed(with_cell("presentations", "strength", "1:10,000")).strength == "0.1 mg/mL"


@pytest.mark.parametrize(
    ("given", "kept"),
    [
        (".5 mg/kg", "0.5 mg/kg"),
        ("0,15 mg/kg", "0.15 mg/kg"),
        ("100 ug/kg", "100 mcg/kg"),
        ("0.1234567 mg per kg", "0.1234567 mg/kg"),
    ],
)
def test_an_amount_is_kept_in_one_writing(given, kept):
    """The figures stay what they are, however many; only the writing is ours."""
    assert rule(with_rule(dose=given, dose_high="1 mg/kg", minimum=""), at=2).dose == kept


# The changed cells of a rule, the column that is blamed, and words of its sentence.
REFUSED = [
    ({"dose": "0.1"}, "dose", '"0.1" came in'),
    ({"dose": "0 mg/kg"}, "dose", "more than 0"),
    ({"dose": "2000000 mg/kg"}, "dose", "at most 1,000,000"),
    ({"dose": "0.1 mg"}, "dose", "what is counted range per kg, such as 0.5 g/kg"),
    ({"dose": "0.1 mg/kg/min"}, "dose", "what is counted range per kg"),
    ({"dose": "5 mL/kg"}, "dose", "what is counted range per kg"),
    ({"dose": ""}, "dose", "no value came in"),
    ({"dose_high": ""}, "dose_high", "the other end of the range"),
    ({"dose_high": "0.2 mEq/kg"}, "dose_high", "an amount of the same kind as 0.1 mg/kg"),
    ({"dose_high": "0.1 mg/kg"}, "dose_high", "more than the dose, 0.1 mg/kg"),
    ({"dose_high": "90 mcg/kg"}, "dose_high", "more than the dose, 0.1 mg/kg"),
    ({"basis": "per stone"}, "basis", "one of fixed, per kg, range"),
    ({"basis": ""}, "basis", "no value came in"),
    ({"basis": "per minute"}, "dose", "what is counted per minute, such as 2 mcg/min"),
    ({"basis": "per kg per minute"}, "dose", "such as 5 mcg/kg/min"),
    ({"basis": "J per kg"}, "dose", "what is counted J per kg, such as 2 J/kg"),
    ({"minimum": "0.5 mg/kg"}, "minimum", "an amount of one whole dose, in mg"),
    ({"maximum": "10 mL"}, "maximum", "an amount of one whole dose, in mg"),
    ({"maximum": "0.4 mg"}, "maximum", "which is less than the minimum 0.5 mg"),
    ({"max_total": "3 mg/min"}, "max_total", "in mg or mg/kg"),
    ({"max_total": "0.05 mg/kg"}, "max_total", "at least one dose, 0.1 mg/kg"),
    ({"age_below_y": "0.5"}, "age_below_y", "more years than age_from_y says"),
    ({"age_from_y": "131"}, "age_from_y", "at most 130"),
    ({"age_from_y": "0.0001"}, "age_from_y", "at most 3 decimals"),
    ({"age_from_y": "", "age_below_y": "0"}, "age_below_y", "which nobody is below"),
    ({"weight_below_kg": "2"}, "weight_below_kg", "more kg than weight_from_kg says"),
    ({"weight_from_kg": "-3"}, "weight_from_kg", '"-3" came in'),
    ({"level": "surgeon"}, "level", "one of emt, advanced-emt, paramedic"),
    ({"medicine": "testamin"}, "medicine", "perhaps testamine"),
    ({"presentations": "testamine-vail"}, "presentations", "perhaps testamine-vial"),
    ({"presentations": "testol-1000"}, "presentations", "which is testol, came in"),
    ({"problems": "seizure severe"}, "problems", "such as hypoglycaemia 2 3; seizure"),
    ({"problems": "seizure 1; seizure 2"}, "problems", "for the second time"),
    ({"code": "T 1"}, "code", "letters, digits, hyphens and points"),
    ({"code": "t1"}, "code", "which row 2 has too"),
    ({"repeat_min": "2.5"}, "repeat_min", "a whole number"),
    ({"over_min": "0"}, "over_min", "at least 1"),
    ({"error_limit": "20"}, "error_limit", "at most 19"),
    ({"take": "1 mg/kg"}, "take", "an amount or a volume"),
    ({"diluent_volume": "9 mg"}, "diluent_volume", "a volume in mL or L"),
    ({"final_strength": "5 mg"}, "final_strength", "a strength per mL"),
    ({"final_strength": "5 mEq/mL"}, "final_strength", "what holds the 0.1 mg/kg of the dose"),
    ({"mixed": "perhaps"}, "mixed", "yes or no"),
    ({"date": "25.11.2026"}, "date", "a date such as"),
    ({"status": "sure"}, "status", "one of confirmed, from memory, demonstration value"),
    ({"route": ""}, "route", "no value came in"),
    ({"indication": "x" * 201}, "indication", "at most 200 characters"),
]


@pytest.mark.parametrize(("changed", "column", "said"), REFUSED)
def test_a_wrong_cell_of_a_rule_is_named(changed, column, said):
    """One problem or more, all of the row, and the column's own sentence says what is accepted."""
    found = read(with_rule(**changed))

    assert found.book is None
    assert {(each.sheet, each.row) for each in found.problems} == {("rules", 4)}
    of_column = [str(each) for each in found.problems if each.column == column]
    assert any(said in sentence for sentence in of_column), found.problems


def test_a_dose_is_held_against_a_maximum_of_its_own_kind_alone():
    """A fixed dose above its maximum is refused; one per kg is not compared with a whole dose."""
    fixed = {"basis": "fixed", "dose_high": "", "minimum": "", "max_total": ""}

    (told,) = problems(with_rule(**fixed, dose="0.02 g", maximum="10 mg"))

    assert told.endswith(
        'row 4, column maximum: "10 mg" came in; accepted is at least the dose, 0.02 g.'
    )
    assert rule(with_rule(**fixed, dose="0.01 g", maximum="10 mg"), at=2).dose == "0.01 g"
    assert rule(with_rule(maximum="0.5 mg"), at=2).maximum == "0.5 mg"


def test_a_rate_by_weight_may_be_limited_by_weight():
    """Whole or per kg, a limit of a rate is a rate; an amount alone is none."""
    rate = {"basis": "per kg per minute", "dose": "2 mcg/kg/min", "dose_high": "20 mcg/kg/min"}
    rate |= {"minimum": "", "max_total": ""}

    assert rule(with_rule(**rate, maximum="20 mcg/kg/min"), at=2).maximum == "20 mcg/kg/min"
    assert rule(with_rule(**rate, maximum="2 mg/min"), at=2).maximum == "2 mg/min"
    (told,) = problems(with_rule(**rate, maximum="2 mg"))
    assert '"2 mg" came in; accepted is an amount of one whole dose, in mcg/min' in told


@pytest.mark.parametrize(
    ("column", "given", "said"),
    [
        ("key", "Testamine vial", "lower-case letters"),
        ("medicine", "nothing", "a key of the medicines sheet"),
        ("strength", "strong", "an amount per mL"),
        ("strength", "1:7", "a strength that ends"),
        ("strength", "120 %", "no more than 100 %"),
        ("strength", "", "a strength, or a volume for a plain fluid"),
        ("strength", "10 mEq / 2 mL", "what holds the 0.1 mg/kg of the dose"),
        ("volume", "3 mL", "2 mL, as the strength says, or nothing"),
        ("volume", "3 mg", "a volume in mL or L"),
        ("container", "barrel", "one of vial, ampoule"),
        ("need", "testamin-vial", "perhaps testamine-vial"),
    ],
)
def test_a_wrong_cell_of_a_presentation_is_named(column, given, said):
    """What came in and what would have been accepted, on the sheet that it is about."""
    found = problems(with_cell("presentations", column, given))

    assert any(said in sentence for sentence in found), found


def test_a_medicine_keeps_the_name_it_has_here():
    """A name is the same in every revision, so a workbook cannot rename what was approved."""
    (told,) = problems(with_cell("medicines", "name", "Testamin"))

    assert told == (
        'Sheet medicines, row 2, column name: "Testamin" came in; accepted is "Testamine", as this '
        "key is called in every revision, or a key of its own."
    )


def test_every_error_comes_at_once_in_the_order_of_the_sheets():
    """Wrong cells on three sheets are three problems of one reading."""
    sheets = with_rule(dose="lots", level="surgeon")
    sheets["medicines"][2][1] = ""
    sheets["presentations"][1][4] = "barrel"

    found = [(each.sheet, each.row, each.column) for each in read(sheets).problems]

    assert found == [
        ("medicines", 3, "name"),
        ("presentations", 2, "container"),
        ("rules", 4, "dose"),
        ("rules", 4, "level"),
    ]


def test_who_names_a_refused_key_is_not_blamed_for_it():
    """One wrong key is one problem, however many rules speak of it."""
    sheets = good()
    for rows, at in ((sheets["medicines"], 0), (sheets["presentations"], 1), (sheets["rules"], 1)):
        rows[1][at] = "test_amine"

    (told,) = problems(sheets)

    assert told.startswith("Sheet medicines, row 2, column key:")


@pytest.mark.parametrize("sheet", COLUMNS)
def test_a_sheet_that_is_missing_is_one_problem(sheet):
    """Cells that speak of what could not be read are not refused beside it."""
    sheets = {name: rows for name, rows in good().items() if name != sheet}

    found = read(sheets).problems

    assert {each.sheet for each in found} == {sheet}
    assert found[0].got == "no such sheet"


def test_a_layout_is_no_formulary():
    """Another format is refused by its name, and so is a sheet without rules."""
    other = with_cell("formulary", "format", "readiness-layout/1")
    empty = good() | {"rules": [list(COLUMNS["rules"])]}

    assert "the value readiness-formulary/1" in problems(other)[0]
    assert problems(empty) == ["Sheet rules: no rule came in; accepted is at least one."]


def test_more_rules_than_can_be_shown_are_refused():
    """The limit is of rows, told with how many there are."""
    sheets = good()
    sheets["rules"] += [rule_row(BY_WEIGHT | {"code": f"N{n}"}) for n in range(MOST_RULES)]

    assert f"{MOST_RULES + 2} rows came in; accepted is at most {MOST_RULES}" in problems(sheets)[0]


def test_what_an_approval_will_ask_for_is_only_remarked():
    """A draft without its sources is read; each rule says what it lacks."""
    assert remarks(with_rule(source="", page="")) == [
        "Sheet rules, row 4, column source: no source and no page, so the rule cannot be approved."
    ]
    assert remarks(with_rule(status="from_memory")) == [
        "Sheet rules, row 4, column status: from memory, so the rule cannot be approved."
    ]
    silent = with_rule(status="")
    assert rule(silent, at=2).status == "from memory"
    assert "counts as from memory" in remarks(silent)[0]


def test_unknown_columns_and_unused_medicines_are_kept_out_and_said():
    """Neither stops anything, neither is stored, and both are told."""
    sheets = good()
    for row, cell in zip(sheets["rules"], ("colour", "red", "blue"), strict=True):
        row.append(cell)
    sheets["medicines"].append(["unused", "Unused"])

    told = remarks(sheets)

    assert any('column "colour": this column is not known and is kept out' in each for each in told)
    assert any("nothing is said of unused" in each for each in told)
    assert read(sheets).book == read(good()).book


def test_a_problem_that_no_rule_spoke_of_before_is_asked_about():
    """It may be new or misspelt; both are kept, and said."""
    told = remarks(with_rule(problems="siezure"))

    assert told == ['Sheet rules, row 4, column problems: no rule here spoke of "siezure" before.']


@pytest.mark.parametrize(
    ("changed", "made"),
    [
        ({"final_strength": "5 mg/mL"}, "0.555556 mg/mL or 0.5 mg/mL"),
        ({"take": "", "diluent_volume": "8 mL"}, "1.25 mg/mL or 1 mg/mL"),
        ({"take": "10 mg", "diluent_volume": "100 mL"}, "0.1 mg/mL or 0.0980392 mg/mL"),
    ],
)
def test_a_mixture_whose_figures_do_not_agree_is_remarked(changed, made):
    """Made up to the volume, or with the volume added: one of the two should be what is said."""
    (told,) = remarks(with_rule(**changed))

    assert f"take and diluent_volume make {made} of it" in told


def test_a_blank_workbook_asks_for_a_name_and_a_rule_and_nothing_else():
    """Every header is there already."""
    found = read_book(blank_book(), KNOWN)

    assert {(each.sheet, each.column) for each in found.problems} == {
        ("formulary", "name"),
        ("rules", ""),
    }


def test_what_is_the_same_reads_the_same():
    """Case and spaces of keys, words and levels do not matter."""
    plain = with_rule(
        medicine="TESTAMINE",
        presentations=" Testamine-Vial ;testamine-vial",
        level="Paramedic",
        basis="Range_per-KG",
        status="Confirmed",
    )

    assert rule(plain, at=2) == replace(rule(good()), code="T9")


def test_a_byte_that_is_not_text_is_a_problem_of_its_sheet():
    """The other sheets are read all the same."""
    files = as_csv(with_rule(level="surgeon")) | {"medicines.csv": b"key,name\n\xff,x\n"}
    found = read_book(csv_zip(good()), KNOWN), read_book(as_zip(files), KNOWN)

    assert found[0].problems == ()
    assert {(each.sheet, each.row) for each in found[1].problems} == {
        ("medicines", 2),
        ("rules", 4),
    }
