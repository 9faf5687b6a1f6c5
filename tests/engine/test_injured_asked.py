"""What is asked of an injured patient, what is right, what is told after it, and the drill."""

from collections import Counter
from collections.abc import Sequence
from typing import Any

import pytest

from drills.engine.chance import seeded
from drills.engine.choosing import category_said, mark_chosen, one_right
from drills.engine.fieldplan import field_prompts
from drills.engine.generation import plan_drill
from drills.engine.injured import Injured, draw_injured
from drills.engine.injured.asking import CRITERION, RISK, TEXT, asked_of
from drills.engine.injured.making import NEITHER, RED, YELLOW
from drills.engine.injured.tables import (
    CRITERIA,
    NONE,
)
from drills.engine.knobs.page import rows_for
from drills.engine.lately import mark_of
from drills.engine.recipes import FIELD, LOCATE, TRIAGE, RecipeSpec
from drills.engine.scoring import PARTLY, RIGHT, WRONG
from drills.engine.triage.field import FIELD_FAMILY, criteria_met, field_triage
from drills.engine.triage.measures import OVER, UNDER, judged
from tests.engine.test_injured import every_level, thousand
from tests.engine.test_triage_field import WELL
from tests.layouts import demo_layout


def patient(**changed: Any) -> Injured:
    findings = {**WELL, **changed}
    category = field_triage(findings).category
    assert category is not None
    keys = {each.when: each.key for each in CRITERIA}
    return Injured(
        age_y=int(findings["age_y"]),
        is_female=True,
        kind="crash",
        happened="Drove a car that hit a tree.",
        found=("Awake, does what you ask.",),
        findings=findings,
        category=category,
        met=tuple(keys[each.when] for each in criteria_met(findings)),
        aim="",
        is_near=False,
    )


def said(risk: str, criterion: str) -> list[str]:
    return [f"{RISK}:{risk}", f"{CRITERION}:{criterion}"]


class TestAsked:
    def judge(self, asked: Injured, words: Sequence[str]) -> str:
        return mark_chosen(asked_of(asked).answer()["groups"], words).outcome

    def test_the_list_is_the_whole_table_and_none(self) -> None:
        """The same for whoever is asked about, so that it tells nothing."""
        group = asked_of(patient()).groups[1]

        assert [each.key for each in group.choices] == [*(c.key for c in CRITERIA), NONE]
        assert [count for _, count in group.parts] == [9, 10, 10, 7]
        assert len({each.words for each in group.choices}) == len(CRITERIA) + 1
        shown = [asked_of(each).shown()["groups"] for each in thousand(5)[:50]]
        assert all(each == shown[0] for each in shown)

    def test_any_criterion_that_is_met_is_right(self) -> None:
        """Also one of moderate risk in somebody of high risk."""
        both = patient(fall_ft=11, injuries=["pelvis"])

        assert self.judge(both, said(RED, "pelvis")) == RIGHT
        assert self.judge(both, said(RED, "fall")) == RIGHT
        assert self.judge(both, said(RED, "skull")) == PARTLY
        assert self.judge(both, said(YELLOW, "fall")) == WRONG

    def test_where_none_is_met_none_is_right(self) -> None:
        assert self.judge(patient(), said(NEITHER, NONE)) == RIGHT
        assert self.judge(patient(), said(NEITHER, "fall")) == PARTLY
        assert self.judge(patient(), said(YELLOW, NONE)) == WRONG
        assert self.judge(patient(), []) == WRONG

    @every_level
    def test_every_patient_has_an_answer_that_is_right(self, difficulty: int) -> None:
        for each in thousand(difficulty)[:100]:
            groups = asked_of(each).answer()["groups"]

            assert mark_chosen(groups, one_right(groups)).outcome == RIGHT

    def test_what_is_met_and_what_is_at_its_limit_is_told(self) -> None:
        """With the level of each, its figure, and what START has otherwise."""
        asked = asked_of(patient(rate=30, fall_ft=0, intrusion_occupant_in=12, intrusion_any_in=12))

        assert asked.why == (
            "High risk (red): Breathes 30 a minute: over 29.",
            "At the limit, and not met: intrusion over 12 in where the patient sat.",
            "START has another limit: over 30 a minute, where this guideline has over 29.",
        )

    def test_31_breaths_are_over_the_limit_of_both(self) -> None:
        """And nothing is said of START."""
        assert not any("START" in line for line in asked_of(patient(rate=31)).why)

    def test_what_is_worded_from_memory_says_so(self) -> None:
        """Beside the criterion, and as its source."""
        asked = asked_of(patient(judgement=["anticoagulant"]))

        assert asked.why == (
            "Moderate risk (yellow): Takes an anticoagulant. (worded from memory, to be checked)",
        )
        assert asked.source == "common practice, no source read, from memory"

    def test_an_age_that_just_misses_is_told(self) -> None:
        asked = asked_of(patient(age_y=64, judgement=["low fall"]))

        assert asked.why == (
            "No criterion of high risk or of moderate risk is met.",
            "At the limit, and not met: age 65 and over: low fall with significant head impact"
            " (worded from memory, to be checked).",
        )

    def test_it_names_the_guideline_and_what_it_is_not_for(self) -> None:
        """Who decides where a patient is taken is said with the question and with the answer."""
        for words in (TEXT, asked_of(patient()).rule):
            assert "mass-casualty event" in words
            assert "ocal destination protocols and medical direction" in words
        assert "guideline for the field triage of injured patients, 2021" in TEXT

    @pytest.mark.parametrize(
        ("right", "given", "verdict"),
        [(RED, YELLOW, UNDER), (RED, NEITHER, UNDER), (YELLOW, RED, OVER), (NEITHER, YELLOW, OVER)],
    )
    def test_errors_are_told_apart_by_the_order_of_urgency(
        self, right: str, given: str, verdict: str
    ) -> None:
        assert judged(FIELD_FAMILY, right=right, given=given) == verdict

    def test_the_category_that_was_said_is_read_from_its_group(self) -> None:
        answer = asked_of(patient()).answer()

        assert (answer["family"], answer["category"]) == (FIELD_FAMILY, NEITHER)
        assert category_said(answer, said(YELLOW, "fall")) == YELLOW
        assert category_said(answer, []) == ""
        assert category_said({"category": "minor"}, ["minor"]) == "minor"


