"""Triage: every vignette, every patient there can be, and what cannot be."""

import csv
import json
from collections.abc import Iterator
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drills.engine.tables.kinds import CONFIRMED, STATUSES, Sourced
from drills.engine.tables.reading import TableError
from drills.engine.triage import (
    CATEGORIES,
    CHARTS,
    DIFFERENCES,
    FAMILY,
    LIFESAVING,
    ORDER,
    SECOND_LOOKS,
    charts,
    salt_order,
    second_look,
    triage,
)
from drills.engine.triage.charts import Branch, Chart
from drills.engine.triage.field import CRITERIA
from drills.engine.triage.findings import READERS, FindingError
from tests.engine.triage_published import SCHEMES, SENTENCES, SPACES, NeedsError, cannot_be

DATA = Path(__file__).parents[1] / "data"
ALL: tuple[tuple[Sourced, ...], ...] = (
    *(CATEGORIES, SECOND_LOOKS, LIFESAVING, DIFFERENCES, CRITERIA.branches, ORDER.branches),
    *(each.branches for each in CHARTS.values()),
)


def rows(name: str) -> list[dict[str, Any]]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return [{**row, "findings": json.loads(row["findings"])} for row in csv.DictReader(file)]


VIGNETTES, BOUNDARIES = rows("triage_vignettes.csv"), rows("triage_boundaries.csv")
# Untold they have an answer, so telling them may be what decides.
LOOKED_FOR = {
    ("salt", "breathes_after_rescue_breaths"),
    ("jumpstart", "walked_before_event"),
}


def patients(scheme: str) -> Iterator[dict[str, Any]]:
    """Everybody whom the findings of a scheme tell apart, with all that may be unknown."""
    space = SPACES[scheme]
    for values in product(*space.values()):
        known = dict(zip(space, values, strict=True))
        if not cannot_be(known):
            yield known


class TestPublished:
    @pytest.mark.parametrize(
        "row", VIGNETTES, ids=lambda row: f"{row['id']}-{row['scheme']}{row['perfusion']}"
    )
    def test_every_vignette_has_its_category(self, row: dict[str, Any]) -> None:
        """Each patient of the set, by each scheme that the set answers for."""
        told = {"perfusion": row["perfusion"]} if row["perfusion"] else {}

        found = triage(row["scheme"], {**row["findings"], **told})

        assert (found.category, found.needs) == (row["category"], None)

    @pytest.mark.parametrize("row", BOUNDARIES, ids=lambda row: row["id"])
    def test_every_threshold_stands_where_it_is_published(self, row: dict[str, Any]) -> None:
        """On it, beside it, and which question comes next."""
        found = triage(row["scheme"], row["findings"])

        assert (found.category or "", found.needs or "") == (row["category"], row["needs"])

    def test_every_category_is_met(self) -> None:
        """A set that never reaches one would not see it go wrong."""
        met = {(row["scheme"], row["category"]) for row in (*VIGNETTES, *BOUNDARIES)}

        assert {(name, end) for name, each in CHARTS.items() for end in each.categories} <= met


