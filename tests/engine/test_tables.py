"""The tables: every row has a source, every age one row, and a malformed row is named."""

import csv
import re
from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.engine import tables
from drills.engine.ages import Age, AgeError, read_age
from drills.engine.tables import (
    NotThereError,
    cylinder,
    cylinder_by_key,
    drip_set,
    energy,
    residual,
)
from drills.engine.tables.kinds import CONFIRMED, STATUSES, Banded, Cylinder, Sourced, StartRate
from drills.engine.tables.page import markdown, page_tables
from drills.engine.tables.reading import FOLDER, TableError, read_file
from tests.engine.published import cases, given_in, ids

ALL: tuple[Sequence[Sourced], ...] = (
    *(tables.CYLINDERS, tables.RESIDUALS, tables.LEAST_PRESSURES, tables.DRIP_SETS),
    *(tables.WEIGHT_FORMULAS, tables.SYSTOLIC, tables.VITAL_SIGNS, tables.TUBES_BY_AGE),
    *(tables.TUBES_BY_WEIGHT, tables.ENERGIES, tables.COMA_SCALES, tables.COMA_PATIENTS),
    *(tables.SHOCK_BANDS, tables.BURN_PARTS, (tables.PALM,), tables.BURN_FORMULAS),
    *(tables.START_RATES, tables.INJECTION_SITES),
)
# The rows among which each age has one row, and the first age that has none where it ends.
BANDS: dict[str, tuple[list[Banded], int, int | None]] = {
    "systolic": ([*tables.SYSTOLIC], 0, None),
    "start rates": ([*tables.START_RATES], 0, None),
    "injection sites": ([*tables.INJECTION_SITES], 0, None),
    **{
        f"tubes, {cuff}": ([r for r in tables.TUBES_BY_AGE if r.cuff == cuff], 0, 156)
        for cuff in ("uncuffed", "cuffed")
    },
    **{
        f"{of}: {sign}": ([r for r in tables.VITAL_SIGNS if (r.set, r.sign) == (of, sign)], 0, 216)
        for of, sign in dict.fromkeys((r.set, r.sign) for r in tables.VITAL_SIGNS)
    },
    **{
        f"{chart}: {part}": (
            [r for r in tables.BURN_PARTS if (r.chart, r.part) == (chart, part)],
            0,
            None,
        )
        for chart, part in dict.fromkeys((r.chart, r.part) for r in tables.BURN_PARTS)
    },
    **{
        name: ([r for r in tables.WEIGHT_FORMULAS if r.formula == name], first, end)
        for name, first, end in (
            ("Luscombe and Owens", 12, 132),
            ("Luscombe and Owens to 13", 12, 168),
            ("older APLS", 12, 132),
            ("APLS bands", 0, 156),
            ("Trinidad", 12, 72),
        )
    },
}


