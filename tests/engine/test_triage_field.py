"""The 2021 field criteria: every threshold as published, with what is unknown."""

from collections import Counter
from collections.abc import Iterator
from itertools import combinations, product
from typing import Any

import pytest

from drills.engine.triage.field import CRITERIA, READERS, field_triage
from drills.engine.triage.findings import FindingError
from tests.engine.test_triage import rows
from tests.engine.triage_published import FIELD_SPACE, field_level

ROWS = rows("triage_field.csv")
WELL: dict[str, Any] = ROWS[0]["findings"]


class TestPublished:
    @pytest.mark.parametrize("row", ROWS, ids=lambda row: row["id"])
    def test_every_criterion_stands_where_it_is_published(self, row: dict[str, Any]) -> None:
        """Each row tells what differs from a patient who meets none."""
        assert field_triage({**WELL, **row["findings"]}).category == row["category"]

    def test_every_criterion_is_met_by_a_case(self) -> None:
        """One that no case meets would not be seen to go wrong."""
        met = {row for case in ROWS for row in field_triage({**WELL, **case["findings"]}).rows}

        assert met == set(CRITERIA.branches)


def changed(names: tuple[str, ...]) -> Iterator[dict[str, Any]]:
    """Everybody who differs from one of every age whom nothing ails in these findings."""
    for values in product(FIELD_SPACE["age_y"], *(FIELD_SPACE[name] for name in names)):
        yield {**WELL, **dict(zip(("age_y", *names), values, strict=True))}


class TestEveryPatient:
    @pytest.mark.parametrize("names", list(combinations(sorted(set(FIELD_SPACE) - {"age_y"}), 2)))
    def test_the_level_is_that_of_a_second_writing(self, names: tuple[str, str]) -> None:
        """Every two findings together at every age, each with all that tells criteria apart."""
        for known in changed(names):
            assert field_triage(known).category == field_level(known), known

    def test_pressure_pulse_rate_and_saturation_together_are_as_published(self) -> None:
        """All of them at once: no criterion takes another's place."""
        levels = Counter(
            (field_triage(known).category, field_level(known))
            for known in changed(("systolic", "heart_rate", "rate", "spo2"))
        )

        assert {found for found, published in levels if found != published} == set()
        assert min(levels[level, level] for level in ("red", "neither")) > 100

    def test_what_is_unknown_never_makes_it_less(self) -> None:
        """Whatever is left out, the level stands, or a finding is asked for that is not told."""
        for known in changed(("systolic", "fall_ft", "heart_rate")):
            for name in READERS:
                found = field_triage({key: each for key, each in known.items() if key != name})
                assert found.category in {None, field_level(known)}, (known, name)
                assert found.needs in {None, name}


class TestUnknown:
    @pytest.mark.parametrize("name", READERS)
    def test_what_is_not_told_is_asked_for(self, name: str) -> None:
        """Nobody is below every criterion by silence."""
        told = {key: value for key, value in WELL.items() if key != name}

        found = field_triage(told)

        assert (found.category, found.needs) == (None, name)

    def test_a_criterion_of_high_risk_settles_it(self) -> None:
        """Nothing else needs to be known; one of moderate risk needs all of high risk known."""
        assert field_triage({"spo2": 80}).category == "red"
        assert field_triage({"fall_ft": 20}).category is None

    def test_the_pressure_of_an_unknown_age_asks_for_the_age(self) -> None:
        """The limit depends on it, unless it is enough for every age."""
        told = {key: value for key, value in WELL.items() if key != "age_y"}

        assert field_triage({**told, "systolic": 95}).needs == "age_y"


class TestPath:
    def test_the_criterion_is_told_with_its_figure(self) -> None:
        """And the level in words, with its colour."""
        found = field_triage({**WELL, "age_y": 9, "systolic": 87})

        assert list(found.path) == [
            "0 to 9 years, systolic 87: under 70 + 2 × age.",
            "High risk (red).",
        ]


class TestRefused:
    @pytest.mark.parametrize(
        ("given", "field", "accepted"),
        [
            ({"age_y": 9.5}, "age_y", "a whole number from 0 to 130 years"),
            ({"injuries": "pelvis"}, "injuries", "a list is accepted"),
            ({"injuries": ["toe"]}, r"injuries\[0\]", "penetrating, skull"),
            ({"spo2": 101}, "spo2", "from 0 to 100 %"),
            ({"walks": True}, "walks", "age_y, injuries"),
        ],
    )
    def test_what_cannot_be_read_is_refused_by_its_field(
        self, given: dict[str, Any], field: str, accepted: str
    ) -> None:
        """With what would do."""
        with pytest.raises(FindingError, match=f"^{field}: ") as refused:
            field_triage(given)
        assert accepted in str(refused.value)