class TestEveryPatient:
    @pytest.mark.parametrize("scheme", SCHEMES)
    def test_there_is_one_category_or_one_finding_needed_as_published(self, scheme: str) -> None:
        """All patients of the scheme, the unknown among them, against a second writing of it."""
        count = 0
        for known in patients(scheme):
            found = triage(scheme, known)
            expected: tuple[str | None, str | None]
            try:
                expected = (SCHEMES[scheme](known), None)
            except NeedsError as missing:
                expected = (None, str(missing))
            assert (found.category, found.needs) == expected, known
            count += 1

        assert count > 5_000

    @pytest.mark.parametrize("scheme", SCHEMES)
    def test_of_whom_all_is_known_exactly_one_sentence_is_true(self, scheme: str) -> None:
        """The categories leave nobody out, and nobody is in two."""
        known_well = (each for each in patients(scheme) if None not in each.values())
        for known in known_well:
            true = [name for name, is_so in SENTENCES[scheme](known).items() if is_so]
            assert [triage(scheme, known).category] == true, known

    @pytest.mark.parametrize("scheme", SCHEMES)
    @given(data=st.data())
    def test_more_findings_than_needed_change_nothing(
        self, scheme: str, data: st.DataObject
    ) -> None:
        """Whatever else is told, a category stands, but for two that are looked for untold."""
        space = SPACES[scheme]
        known = {name: data.draw(st.sampled_from(values), name) for name, values in space.items()}
        told = {
            name: data.draw(st.sampled_from([True, False, None]))
            for name in READERS
            if name not in {*space, "rate", "refill_s", "avpu", "perfusion"}
        }
        for name in [name for name, value in known.items() if value is None]:
            if (scheme, name) not in LOOKED_FOR:
                told[name] = data.draw(st.sampled_from(space[name]), f"more: {name}")
        if cannot_be(known) or cannot_be({**known, **told}):
            return

        first, then = triage(scheme, known), triage(scheme, {**known, **told})

        assert first.category in {None, then.category}

    @pytest.mark.parametrize("scheme", SCHEMES)
    def test_what_is_needed_is_not_told_yet(self, scheme: str) -> None:
        """Answering what is asked for leads to the end, and nothing is asked twice."""
        answers = {"rate": 20, "refill_s": 1, "avpu": "P", "breathes": False, "walks": False}
        known: dict[str, Any] = {}
        while (found := triage(scheme, known)).category is None:
            assert found.needs is not None
            assert found.needs not in known
            known[found.needs] = answers.get(found.needs, False)

        assert found.category in CHARTS[scheme].categories


class TestPath:
    def test_the_branch_taken_is_told_in_lines(self) -> None:
        """With the figure that decided, and the category with its colour at the end."""
        found = triage("start", {"walks": False, "breathes": True, "rate": 31})

        assert list(found.path) == [
            "Does not walk.",
            "Breathes.",
            "Breathes 31 a minute: over 30.",
            "Immediate (red).",
        ]

    def test_each_line_has_its_row_and_the_row_its_source(self) -> None:
        """A debrief can say where each line is from."""
        found = triage("salt", {"breathes": True, "pulse": False, "survivable": False})

        assert [row.leads_to for row in found.rows] == ["signs", "survival", "expectant"]
        assert list(found.path[:-1]) == [row.words for row in found.rows]
        assert all(row.source for row in found.rows)


class TestSecondLook:
    FOUND = {"walks": True, "breathes": True, "rate": 20, "obeys": True, "avpu": "A"}

    @pytest.mark.parametrize("scheme", ["start", "jumpstart"])
    def test_who_walks_and_passes_the_chart_stays_minor(self, scheme: str) -> None:
        """And who does not is what the chart says."""
        assert second_look(scheme, {**self.FOUND, "pulse": True}).category == "minor"
        assert second_look(scheme, {**self.FOUND, "pulse": False}).category == "immediate"
        assert second_look(scheme, self.FOUND).needs == "pulse"

    def test_it_finds_the_walker_who_is_in_shock(self) -> None:
        """The vignette that START stops at."""
        (row,) = (each for each in VIGNETTES if (each["id"], each["scheme"]) == ("A03", "start"))

        assert triage("start", row["findings"]).category == "minor"
        assert second_look("start", row["findings"]).category == "immediate"

    def test_it_is_for_who_walks_and_not_of_salt(self) -> None:
        """Refused by name."""
        with pytest.raises(FindingError, match=r"^walks: .* true is accepted"):
            second_look("start", {"walks": False})
        with pytest.raises(FindingError, match=r"^scheme: salt"):
            second_look("salt", self.FOUND)


class TestOrder:
    def test_salt_looks_first_at_the_still_and_last_at_who_walks(self) -> None:
        """A life threat that is plain to see comes first in any case."""
        for threat, walks, waves in product([True, False], repeat=3):
            found = salt_order(obvious_threat=threat, walks=walks, waves=waves)
            expected = "third" if walks else "second" if waves else "first"
            assert found.category == ("first" if threat else expected)

        assert salt_order(obvious_threat=None, walks=True, waves=None).category == "third"