class TestRows:
    def test_every_row_has_a_source_and_a_known_status(self) -> None:
        """No figure stands without saying where it is from."""
        for rows in ALL:
            assert rows
            assert all(row.source and row.status in STATUSES for row in rows)

    def test_nothing_is_confirmed_by_a_source_without_its_name(self) -> None:
        """A reader must be able to look it up; a name has a capital, "a web page" has none."""
        unnamed = [
            row
            for rows in ALL
            for row in rows
            if row.status == CONFIRMED and not row.source[0].isupper()
        ]
        assert not unnamed

    def test_every_file_is_loaded_whole(self) -> None:
        """A file that nothing reads, or a row that is lost, would be a figure nobody checks."""
        written = [
            len(list(csv.reader(path.read_text(encoding="utf-8").splitlines()))) - 1
            for path in FOLDER.glob("*.csv")
        ]

        assert sorted(written) == sorted(map(len, ALL))

    def test_no_row_is_there_twice(self) -> None:
        """Two rows under one name would leave the choice to their order."""
        names = [
            *(("cylinder", row.list, row.letter) for row in tables.CYLINDERS),
            *(("cylinder", row.key) for row in tables.CYLINDERS),
            *(("residual", row.key) for row in tables.RESIDUALS),
            *(("drip set", row.key) for row in tables.DRIP_SETS),
            *(("energy", row.use, row.step) for row in tables.ENERGIES),
            *(("points", row.scale, row.part, row.points) for row in tables.COMA_SCALES),
            *(("words", row.scale, row.part, row.words) for row in tables.COMA_SCALES),
        ]

        assert [name for name, count in Counter(names).items() if count > 1] == []

    @pytest.mark.parametrize("name", BANDS)
    def test_every_age_has_one_row(self, name: str) -> None:
        """No gap and no overlap, month by month, to where the table ends."""
        rows, first, end = BANDS[name]
        counts = {
            months: sum(
                row.from_months <= months
                and (row.below_months is None or months < row.below_months)
                for row in rows
            )
            for months in range(130 * 12)
        }

        assert counts == {
            months: int(first <= months and (end is None or months < end)) for months in counts
        }

    def test_every_banded_row_is_in_a_checked_band(self) -> None:
        """A formula or a set that is added later does not slip past the test above."""
        checked = {id(row) for rows, _, _ in BANDS.values() for row in rows}

        assert [
            row
            for rows in ALL
            for row in rows
            if isinstance(row, Banded) and id(row) not in checked
        ] == []

    def test_the_weights_of_tubes_follow_on_each_other(self) -> None:
        """Each band of weight begins where the one before ends."""
        for cuff in ("uncuffed", "cuffed"):
            rows = [row for row in tables.TUBES_BY_WEIGHT if row.cuff == cuff]
            assert [r.from_kg for r in rows] == [Fraction(6), *(r.below_kg for r in rows[:-1])]
            assert all(row.from_kg < row.below_kg for row in rows)

    def test_what_is_low_is_no_more_than_what_is_high(self) -> None:
        """A range the wrong way round would let no answer be right."""
        ranges = [
            *((row, row.low, row.high) for row in tables.VITAL_SIGNS),
            *((row, row.low, row.high) for row in tables.ENERGIES),
            *((row, row.low, row.high) for row in tables.BURN_FORMULAS),
        ]

        assert [row for row, low, high in ranges if not 0 < low <= high] == []

    def test_shock_bands_rise_to_one_without_end(self) -> None:
        """Every index has one word in every set."""
        sets = defaultdict(list)
        for row in tables.SHOCK_BANDS:
            sets[row.set].append(row.up_to)
        for limits in sets.values():
            *ends, last = limits
            assert last is None
            assert ends == sorted({end for end in ends if end is not None})


class TestLookUps:
    @pytest.mark.parametrize("row", cases("cylinder_factor", "cylinder_litres"), ids=ids)
    def test_a_letter_is_of_its_list(self, row: dict[str, str]) -> None:
        """Factor and litres as printed, by list and letter."""
        asked = given_in(row)
        found = cylinder(asked["letter"], asked["list"])

        told = found.litres_per_psi if row["kind"] == "cylinder_factor" else found.litres
        assert told == Fraction(row["answer"])

    def test_a_letter_alone_is_of_the_us_list(self) -> None:
        """E is 0.28 there and 0.34 in the international list."""
        assert cylinder("e") == cylinder("E", "US letters") != cylinder("E", "international list")

    def test_a_key_names_letter_and_list(self) -> None:
        """Each size is found by its own key."""
        assert [cylinder_by_key(row.key) for row in tables.CYLINDERS] == [*tables.CYLINDERS]

    def test_litres_agree_with_the_factor_but_for_the_one_that_is_noted(self) -> None:
        """At 2,200 psi, within two in a hundred; the size M is known not to."""
        off = [
            row.letter
            for row in tables.CYLINDERS
            if row.list == tables.US_LETTERS
            and row.litres
            and abs(row.litres_per_psi * 2200 / row.litres - 1) > Fraction(2, 100)
        ]

        assert off == ["M"]
        assert "do not agree" in cylinder("M").note

    @pytest.mark.parametrize("row", cases("flagged_gas_volume"), ids=ids)
    def test_the_printed_greatest_pressures_are_not_used(self, row: dict[str, str]) -> None:
        """With the factor they give far more than the printed litres."""
        has = given_in(row)
        held = has["factor"] * has["psi"]

        assert held == Fraction(row["exact"])
        assert cylinder(row["id"][-1]).litres_per_psi == has["factor"]
        assert held > Fraction(row["answer"]) * Fraction(3, 2)

    @pytest.mark.parametrize(
        "row", cases("oxygen_min_pressure", "flagged_oxygen_min_pressure"), ids=ids
    )
    def test_least_pressures_are_the_published_ones(self, row: dict[str, str]) -> None:
        """Three last as long as the regulation says; the fourth falls short and says so."""
        has = given_in(row)
        (least,) = [each for each in tables.LEAST_PRESSURES if each.psi == has["psi"]]
        size = cylinder_by_key(least.cylinder)

        lasts = (least.psi - residual().psi) * size.litres_per_psi / least.litres_per_min
        assert size.litres_per_psi == has["factor"]
        assert residual().psi == has["residual"]
        assert lasts == Fraction(row["exact"])
        falls_short = row["kind"].startswith("flagged")
        assert (lasts < least.minutes) == falls_short == ("falls short" in least.note)
        assert least.minutes == Fraction(row["answer"])

    @pytest.mark.parametrize("row", cases("energy"), ids=ids)
    def test_an_energy_is_by_weight_up_to_its_most(self, row: dict[str, str]) -> None:
        """Two, then four joules for each kg, and never more than 200."""
        has = given_in(row)
        step = energy("defibrillation", has["step"])

        assert step.most_j is not None
        assert min(step.low * has["kg"], step.most_j) == Fraction(row["answer"])
        assert step.low == step.high

    @pytest.mark.parametrize(
        ("asked", "told"),
        [
            (lambda: cylinder("Q"), "'Q' is no cylinder among US letters; accepted is D, E, M, G,"),
            (lambda: cylinder("J"), "accepted is D, E, M, G, H, K."),
            (lambda: cylinder("E", "mine"), "accepted is US letters, international list."),
            (lambda: cylinder_by_key("us-z"), "accepted is us-d, us-e,"),
            (lambda: residual("full"), "accepted is usual, early swap, none."),
            (lambda: drip_set("12"), "accepted is 10, 15, 20, 60."),
            (lambda: energy("pacing", "first"), "accepted is defibrillation, cardioversion."),
            (lambda: energy("cardioversion", "later"), "accepted is first, second."),
        ],
    )
    def test_what_is_not_there_is_told_with_what_is(self, asked, told: str) -> None:
        """The error names what came in and everything that is accepted."""
        with pytest.raises(NotThereError) as error:
            asked()
        assert told in str(error.value)

    @pytest.mark.parametrize("size", [10, 15, 20, 60])
    def test_a_drip_set_is_named_by_its_drops(self, size: int) -> None:
        """Macro sets to 20, the micro set 60."""
        found = drip_set(str(size))

        assert found.gtt_per_ml == size
        assert found.size == ("micro" if size == 60 else "macro")

    def test_an_age_outside_every_band_is_told(self) -> None:
        """With the ages for which there is something."""
        luscombe = [row for row in tables.WEIGHT_FORMULAS if row.formula == "Luscombe and Owens"]
        with pytest.raises(NotThereError, match="from 1 year to below 11 years"):
            tables.at_age("this formula", Age(6), luscombe)
        late = [replace(row, from_months=12) for row in tables.START_RATES[-1:]]
        with pytest.raises(NotThereError, match=r"ages from 1 year\.$"):
            tables.at_age("this rate", Age(6), late)


