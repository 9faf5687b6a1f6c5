"""Doses and calls that a person missed: told to them and to their FTO, unsafe ones first."""

import re
from dataclasses import replace
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from drills.demo.factories import PairingFactory, PersonFactory
from drills.engine.dosing.slips import TENFOLD_OVER
from drills.engine.medicines import SAFETY_WORDS
from drills.engine.prompts import HAND_OVER, Prompt
from drills.formulary.models import FormularyRevision
from drills.people.models import Person, Role
from drills.rigs.actions import pick_rig
from drills.rigs.models import Rig
from drills.runs.actions import answer_prompt
from drills.runs.models import Presentation, Run
from drills.scenarios.models import DrillPrompt, Mode, Recipe
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
    assert "unsafe, 10 times as much as is right</small>" in content.partition(DOSE)[2]
    assert content.index(DOSE) < content.index("Stage: Severe bleeding")
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
    told = of_all.partition(DOSE)[2].partition("</p>")[0]
    assert f"unsafe, 10 times as much as is right, retried: {outcome}</small>" in told


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


def gave(hire: Person, rig: Rig, prompt: Prompt, said: str) -> Run:
    """A run of one dose, the wrong figure put right when it was asked again, and over."""
    number = Recipe.objects.count()
    Recipe.objects.filter(slug="dose").update(slug=f"dose-{number}")
    dose = asked(hire, rig, prompt)
    say(dose, said)
    say(asked_again(dose.run), "1 mL")
    assert Player(dose.run, now=timezone.now()).serve() is None
    return dose.run


def of_another(medicine: str) -> Prompt:
    return replace(dose_prompt(), subject=f"{medicine}, rule shown")


def test_the_furthest_off_of_unsafe_doses_stands_first_for_an_fto(
    client_of: ClientOf, fto: Person, hire: Person, rig: Rig
) -> None:
    """Three are unsafe and the tenfold one is the oldest; a tenth is as far off as ten times."""
    for medicine, said in (("Aa", "10 mL"), ("Bb", "1.4 mL"), ("Cc", "0.1 mL"), ("Dd", "0.4 mL")):
        gave(hire, rig, of_another(medicine), said)

    cell = words(client_of, fto, FTO).partition("Noor Hire")[2].partition("</tr>")[0]
    at_once, _, one_tap_away = cell.partition("<details")

    assert [name for name in ("Aa", "Bb", "Cc", "Dd") if f"{name}, rule" in at_once] == ["Aa", "Cc"]
    assert "10 times as much as is right, retried: right" in at_once.partition("Dose: Aa")[2]
    assert "90% too little" in at_once
    assert "and 2 more</summary>" in one_tap_away
    assert one_tap_away.index("Dose: Dd") < one_tap_away.index("Dose: Bb")


def test_a_missed_dose_says_what_was_asked_and_written_and_how_far_off(
    client_of: ClientOf, fto: Person, hire: Person, rig: Rig
) -> None:
    """With the slip by its name, and the way to that very prompt in the debrief."""
    run = gave(hire, rig, dose_prompt(), "10 mL")

    row = words(client_of, fto, PERSON).partition(DOSE)[2].partition("</li>")[0]

    assert (
        'How much do you draw up? Wrote <b class="nw">10 mL</b>, right is <b class="nw">1 mL</b>: '
        "10 times as much as is right." in row
    )
    assert f"Slip: {TENFOLD_OVER.words}." in row
    (address,) = re.findall(r'href="([^"]*)"', row)
    page, _, anchor = address.partition("#")
    assert page == reverse("runs:debrief", args=[run.pk])
    told = words(client_of, fto, page)
    assert told.count(f'id="{anchor}"') == 1
    assert "You said <b>10 mL</b>" in told.partition(f'id="{anchor}"')[2].partition("</section>")[0]


def test_equal_answers_are_counted_and_led_to_the_newest(
    client_of: ClientOf, fto: Person, hire: Person, rig: Rig
) -> None:
    gave(hire, rig, dose_prompt(), "10 mL")
    gave(hire, rig, dose_prompt(), "1.4 mL")
    last = gave(hire, rig, dose_prompt(), "10 mL")

    row = words(client_of, fto, PERSON).partition(DOSE)[2].partition("</li>")[0]

    assert (
        row.count('Wrote <b class="nw">10 mL</b>')
        == row.count('Wrote <b class="nw">1.4 mL</b>')
        == 1
    )
    assert '<b>2 times:</b> Wrote <b class="nw">10 mL</b>' in row
    assert reverse("runs:debrief", args=[last.pk]) in row.partition("1.4 mL")[0]