class TestRefused:
    @pytest.mark.parametrize(
        ("given", "field", "accepted"),
        [
            ({"walks": "yes"}, "walks", "true or false"),
            ({"walks": 1}, "walks", "true or false"),
            ({"rate": True}, "rate", "from 0 to 200 a minute"),
            ({"rate": "30"}, "rate", "from 0 to 200 a minute"),
            ({"rate": -1}, "rate", "from 0 to 200"),
            ({"rate": 201}, "rate", "from 0 to 200"),
            ({"rate": float("nan")}, "rate", "from 0 to 200"),
            ({"refill_s": 61}, "refill_s", "from 0 to 60 s"),
            ({"avpu": "B"}, "avpu", "A, V, P, U"),
            ({"perfusion": "brachial"}, "perfusion", "radial, refill"),
            ({"pulses": True}, "pulses", "walks, breathes"),
            ({"walks": True, "breathes": False}, "walks", "who walks breathes"),
            ({"walks": True, "rate": 0}, "rate", "who walks breathes"),
            ({"breathes": True, "rate": 0}, "rate", "over 0"),
            ({"breathes": False, "breathes_after_opening": False, "rate": 12}, "rate", "0 is"),
            ({"avpu": "U", "walks": True}, "avpu", "not unresponsive"),
            ({"avpu": "U", "obeys": True}, "avpu", "not unresponsive"),
            ({"avpu": "U", "purposeful": True}, "avpu", "not unresponsive"),
        ],
    )
    def test_what_cannot_be_is_refused_by_its_field(
        self, given: dict[str, Any], field: str, accepted: str
    ) -> None:
        """With what would do, in every scheme, also where no branch asks for it."""
        for scheme in CHARTS:
            with pytest.raises(FindingError, match=f"^{field}: ") as refused:
                triage(scheme, given)
            assert accepted in str(refused.value)

    def test_null_is_unknown_and_a_letter_may_be_small(self) -> None:
        """Plain data says nothing by leaving out or by null."""
        told = {"walks": False, "breathes": True, "rate": 30, "pulse": True}

        assert triage("jumpstart", {**told, "avpu": "v"}).category == "delayed"
        assert triage("jumpstart", {**told, "avpu": None}).needs == "avpu"

    def test_a_scheme_that_is_none_is_named(self) -> None:
        """With those there are."""
        with pytest.raises(FindingError, match=r"^scheme: 'sieve' .* start, jumpstart, salt"):
            triage("sieve", {})


class TestTables:
    def test_every_row_has_a_source_and_a_known_status(self) -> None:
        """And nothing is confirmed by a source without its name."""
        for row in (row for table in ALL for row in table):
            assert row.source
            assert row.status in STATUSES
            assert row.status != CONFIRMED or row.source[0].isupper(), row

    def test_every_category_of_a_chart_has_its_word_and_colour(self) -> None:
        """A colour never stands alone, and no category is of no chart."""
        used = {
            *((FAMILY[name], end) for name, each in CHARTS.items() for end in each.categories),
            *(("field triage 2021", end) for end in CRITERIA.categories),
        }

        assert used == {(each.schemes, each.category) for each in CATEGORIES}

    def test_every_chart_asks_only_for_findings_that_can_be_told(self) -> None:
        """A name misspelt in a table would be asked for in vain."""
        for each in CHARTS.values():
            assert each.findings <= set(READERS)

    @pytest.mark.parametrize(
        "when", ["walks", "rate over", "rate over 3O", "rate under 70 + two × age_y"]
    )
    def test_a_condition_that_cannot_be_read_is_named(self, when: str) -> None:
        """Before anybody is triaged by it."""
        row = Branch(
            step="a", when=when, leads_to="b", words=".", source="S", status="ours", note=""
        )
        with pytest.raises(TableError, match=r"^when: "):
            _ = Chart("made", (row,)).findings

    def test_a_chart_never_leads_back(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """One that did would never end."""
        row = Branch(
            step="a", when="walks yes", leads_to="a", words=".", source="S", status="ours", note=""
        )
        monkeypatch.setattr(charts, "read_file", lambda path, form: (row,))

        with pytest.raises(TableError, match=r"leads back to a"):
            charts.chart("made")
