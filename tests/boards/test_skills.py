"""Doses and calls that a person missed: told to them and to their FTO, unsafe ones first."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from drills.demo.factories import PersonFactory
from drills.engine.medicines import SAFETY_WORDS
from drills.formulary.models import FormularyRevision
from drills.people.models import Person, Role
from drills.rigs.actions import pick_rig
from drills.rigs.models import Rig
from drills.runs.actions import answer_prompt
from drills.runs.models import Presentation, Run
from drills.scenarios.models import Mode, Recipe
from tests.formulary.conftest import own as own
from tests.formulary.conftest import put_in_force
from tests.runs.conftest import ClientOf
from tests.runs.player import Player
from tests.runs.test_dose import asked, dose_prompt
from tests.runs.test_stage import opened, started

pytestmark = pytest.mark.django_db
FTO, PERSON, TODAY = (
    reverse("boards:fto"),
    reverse("boards:person", args=["HIRE"]),
    reverse("boards:hire"),
)
DOSE = "Dose: Testamine, rule shown"


def words(client_of: ClientOf, person: Person, url: str) -> str:
    return " ".join(client_of(person).get(url).content.decode().split())


def say(presentation: Presentation, *said: str) -> None:
    answer_prompt(
        presentation.run,
        token=presentation.token,
        tokens=said,
        claim=None,
        now=presentation.served_at + timedelta(seconds=9),
    )


@pytest.fixture
def unsafe(hire: Person, rig: Rig) -> Presentation:
    """Ten times the dose, and of a kit nothing brought, which came after."""
    dose = asked(hire, rig, dose_prompt())
    say(dose, "10 mL")
    kit = started(hire, rig, Mode.PRACTICE)
    say(opened(kit))
    return dose


def test_an_fto_reads_an_unsafe_dose_first(
    client_of: ClientOf, fto: Person, hire: Person, unsafe: Presentation
) -> None:
    """On no rig as well: what is known of a dose is of no layout."""
    content = words(client_of, fto, FTO)

    assert "nothing asked yet" not in content.partition("Noor Hire")[2].partition("</tr>")[0]
    assert f"{DOSE}: unsafe<br>Stage: Severe bleeding: wrong<br>" in content
    assert SAFETY_WORDS in content


def test_the_page_of_a_person_tells_them_with_the_words_of_safety(
    client_of: ClientOf, fto: Person, unsafe: Presentation
) -> None:
    content = words(client_of, fto, PERSON)

    assert "Missed on" not in content
    assert 'Doses, supplies and calls missed <span class="nw">2 of 2 asked' in content
    assert content.index(DOSE) < content.index("Stage: Severe bleeding")
    assert SAFETY_WORDS in content


def test_a_person_reads_their_own_on_their_first_page(
    client_of: ClientOf, hire: Person, rig: Rig, unsafe: Presentation
) -> None:
    pick_rig(hire, rig, now=timezone.now())

    assert DOSE in words(client_of, hire, TODAY)
    assert DOSE in words(client_of, hire, PERSON)


def test_what_was_unsafe_is_the_reason_of_the_drill_that_is_offered(
    client_of: ClientOf, hire: Person, rig: Rig, unsafe: Presentation, own: FormularyRevision
) -> None:
    pick_rig(hire, rig, now=timezone.now())
    put_in_force(own, by=PersonFactory.create(roles=[Role.DIRECTOR]))

    content = words(client_of, hire, TODAY)

    assert "Doses: 1 missed at first, 1 of them unsafe" in content
    assert "right on retry" not in content
    assert 'name="recipe" value="dose"' in content

    say(asked_again(unsafe.run), "1 mL")

    assert "Doses: 1 missed at first, 1 of them unsafe, 1 right on retry" in words(
        client_of, hire, TODAY
    )


@pytest.mark.parametrize(("said", "outcome"), [("1 mL", "right"), ("0.5 mL", "unsafe")])
def test_an_unsafe_dose_stands_though_it_was_retried(
    client_of: ClientOf, fto: Person, hire: Person, unsafe: Presentation, said: str, outcome: str
) -> None:
    """The first answer counts; what came of asking again right after it stands beside it."""
    say(asked_again(unsafe.run), said)

    of_person, of_all = (words(client_of, fto, url) for url in (PERSON, FTO))

    assert 'Doses, supplies and calls missed <span class="nw">2 of 2 asked' in of_person
    assert f"unsafe, retried: {outcome}" in of_person.partition(DOSE)[2].partition("</li>")[0]
    assert f"{DOSE}: unsafe, retried: {outcome}<br>Stage: Severe bleeding: wrong<br>" in of_all


def test_what_was_right_in_a_later_drill_is_not_missed(
    client_of: ClientOf, fto: Person, hire: Person, rig: Rig, unsafe: Presentation
) -> None:
    Recipe.objects.filter(slug="dose").update(slug="dose-before")
    say(asked(hire, rig, dose_prompt()), "1 mL")

    content = words(client_of, fto, PERSON)

    assert 'Doses, supplies and calls missed <span class="nw">1 of 2 asked' in content
    assert DOSE not in content


def test_a_dose_that_was_not_unsafe_and_right_when_retried_is_not_missed(
    client_of: ClientOf, fto: Person, hire: Person, rig: Rig
) -> None:
    dose = asked(hire, rig, dose_prompt())
    say(dose, "1.1 mL")
    say(asked_again(dose.run), "1 mL")

    assert "None when last asked" in words(client_of, fto, PERSON)


def asked_again(run: Run) -> Presentation:
    """The same dose once more, as practice asks it."""
    found = Player(run, now=timezone.now()).serve()
    assert found is not None
    return found


def test_an_open_assessed_run_keeps_them_from_the_person_alone(
    client_of: ClientOf, fto: Person, hire: Person, rig: Rig
) -> None:
    pick_rig(hire, rig, now=timezone.now())
    run = started(hire, rig, Mode.ASSESSED, kits=2)
    say(opened(run))

    for url in (TODAY, PERSON):
        assert "Stage: Severe bleeding" not in words(client_of, hire, url)
    assert "Stage: Severe bleeding" in words(client_of, fto, PERSON)