GOOD = "word,from_months,below_months,ml_per_h,source,status,note\n"


class TestMalformed:
    @pytest.mark.parametrize(
        ("text", "told"),
        [
            ("", "start_rates.csv line 1: ; needed are below_months, from_months,"),
            ("word,ml_per_h\n", "line 1: word, ml_per_h; needed are"),
            (GOOD, "start_rates.csv: no row"),
            (GOOD + "a,0,1,125,s,ours\n", "line 2: 6 cells; 7 are needed"),
            (GOOD + "a,0,1,125,s,ours,,\n", "line 2: 8 cells; 7 are needed"),
            (GOOD + "a,0,1,125,s,ours,\nb,1,,fast,s,ours,\n", "line 3, ml_per_h: 'fast'"),
            (GOOD + "a,0,1,1e3,s,ours,\n", "line 2, ml_per_h: '1e3'; accepted is a number"),
            (GOOD + "a,0,1,1/3,s,ours,\n", "line 2, ml_per_h: '1/3'"),
            (GOOD + "a,0,1,,s,ours,\n", "line 2, ml_per_h: ''"),
            (GOOD + "a,0.5,1,125,s,ours,\n", "line 2, from_months: '0.5'; accepted is a whole"),
            (GOOD + "a,0,-1,125,s,ours,\n", "line 2, below_months: '-1'; accepted is a whole"),
            (GOOD + "a,6,6,125,s,ours,\n", "line 2, below_months: 6 is no later"),
            (GOOD + "a,0,0,125,s,ours,\n", "line 2, below_months: 0 is no later"),
            (GOOD + "a,0,1,125,,ours,\n", "line 2, source: ''; accepted is a text"),
            (GOOD + "a,0,1,125,s,,\n", "line 2, status: ''"),
            (GOOD + "a,0,1,125,s,sure,\n", "'sure'; accepted is confirmed or from memory or ours"),
            (GOOD + "a,0,1,125,s ,ours,\n", "line 2, source: 's '"),
        ],
    )
    def test_a_malformed_row_is_named_by_file_and_line(
        self, tmp_path: Path, text: str, told: str
    ) -> None:
        """Nothing of a file with a fault is used; the error says where and what is accepted."""
        path = tmp_path / "start_rates.csv"
        path.write_text(text, encoding="utf-8")

        with pytest.raises(TableError) as error:
            read_file(path, StartRate)
        assert told in str(error.value)

    @pytest.mark.parametrize("told", ["YES", "true", "1", ""])
    def test_yes_and_no_are_the_only_words_for_it(self, tmp_path: Path, told: str) -> None:
        """A capital or a figure is no answer."""
        path = tmp_path / "burn_parts.csv"
        text = (
            (FOLDER / "burn_parts.csv").read_text(encoding="utf-8").replace(",yes,", f",{told},", 1)
        )
        path.write_text(text, encoding="utf-8")

        with pytest.raises(TableError, match=r"burn_parts\.csv line 3, .*accepted is yes or no"):
            read_file(path, type(tables.BURN_PARTS[0]))

    def test_a_row_is_read_by_its_header(self, tmp_path: Path) -> None:
        """Columns may stand in any order; a number is exact and a missing one is none."""
        path = tmp_path / "cylinders.csv"
        path.write_text(
            "letter,key,list,litres,litres_per_psi,note,status,source\nX,x,mine,,0.1,,ours,me\n",
            encoding="utf-8",
        )

        (found,) = read_file(path, Cylinder)
        assert found == Cylinder(
            key="x",
            list="mine",
            letter="X",
            litres_per_psi=Fraction(1, 10),
            litres=None,
            source="me",
            status="ours",
            note="",
        )


