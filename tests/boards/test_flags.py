"""What a cohort misses more than the fit expects, on the educator's page."""

import re
from contextlib import suppress
from dataclasses import replace
from datetime import timedelta
from io import StringIO
from typing import Any

import numpy as np
import pytest
from django.core.management import call_command
from django.urls import reverse
from django.utils import timezone

from drills.boards.person_records import erase_person
from drills.competency.actions import void_evidence
from drills.competency.expecting import CHANCE, ROW, asked_of, chances_of
from drills.competency.fitted import NOBODYS, standing_fit
from drills.competency.gathering import Numbering, columns_of
from drills.competency.models import Expected, Fit
from drills.competency.refitting import as_it_stood, fitted_to, refit
from drills.demo.factories import PersonFactory
from drills.engine.cohort import as_asked
from drills.engine.facts import Fact, facts_of
from drills.engine.flagging.seen import IS_EARLIER, SEEN
from drills.engine.knowing.history import history
from drills.engine.knowing.model import FACT, NEED
from drills.engine.scoring import PARTLY, RIGHT, WRONG
from drills.people.models import Cohort, Person
from drills.rigs.models import Rig
from drills.rigs.reading import layout_of
from tests.boards.test_readiness import answered
from tests.runs.conftest import ClientOf

pytestmark = pytest.mark.django_db
THINGS = ("splint", "gauze roll", "traffic cone", "neck collar", "fentanyl", "suction tip")


def under(rig: Rig) -> dict[Fact, Fact]:
    return {fact: same[0] for fact, same in as_asked(facts_of(layout_of(rig.revision))).items()}


def fit_now() -> None:
    assert refit(now=timezone.now, say=lambda _: None) is not None


def of_splint(rig: Rig, cohort: Cohort | None = None) -> tuple[int, int]:
    """How many people's answers on the splint are told of, and how many were right."""
    asked = asked_of(rig.layout, under(rig), cohort=cohort)
    (found,) = [each for each in asked if each.thing.thing == "splint"]  # type: ignore[attr-defined]  # facts are asked of
    return len(found.expected), found.right


@pytest.fixture
def crew(db: None) -> list[Person]:
    return [PersonFactory.create(employee_number=f"C{number}") for number in range(24)]


@pytest.fixture
def drilled(crew: list[Person], rig: Rig) -> None:
    """Everybody finds all but the splint, which two in three miss; now and then one misses else."""
    for number, person in enumerate(crew):
        for at, thing in enumerate(THINGS):
            misses = number % 3 if thing == "splint" else (number + at) % 12 == 0
            seconds = 4.0 + (number + at) % 5
            answered(person, rig, WRONG if misses else RIGHT, thing, times=1, seconds=seconds)


def told(client_of: ClientOf, educator: Person) -> str:
    return client_of(educator).get(reverse("boards:educator")).content.decode()


def test_before_the_first_fit_nothing_is_expected(
    drilled: None, rig: Rig, educator: Person, client_of: ClientOf
) -> None:
    assert asked_of(rig.layout, under(rig)) == []
    assert "Missed more than expected" not in told(client_of, educator)


def test_what_is_missed_more_is_told_with_what_was_expected_and_nothing_else(
    drilled: None, rig: Rig, educator: Person, client_of: ClientOf
) -> None:
    fit_now()
    asked = {each.thing.thing: each for each in asked_of(rig.layout, under(rig))}  # type: ignore[attr-defined]  # facts are asked of

    assert asked["splint"].right == 8
    assert sum(asked["splint"].expected) > 15
    content = told(client_of, educator)
    section = content[content.index("Missed more than expected") :].partition("</section>")[0]
    assert "<b>Splint</b>" in section
    assert section.count('data-label="Found by"') == 1
    assert "with 24 people's answers on each thing" in section
    curve = [f"{each.answers} answers each {round(100 * each.found)}" for each in SEEN]
    assert f"With {', '.join(curve[:-1])} and {curve[-1]}." in section
    counts = {each.cohorts for each in SEEN}
    assert re.search(rf"rests on {min(counts)}( to {max(counts)})? simulated cohorts", section)
    assert ("on an earlier model" in section) == IS_EARLIER


def test_each_person_counts_once_with_the_newest_and_partly_right_not_at_all(
    drilled: None, crew: list[Person], rig: Rig
) -> None:
    now = timezone.now()
    answered(crew[1], rig, RIGHT, "splint", times=1, at=now, source="newer")
    answered(crew[2], rig, PARTLY, "splint", times=1, at=now, source="partly")
    fit_now()

    assert of_splint(rig) == (24, 9)


