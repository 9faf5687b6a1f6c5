"""Over-triage, under-triage and critical errors, counted as published."""

from dataclasses import fields
from fractions import Fraction
from itertools import product

import pytest

from drills.engine.tables.kinds import STATUSES
from drills.engine.triage import CATEGORIES, SALT_FAMILY, START_FAMILY
from drills.engine.triage.measures import (
    MEASURES,
    OVER,
    RIGHT,
    UNDER,
    Measured,
    Share,
    is_critical,
    judged,
    measured,
)

ORDERS = {
    START_FAMILY: ["immediate", "delayed", "minor", "deceased"],
    SALT_FAMILY: ["immediate", "delayed", "minimal", "expectant", "dead"],
}


class TestOnePatient:
    @pytest.mark.parametrize("family", ORDERS)
    def test_more_urgent_than_right_is_over_and_less_is_under(self, family: str) -> None:
        """Every pair of categories, by the order in which they are treated."""
        order = ORDERS[family]
        for right, given in product(order, repeat=2):
            apart = order.index(given) - order.index(right)
            expected = RIGHT if not apart else UNDER if apart > 0 else OVER
            assert judged(family, right=right, given=given) == expected

    def test_exactly_these_errors_are_critical(self) -> None:
        """Somebody to be treated called dead, or somebody immediate sent with the minor."""
        found = {
            (right, given)
            for family, order in ORDERS.items()
            for right, given in product(order, repeat=2)
            if is_critical(family, right=right, given=given)
        }

        assert found == {
            ("immediate", "minor"),
            ("immediate", "minimal"),
            *((right, "deceased") for right in ("immediate", "delayed", "minor")),
            *(
                (right, given)
                for right in ("immediate", "delayed", "minimal")
                for given in ("expectant", "dead")
            ),
        }

    def test_a_category_of_another_scheme_is_refused(self) -> None:
        """Minor is no word of SALT."""
        with pytest.raises(KeyError):
            judged(SALT_FAMILY, right="minimal", given="minor")


class TestManyPatients:
    ANSWERS = (
        *[("immediate", "immediate")] * 3,
        ("immediate", "delayed"),
        ("immediate", "minor"),
        *[("delayed", "delayed")] * 2,
        ("delayed", "immediate"),
        ("minor", "immediate"),
        ("deceased", "deceased"),
    )

    def test_each_measure_is_counted_of_its_own_patients(self) -> None:
        """Ten patients, worked by hand: five immediate, five others."""
        assert measured(START_FAMILY, self.ANSWERS) == Measured(
            right=Share(6, 10),
            over=Share(2, 10),
            under=Share(2, 10),
            critical=Share(1, 10),
            serious_missed=Share(2, 5),
            others_called_serious=Share(2, 5),
        )

    def test_a_share_of_nobody_is_no_figure(self) -> None:
        """And never nought, which would read as no error."""
        found = measured(START_FAMILY, [("minor", "minor")])

        assert found.serious_missed.fraction is None
        assert found.right.fraction == Fraction(1)
        assert measured(START_FAMILY, []).over.fraction is None


class TestTables:
    def test_every_measure_is_told_with_its_source(self) -> None:
        """All but the share that is right, which needs none."""
        assert {each.key for each in MEASURES} == {f.name for f in fields(Measured)} - {"right"}
        assert all(each.source and each.status in STATUSES for each in MEASURES)

    def test_the_order_of_urgency_is_that_of_the_categories(self) -> None:
        """One place each, from 1 on."""
        for family, order in ORDERS.items():
            found = [each for each in CATEGORIES if each.schemes == family]
            assert [each.category for each in sorted(found, key=lambda c: c.urgency)] == order
            assert sorted(each.urgency for each in found) == list(range(1, len(order) + 1))