class TestAges:
    @pytest.mark.parametrize(
        ("text", "months"),
        [("5 years", 60), ("1 y", 12), ("7 months", 7), ("0 mo", 0), (" 18months ", 18)],
    )
    def test_an_age_is_read(self, text: str, months: int) -> None:
        """In whole years or whole months."""
        assert read_age(text) == Age(months)

    @pytest.mark.parametrize("text", ["", "5", "-1 years", "2.5 years", "5 weeks", "131 years"])
    def test_what_is_no_age_is_refused(self, text: str) -> None:
        """The error names it."""
        with pytest.raises(AgeError, match=r"no age; "):
            read_age(text)

    @given(st.integers(0, 130 * 12))
    def test_an_age_is_told_as_it_is_read(self, months: int) -> None:
        """Below a year to the month, then to the year."""
        age = Age(months)

        told = read_age(str(age))
        assert told == (age if months < 12 else Age.of_years(age.years))
        assert age.years * 12 <= months < (age.years + 1) * 12


class TestPage:
    def test_every_row_is_printed_with_source_and_status(self) -> None:
        """The manual shows each figure with where it is from."""
        shown = page_tables()

        assert [len(table.rows) for table in shown] == [len(rows) for rows in ALL]
        for table, rows in zip(shown, ALL, strict=True):
            assert [said[0] for said in table.said] == [
                f"{row.source} ({row.status})" for row in rows
            ]
            assert [said[1:] for said in table.said] == [
                (row.note,) if row.note else () for row in rows
            ]
            assert all(len(cells) == len(table.header) for cells in table.rows)

    @pytest.mark.parametrize(
        "line",
        [
            "| US letters | G | 2.41 |  | 1, 5 |",
            "| 10 years to under 15 years | age-banded chart | thigh | 4.25 | 0 | yes | yes | 4.5",
            "| under 10 years | rule of nines | head | 18 | -1 | no | no |  | 1, 5 |",
            "| ABLS 2010 | thermal or chemical | child | 15 years | 40 | 3 | 3 |",
            "| from 14 years | 500 |",
            "| 3 years to under 18 years | 3 |",
        ],
    )
    def test_a_row_is_printed_as_it_is_used(self, line: str) -> None:
        """Ages, numbers, yes and no, in words of the trade."""
        assert line in markdown()

    def test_every_row_leads_to_what_is_said_of_it(self) -> None:
        """By numbers, or all of them to the one source that there is."""
        texts = re.split("^### ", markdown(), flags=re.M)[1:]
        for table, text in zip(page_tables(), texts, strict=True):
            beneath = dict(re.findall(r"^(\d+)\. (.*)$", text, re.M))
            numbers = re.findall(r"\| (\d+(?:, \d+)*) \|$", text, re.M)

            if beneath:
                found = [tuple(beneath[each] for each in row.split(", ")) for row in numbers]
                assert tuple(found) == table.said
            else:
                (source,) = {*table.said}
                assert text.rstrip().endswith(f"\n\nSource: {source[0]}.")

    def test_markdown_has_a_heading_for_each_table(self) -> None:
        """At the depth that the chapter wants."""
        text = markdown("##")

        assert [line for line in text.splitlines() if line.startswith("#")] == [
            f"## {table.title}" for table in page_tables()
        ]