class TestDrill:
    spec = RecipeSpec("take", ((FIELD, 8),), difficulty=3)

    def test_the_prompts_are_of_kind_triage_and_the_spares_too(self) -> None:
        made = plan_drill(demo_layout("mesa-box"), self.spec, seed=3)

        assert {(each.kind, each.subject) for each in (*made.prompts, *made.spares)} == {
            (TRIAGE, FIELD)
        }
        assert (len(made.prompts), len(made.spares), made.varies) == (8, 6, True)
        assert len({mark_of(each) for each in (*made.prompts, *made.spares)}) == 14

    def test_the_same_seed_makes_the_same_drill_and_another_another(self) -> None:
        made = [field_prompts(self.spec, seed, 8, chosen="focus") for seed in (1, 1, 2)]

        assert made[0] == made[1]
        assert made[0] != made[2]

    def test_no_criterion_is_aimed_at_twice_in_a_drill(self) -> None:
        """So that eight patients ask for eight, where they ask for any."""
        random = seeded("apart")
        aims: list[str] = []
        for _ in range(20):
            aims.append(draw_injured(random, difficulty=1, used=aims).aim)

        assert max(Counter(filter(None, aims)).values()) == 1

    def test_a_drill_of_three_or_more_has_somebody_of_each_category(self) -> None:
        """And which comes when is drawn: no place in it has one more often than its share."""
        drills = [
            [each.choosing.answer()["category"] for each in made if each.choosing]
            for made in (field_prompts(self.spec, seed, 4, chosen="focus") for seed in range(100))
        ]

        assert all({*each} == {RED, YELLOW, NEITHER} for each in drills)
        assert all(20 <= Counter(first)[RED] <= 50 for first in zip(*drills, strict=True))

    def test_patients_change_nothing_of_what_is_asked_of_the_rig(self) -> None:
        """They are drawn from a stream of their own, and come after it."""
        rig = demo_layout("mesa-box")
        plain = plan_drill(rig, RecipeSpec("both", ((LOCATE, 5),)), seed=4)
        both = plan_drill(rig, RecipeSpec("both", ((LOCATE, 5), (FIELD, 2))), seed=4)

        assert both.prompts[:5] == plain.prompts
        assert [each.subject for each in both.prompts[5:]] == [FIELD, FIELD]

    def test_the_knobs_are_told(self) -> None:
        told = {row.moves: row.values for row in rows_for([FIELD])}

        assert told["Told beside: what looks grave and meets no criterion"] == tuple("01123")
        assert len(told) == 3