def test_what_was_right_since_is_told_no_more(
    client_of: ClientOf, fto: Person, hire: Person, rig: Rig
) -> None:
    gave(hire, rig, dose_prompt(), "10 mL")
    Recipe.objects.filter(slug="dose").update(slug="dose-right")
    say(asked(hire, rig, dose_prompt()), "1 mL")
    gave(hire, rig, dose_prompt(), "1.4 mL")

    row = words(client_of, fto, PERSON).partition(DOSE)[2].partition("</li>")[0]

    assert 'Wrote <b class="nw">1.4 mL</b>' in row
    assert "10 mL" not in row


def test_a_run_that_is_not_over_is_no_way_to_its_debrief(
    client_of: ClientOf, fto: Person, hire: Person, rig: Rig
) -> None:
    dose = asked(hire, rig, dose_prompt())
    say(dose, "10 mL")

    row = words(client_of, fto, PERSON).partition(DOSE)[2].partition("</li>")[0]

    assert 'Wrote <b class="nw">10 mL</b>' in row
    assert "href" not in row


def test_handing_over_what_is_within_their_level_is_told_in_words(
    client_of: ClientOf, fto: Person, hire: Person, rig: Rig
) -> None:
    say(asked(hire, rig, dose_prompt()), HAND_OVER)

    row = words(client_of, fto, PERSON).partition(DOSE)[2].partition("</li>")[0]

    assert 'Right is <b class="nw">1 mL</b>. Handed over, though within their level.' in row
    assert "Wrote" not in row


def asked_twice(hire: Person, rig: Rig) -> Presentation:
    """Two questions of one skill in one drill, the first of them in front of the person."""
    one = asked(hire, rig, dose_prompt())
    other = replace(dose_prompt(), name="What dose do you give?")
    DrillPrompt.from_engine(other, drill=one.run.drill, position=1, is_spare=False).save()
    # What a drill asks is read once: one that was changed is read anew.
    return Presentation.objects.get(pk=one.pk)


def test_an_unsafe_answer_never_retried_is_not_told_as_put_right(
    client_of: ClientOf, fto: Person, hire: Person, rig: Rig
) -> None:
    """Two questions of one skill were unsafe, and one of them was asked again."""
    one = asked_twice(hire, rig)
    say(one, "10 mL")
    say(asked_again(one.run), "0.1 mL")
    again = asked_again(one.run)
    assert again.is_retry
    say(again, "1 mL")

    of_person, of_all = (words(client_of, fto, url) for url in (PERSON, FTO))
    row = of_person.partition(DOSE)[2].partition("</li>")[0]

    assert "retried: right" not in (of_person + of_all)
    assert "unsafe, 1 of 2 right on retry" in row
    assert "1 of 2 right on retry</small>" in of_all
    (right,) = [each for each in row.split("<p") if "Retried: right." in each]
    (never,) = [each for each in row.split("<p") if "Not retried." in each]
    was = again.prompt
    assert was is not None
    assert was.name in right
    assert was.name not in never


def test_an_unsafe_answer_stands_though_another_of_its_drill_was_right(
    client_of: ClientOf, fto: Person, hire: Person, rig: Rig
) -> None:
    """Another patient, another question: right there mends nothing here."""
    one = asked_twice(hire, rig)
    say(one, "10 mL")
    say(asked_again(one.run), "1 mL")

    row = words(client_of, fto, PERSON).partition(DOSE)[2].partition("</li>")[0]

    assert "unsafe</span>" in row
    assert 'Wrote <b class="nw">10 mL</b>' in row


def test_who_had_an_unsafe_dose_stands_first_and_is_led_to(
    client_of: ClientOf, fto: Person, hire: Person, unsafe: Presentation
) -> None:
    before = PersonFactory.create(name="Aaron Able")
    PairingFactory.create(fto=fto, crew=before)

    content = words(client_of, fto, FTO)

    assert '<a href="#unsafe"><b class="wrong">1 person with an unsafe dose or supply' in content
    assert content.index("Noor Hire") < content.index("Aaron Able")
    assert "Noor Hire" in content.partition('<tr id="unsafe">')[2].partition("</tr>")[0]
