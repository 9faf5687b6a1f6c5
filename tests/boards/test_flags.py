"""What a cohort misses more than the fit expects, on the educator's page."""

import re
from datetime import timedelta
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from drills.boards import flags
from drills.competency import expecting
from drills.competency.actions import void_evidence
from drills.competency.expecting import asked_of
from drills.competency.refitting import refit
from drills.demo.factories import PersonFactory
from drills.engine.cohort import as_asked
from drills.engine.facts import Fact, facts_of
from drills.engine.flagging.seen import IS_EARLIER, SEEN
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

    splint = next(e for e in asked_of(rig.layout, under(rig)) if e.thing.thing == "splint")  # type: ignore[attr-defined]  # facts are asked of

    assert (len(splint.expected), splint.right) == (24, 9)


def test_a_period_and_a_cohort_narrow_it(drilled: None, crew: list[Person], rig: Rig) -> None:
    fit_now()
    now = timezone.now()

    assert asked_of(rig.layout, under(rig), since=now + timedelta(days=1)) == []
    assert asked_of(rig.layout, under(rig), until=now - timedelta(days=1)) == []


def test_with_more_answers_than_a_page_waits_for_the_page_says_so_and_a_cohort_brings_it_back(
    drilled: None,
    crew: list[Person],
    rig: Rig,
    educator: Person,
    client_of: ClientOf,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A period that has no answer in it is of no help: all that they ever answered counts."""
    fit_now()
    for module in (expecting, flags):
        monkeypatch.setattr(module, "MOST_ANSWERS", 100)
    cohort = Cohort.objects.create(slug="night", name="Night")
    crew[0].cohorts.add(cohort)
    with pytest.raises(expecting.TooManyAnswersError, match="168 answers are more than 100"):
        asked_of(rig.layout, under(rig), since=timezone.now() + timedelta(days=1))

    content = told(client_of, educator)
    assert "168 answers in all, and a page waits for 100 at most; a smaller cohort" in content
    assert "What could have been seen" not in content
    of_cohort = client_of(educator).get(reverse("boards:educator"), {"cohort": "night"})
    content = of_cohort.content.decode()
    assert "Missed more than expected" in content
    assert "at most; a smaller cohort" not in content


def test_what_was_thought_once_is_not_thought_again_and_is_never_stale(
    drilled: None, crew: list[Person], rig: Rig, django_assert_num_queries: Any
) -> None:
    """Of the fit, and of who answered how much, it asks; nothing else while that is the same."""
    fit_now()
    cohort = Cohort.objects.create(slug="night", name="Night")
    cohort.members.set(crew[:4])

    def splint(of: Cohort | None = None) -> tuple[int, int]:
        asked = asked_of(rig.layout, under(rig), cohort=of)
        (found,) = [each for each in asked if each.thing.thing == "splint"]  # type: ignore[attr-defined]  # facts are asked of
        return len(found.expected), found.right

    assert (splint(), splint(cohort)) == ((24, 8), (4, 2))
    layout_of(rig.revision)
    asked, within = under(rig), timezone.now() - timedelta(days=30)
    with django_assert_num_queries(2):
        asked_of(rig.layout, asked, since=within)

    answered(crew[1], rig, RIGHT, "splint", times=1, source="newer")
    assert (splint(), splint(cohort)) == ((24, 9), (4, 3))
    void_evidence("newer", by="SB0001", now=timezone.now())
    assert (splint(), splint(cohort)) == ((24, 8), (4, 2))
    cohort.members.set([crew[0], crew[3], crew[6], crew[9]])
    assert splint(cohort) == (4, 4)
    before = asked_of(rig.layout, under(rig))
    answered(crew[5], rig, WRONG, *THINGS, times=1)
    fit_now()
    assert asked_of(rig.layout, under(rig)) != before
