"""What is in force, and what of it can be drilled."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import override_settings

from drills.engine.concentrations import read_presentation
from drills.engine.dosing.reading import read_problem
from drills.engine.medicines import Asked, problem_asked, results_asked
from drills.formulary.drillable import NotDrillableError, drillable
from drills.formulary.models import FormularyRevision
from drills.formulary.reports import FormularyLockedError, rules_in_force
from drills.people.models import Person
from tests.formulary.conftest import DOCUMENT, NOW, TODAY, make_rule, put_in_force

ONE_AND_NINE = {"is_mixed": True, "take": "1 mL", "diluent_volume": "9 mL"}
BY_THE_MINUTE = {"basis": "per minute", "dose": "2 mcg/min", "maximum": "9 mcg/min"}


class TestInForce:
    @pytest.mark.usefixtures("demo")
    def test_nothing_is_without_approval(self, own: FormularyRevision) -> None:
        with pytest.raises(FormularyLockedError, match="not approved"):
            rules_in_force(NOW)

    @pytest.mark.django_db
    def test_nothing_is_on_a_demonstration_without_its_formulary(self, demonstration: None) -> None:
        with pytest.raises(FormularyLockedError, match="not approved"):
            rules_in_force(NOW)

    @pytest.mark.usefixtures("own")
    def test_a_demonstration_has_its_own_and_says_so(
        self, demo: FormularyRevision, demonstration: None
    ) -> None:
        found = rules_in_force(NOW)

        assert (found.number, found.is_demo, found.approved_by) == (demo.number, True, "")
        assert found.notice == "Demonstration only. Not for patient care."
        assert {rule.notice for rule in found.rules} == {found.notice}
        assert (len(found.rules), len(found.left_out)) == (74, 2)

    @pytest.mark.parametrize("is_demonstration", [True, False])
    def test_what_is_approved_comes_before_the_demonstration(
        self,
        demo: FormularyRevision,
        own: FormularyRevision,
        director: Person,
        is_demonstration: bool,
    ) -> None:
        put_in_force(own, by=director)

        with override_settings(READINESS_DEMO=is_demonstration):
            found = rules_in_force(NOW)

        notice = "Demonstration only. Not for patient care." if is_demonstration else ""
        assert (found.number, found.is_demo, found.notice) == (1, False, notice)
        assert (found.approved_by, found.approved_on) == ("Di Rector", TODAY)
        assert found.document == DOCUMENT
        assert [rule.code for rule in found.rules] == ["A1"]

    def test_an_approval_counts_from_its_day_on(
        self, own: FormularyRevision, director: Person
    ) -> None:
        put_in_force(own, by=director)

        with pytest.raises(FormularyLockedError):
            rules_in_force(NOW - timedelta(days=1))

    def test_rules_are_found_by_patient(self, demo: FormularyRevision, demonstration: None) -> None:
        found = rules_in_force(NOW)

        codes = {
            patient: [rule.code for rule in found.fitting(*patient)]
            for patient in (
                ("anaphylaxis", 1, 30, 25),
                ("anaphylaxis", 1, 30, 24.9),
                ("seizure", 1, 30, 70),
                ("seizure", 2, 13.9, 40),
                ("seizure", 2, 14, 39.9),
            )
        }
        assert list(codes.values()) == [
            ["D004", "D049", "D051", "D053"],
            ["D005", "D049", "D051", "D053"],
            [],
            ["D041", "D042"],
            ["D040"],
        ]


class TestDrillable:
    def test_a_rule_is_given_in_the_engines_terms(self, own: FormularyRevision) -> None:
        found = drillable(own.rules.get())

        assert (str(found.rule.dose), str(found.rule.maximum)) == ("0.2 mg/kg", "10 mg")
        assert found.presentation == read_presentation("10 mg / 2 mL")
        assert found.printed == "0.2 mg/kg, at most 10 mg"
        assert (found.source, found.version, found.status) == (
            "Patient care protocols",
            "7",
            "confirmed",
        )

    @pytest.mark.parametrize(
        ("fields", "reason"),
        [
            ({"dose": "0.2 mg"}, "is no dose per kg"),
            ({"basis": "fixed"}, "is no dose fixed"),
            ({"dose": "some/kg"}, "is no amount"),
            ({"maximum": "10 mg/kg"}, "different kinds"),
            ({"maximum": "10 mL"}, "different kinds"),
            ({"dose": "0 mg/kg"}, "is nothing to give"),
            ({"dose_high": "0.1 mg/kg"}, "runs downwards"),
            ({"presentation": "0 mg / 2 mL vial"}, "do not read"),
            ({"presentations": ["gone"]}, "what it comes in has no volume to draw up"),
            ({"presentation": "10 mg tube"}, "10 mg tube has no volume to draw up"),
            ({"is_mixed": True, "dilution": "to 1 mg/mL"}, r"mixed .* \(to 1 mg/mL\), and no fig"),
            (
                {**ONE_AND_NINE, "final_strength": "5 mg/mL"},
                "0.5 mg/mL and not 5 mg/mL",
            ),
            ({**BY_THE_MINUTE, "maximum": ""}, "nothing says how 10 mg / 2 mL vial is mixed"),
            ({**BY_THE_MINUTE, "minimum": "1 mcg/min"}, "it has a minimum, which no drip"),
            ({"basis": "per minute", "dose": "2 mcg/h"}, "is no dose per minute"),
            ({"basis": "per hour", "dose": "125 mL/h", "maximum": "250 mL/h"}, "has a maximum"),
            ({"basis": "mL per kg", "dose": "20 mg/kg"}, "is no dose mL per kg"),
            ({"basis": "mL per kg", "dose": "20 mL/kg"}, "different kinds"),
            ({"basis": "J per kg", "dose": "4 J/kg", "maximum": "0 J"}, "is nothing to give"),
            ({"basis": "mL per kg per percent", "dose": "2 mL/kg/%"}, "different kinds"),
            ({"source": " "}, "it has no source"),
            ({"version": "", "date": None}, "it has no version and no date"),
            ({"page": " "}, "it has no page"),
            ({"basis": "per moon"}, "its basis, per moon, is not known"),
        ],
    )
    def test_a_rule_that_cannot_be_drawn_says_why(
        self, own: FormularyRevision, fields: dict[str, Any], reason: str
    ) -> None:
        rule = make_rule(own, "A2", **fields)

        with pytest.raises(NotDrillableError, match=reason):
            drillable(rule)

    @pytest.mark.parametrize(
        ("fields", "topic", "problem"),
        [
            (
                {"presentation": "10 mg tablet"},
                "dose",
                {"concentration": {"amount": "10 mg", "in": "1 tablet"}, "max": "10 mg"},
            ),
            (
                {"is_mixed": True, "take": "1 mL", "diluent_volume": "9 mL", "error_limit": 10},
                "dose",
                {"concentration": {"amount": "5 mg", "in": "10 mL"}, "error_limit": "10 %"},
            ),
            (
                {"basis": "per kg per minute", "dose": "2 mcg/kg/min", "dose_high": "4 mcg/kg/min",
                 "maximum": "", "take": "4 mg", "diluent_volume": "250 mL"},
                "drip",
                {"dose_rate": "2 mcg/kg/min", "high": "4 mcg/kg/min", "set": "60 gtt/mL",
                 "concentration": {"amount": "4 mg", "in": "250 mL"}},
            ),
            (
                {"basis": "per hour", "dose": "125 mL/h", "maximum": ""},
                "drip",
                {"rate": "125 mL/h", "set": "60 gtt/mL"},
            ),
            (
                {"basis": "mL per kg", "dose": "20 mL/kg", "maximum": "1 L"},
                "fluid",
                {"per_weight": "20 mL/kg", "max": "1 L", "weight": "44 lb"},
            ),
            (
                {"basis": "mL per kg per percent", "dose": "2 mL/kg/%", "maximum": ""},
                "burn",
                {"per": "2 mL/kg/%", "area": "10 %", "since_injury": "2 h", "weight": "44 lb"},
            ),
            (
                {"basis": "J per kg", "dose": "4 J/kg", "maximum": "200 J"},
                "energy",
                {"per_weight": "4 J/kg", "max": "200 J", "weight": "44 lb"},
            ),
        ],
    )  # fmt: skip
    def test_a_rule_of_any_basis_gives_its_problem(
        self, own: FormularyRevision, fields: dict[str, Any], topic: str, problem: dict[str, Any]
    ) -> None:
        rule = drillable(make_rule(own, "A2", **fields))
        asked = Asked(weight="44 lb", area="10 %", since_injury="2 h", drip_set="60 gtt/mL")

        found = problem_asked(rule, asked)

        assert rule.topic == topic
        assert {name: found[name] for name in problem} == problem
        solved = read_problem(found).solve().results
        assert results_asked(rule, asked)
        assert set(results_asked(rule, asked)) <= solved.keys()