def test_a_period_and_a_cohort_narrow_it(drilled: None, crew: list[Person], rig: Rig) -> None:
    fit_now()
    now = timezone.now()

    assert asked_of(rig.layout, under(rig), since=now + timedelta(days=1)) == []
    assert asked_of(rig.layout, under(rig), until=now - timedelta(days=1)) == []


def test_what_came_since_the_last_refit_comes_with_the_next(
    drilled: None, crew: list[Person], rig: Rig
) -> None:
    fit_now()
    answered(crew[1], rig, RIGHT, "splint", times=1, source="newer")
    assert of_splint(rig) == (24, 8)

    fit_now()

    assert of_splint(rig) == (24, 9)


def test_a_void_and_a_change_of_the_cohort_tell_at_once(
    drilled: None, crew: list[Person], rig: Rig
) -> None:
    answered(crew[1], rig, RIGHT, "splint", times=1, source="newer")
    fit_now()
    cohort = Cohort.objects.create(slug="night", name="Night")
    cohort.members.set(crew[:4])
    assert (of_splint(rig), of_splint(rig, cohort)) == ((24, 9), (4, 3))

    void_evidence("newer", by="SB0001", now=timezone.now())
    assert (of_splint(rig), of_splint(rig, cohort)) == ((24, 8), (4, 2))

    cohort.members.set([crew[0], crew[3], crew[6], crew[9]])
    assert of_splint(rig, cohort) == (4, 4)


def test_of_who_is_erased_nothing_is_kept_that_was_expected_of_them(
    drilled: None, crew: list[Person], rig: Rig
) -> None:
    """By their chances, which have the person's own offset in them, their rows could be told."""
    fit_now()
    theirs = set(crew[3].evidence.values_list("pk", flat=True))
    before = chances_of(Expected.objects.get()).keys()
    others = before - theirs

    erase_person("C3", confirm="C3", now=timezone.now())

    assert theirs <= before
    assert chances_of(Expected.objects.get()).keys() == others
    assert of_splint(rig) == (23, 7)
    fit_now()
    assert chances_of(Expected.objects.get()).keys() == others


def test_who_is_erased_while_a_refit_is_under_way_leaves_nothing_either(
    drilled: None, crew: list[Person], rig: Rig
) -> None:
    theirs = set(crew[3].evidence.values_list("pk", flat=True))

    def say(stage: str) -> None:
        if stage == "storing it":
            erase_person("C3", confirm="C3", now=timezone.now())

    assert refit(now=timezone.now, say=say) is not None

    kept = chances_of(Expected.objects.get()).keys()
    assert kept
    assert not kept & theirs


def test_a_fit_of_an_earlier_release_says_that_this_comes_with_the_next_refit(
    drilled: None, rig: Rig, educator: Person, client_of: ClientOf
) -> None:
    fit_now()
    Expected.objects.all().delete()

    assert asked_of(rig.layout, under(rig)) == []
    assert "This comes with the next refit" in told(client_of, educator)
    out = StringIO()
    with suppress(SystemExit):
        call_command("doctor", stdout=out, stderr=out)
    assert "An earlier release made it" in out.getvalue()


def test_a_page_looks_up_what_was_expected_and_works_nothing_out(
    drilled: None, rig: Rig, django_assert_num_queries: Any
) -> None:
    """Of a whole service that takes seconds; kept are a number and a chance of each answer."""
    fit_now()
    asked = under(rig)
    standing_fit()

    with django_assert_num_queries(4):
        assert asked_of(rig.layout, asked)


def test_what_is_kept_is_what_the_fit_would_say_and_of_the_standing_fit_alone(
    drilled: None, crew: list[Person], rig: Rig
) -> None:
    """Beside everything read and looked back from once more, row by row."""
    answered(crew[0], rig, WRONG, *THINGS, times=1, source="first")
    fit_now()
    answered(crew[0], rig, WRONG, *THINGS, times=1, source="second")
    fit_now()
    kept = Expected.objects.get()
    made = Fit.objects.latest("pk")
    numbering = Numbering()
    seen = as_it_stood(made.through, made.voided)
    answers = columns_of(seen, numbering)
    past = history(answers)
    model, _ = fitted_to(answers, past, lambda _: None)
    blind = {**model.offsets, NEED: NOBODYS, FACT: NOBODYS}
    chances = replace(model, offsets=blind).chances(answers, past)
    firsts = {row.number: at for row, at in zip(seen, chances, strict=True) if row.is_first}

    numbers, found = np.frombuffer(kept.rows, ROW), np.frombuffer(kept.chances, CHANCE)

    assert kept.fit == made
    assert numbers.tolist() == sorted(firsts)
    assert found == pytest.approx([firsts[number] for number in sorted(firsts)], abs=1e-6)
    assert len(set(np.round(found, 4))) > 5
