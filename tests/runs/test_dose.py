"""A dose is worked out in a drill: the page, the mark, the working, and who hands it over."""

import re
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from drills.competency.models import Evidence
from drills.demo.factories import RecipeFactory
from drills.engine.calls import Call, Patient
from drills.engine.concentrations import read_presentation
from drills.engine.dosing import read_dose_rule
from drills.engine.exercises.dose import of_weight
from drills.engine.medicines import MedicineRule, ProblemOf
from drills.engine.prompts import Prompt
from drills.engine.recipes import DOSE
from drills.people.models import CertificationLevel, Person
from drills.rigs.models import Rig
from drills.runs.access import forget_drills
from drills.runs.actions import begin
from drills.runs.models import Presentation, PresentationState, Run
from drills.scenarios.models import Drill, DrillPrompt, Mode
from tests.engine.treating import aboard
from tests.runs.conftest import FRAGMENT, SEED, ClientOf
from tests.runs.player import Player, lately
from tests.runs.worlds import masked

pytestmark = pytest.mark.django_db

NOTICE = "Made for a test. Not for patient care."
SAFETY = "check every dose with your partner"


def dose_prompt(*, is_rule_shown: bool = True, level: str = "", maximum: str = "3 mg") -> Prompt:
    """44 lb, 0.1 mg/kg, 10 mg / 5 mL: 20 kg, 2 mg, 1 mL."""
    rule = read_dose_rule("0.1 mg/kg", maximum=maximum)
    patient = Patient(
        1, "bleed", 2, "school", "child", 6, False, "44 lb", "6-year-old boy", "Screams", ()
    )
    medicine = MedicineRule(
        code="T001",
        medicine="Testamine",
        indication="pain",
        route="IV",
        level=level,
        need="testamine",
        medicine_key="testamine",
        problems=(ProblemOf("bleed"),),
        ages=(None, None),
        weights=(None, None),
        rule=rule,
        presentation=read_presentation("10 mg / 5 mL"),
        printed=f"0.1 mg/kg, at most {maximum}",
        source="A document",
        version="1",
        status="confirmed",
        notice=NOTICE,
    )
    task = of_weight(2, aboard(medicine, 1, 3, 10, is_rule_shown=is_rule_shown), medicine, "44 lb")
    assert task
    call = Call("bleeding", "Severe bleeding", "One hurt at Tea Chest.", (patient,), ())
    return Prompt(
        kind=DOSE,
        subject=task.subject,
        name="How much do you draw up?",
        text="",
        depth="",
        category="",
        critical=True,
        answer=(),
        choices=(),
        chosen="focus",
        exercise=task,
        call=call,
        patient=patient,
    )


def asked(
    person: Person, rig: Rig, prompt: Prompt, mode: str = Mode.PRACTICE, *, is_timed: bool = False
) -> Presentation:
    """A run of one dose prompt, in front of the person."""
    recipe = RecipeFactory.create(slug="dose", kinds="dose:1", mode=mode)
    drill = Drill.objects.create(
        recipe=recipe,
        recipe_version=1,
        revision=rig.revision,
        seed=SEED,
        varies=True,
        made_at=lately(),
    )
    DrillPrompt.from_engine(prompt, drill=drill, position=0, is_spare=False).save()
    run = Run.objects.create(person=person, drill=drill, rig=rig, mode=mode, started_at=lately())
    player = Player(run, now=lately())
    presentation = begin(run, device_class="phone", is_timed=is_timed, now=player.now).presentation
    while presentation is not None and presentation.is_warm_up:
        player.answer(presentation, [presentation.subject], seconds=1.5)
        presentation = player.serve()
    assert presentation is not None
    return presentation


@pytest.fixture
def browser(client_of: ClientOf, hire: Person) -> Client:
    return client_of(hire)


def send(browser: Client, presentation: Presentation, **body: Any) -> Any:
    url = reverse("runs:answer", args=[presentation.run_id])
    response = browser.post(url, {"token": presentation.token, **body}, headers=FRAGMENT)
    presentation.refresh_from_db()
    return response


def page(browser: Client, presentation: Presentation, **how: Any) -> bytes:
    return browser.get(reverse("runs:take", args=[presentation.run_id]), **how).content


@pytest.mark.parametrize(
    ("amount", "unit", "said"),
    [
        ("1.5", "", "came in without a unit. Add the unit"),
        ("", "mL", "came in without a number. Add the number"),
        ("1.0000000000000000000000001", "mL", "27 characters came in for the number; up to 20"),
        (".", "mL", "&#x27;.&#x27; is no number; 1000, 1,000, 1.5 and 0,5 are."),
        ("five", "mL", "&#x27;five&#x27; is no number; 1000, 1,000, 1.5 and 0,5 are."),
        ("1500 µL", "mL", "&#x27;µL&#x27; is not read: write 1.5 mL."),
        ("0.001", "mL/h", "is not the kind of amount that the question asks for"),
        (
            "1",
            "kg",
            "is not the kind of amount that the question asks for: it asks for an amount in mL.",
        ),
        ("1 mg", "mL", "1 mg was written, and mL chosen: give it in one unit."),
        ("1 cup", "", "&#x27;cup&#x27; is no unit that is read. It asks for an amount in mL."),
    ],
)
def test_a_refused_dose_keeps_what_was_written(
    browser: Client, hire: Person, rig: Rig, amount: str, unit: str, said: str
) -> None:
    presentation = asked(hire, rig, dose_prompt())

    response = send(browser, presentation, amount=amount, unit=unit)

    content = response.content.decode()
    assert response.status_code == 422
    assert presentation.state == PresentationState.OPEN
    assert said in content
    assert f'autocomplete="off" value="{amount}"' in content
    assert ('value="mL" checked' in content) is (unit == "mL")
    assert content.count("autofocus") == 1
    assert 'autofocus aria-invalid="true" aria-describedby="unread" data-amount' in content


@pytest.mark.parametrize("amount", ["1", "five"], ids=["readable", "unreadable"])
@pytest.mark.parametrize("mode", [Mode.PRACTICE, Mode.ASSESSED])
def test_what_comes_after_an_answer_is_told_the_recorded_one_and_nothing_to_mend(
    browser: Client, hire: Person, rig: Rig, mode: str, amount: str
) -> None:
    presentation = asked(hire, rig, dose_prompt(), mode)
    send(browser, presentation, amount="2", unit="mL")

    response = send(browser, presentation, amount=amount, unit="mL")

    presentation.refresh_from_db()
    assert presentation.answer == ["2 mL"]
    if mode == Mode.PRACTICE:
        said = response.content.decode()
        assert response.status_code == 422
        assert "That prompt has an answer already. The first one counts. Recorded: 2 mL." in said
        assert 'class="fault"' not in said
    else:
        assert response["HX-Redirect"].endswith("/debrief/")


def test_doses_alone_ask_for_no_warm_up(hire: Person, rig: Rig) -> None:
    """They have no limit, so nobody's tapping is measured."""
    presentation = asked(hire, rig, dose_prompt(), is_timed=True)

    assert presentation.order == 1
    assert presentation.limit_seconds is None


def test_shows_the_rule_its_source_and_the_safety_words(
    browser: Client, hire: Person, rig: Rig
) -> None:
    content = page(browser, asked(hire, rig, dose_prompt())).decode()

    for words in ("44 lb", "0.1 mg/kg, at most 3 mg", "A document", "10 mg / 5 mL", NOTICE, SAFETY):
        assert words in content
    assert "Severe bleeding" not in content
    assert content.index("A document") > content.index('id="amount"')


def test_from_memory_shows_no_rule_and_is_another_skill(
    browser: Client, hire: Person, rig: Rig
) -> None:
    presentation = asked(hire, rig, dose_prompt(is_rule_shown=False))

    content = page(browser, presentation).decode()
    send(browser, presentation, amount="1", unit="mL")

    assert "From memory" in content
    assert "0.1 mg" not in content
    assert Evidence.objects.get().fact.skill == "dose Testamine, from memory"


@pytest.mark.parametrize(
    ("amount", "unit", "outcome", "words"),
    [
        ("1", "mL", "right", "44 lb / 2.2 = 20 kg"),
        ("1,0", "mL", "right", "write 1, never 1.0"),
        ("0,125", "mL", "unsafe", "44 lb / 2.2 = 20 kg"),
        ("1.1", "mL", "out of tolerance", "2 mg / 2 mg/mL = 1 mL"),
        ("10", "mL", "unsafe", "ten times too much"),
        ("1.5", "mL", "unsafe", "The maximum was forgotten"),
        (".1", "mL", "unsafe", "a tenth of it"),
        ("2", "mg", "out of tolerance", "the dose itself, not the volume"),
        ("2000", "mcg", "out of tolerance", "the dose itself, not the volume"),
    ],
)
def test_judges_and_works_it_in_steps(
    browser: Client, hire: Person, rig: Rig, amount: str, unit: str, outcome: str, words: str
) -> None:
    presentation = asked(hire, rig, dose_prompt())

    content = send(browser, presentation, amount=amount, unit=unit).content.decode()

    assert presentation.outcome == outcome
    if words != "The maximum was forgotten":
        assert words in content
    assert SAFETY in content
    assert Evidence.objects.get().outcome == outcome


def test_pounds_for_kilograms_is_named_in_the_debrief(
    browser: Client, hire: Person, rig: Rig
) -> None:
    """44 taken for kilograms is 4.4 mg, below the maximum: 2.2 mL."""
    presentation = asked(hire, rig, dose_prompt(maximum="5 mg"))
    while presentation.state == PresentationState.OPEN:
        send(browser, presentation, amount="2.2", unit="mL")
        browser.post(reverse("runs:proceed", args=[presentation.run_id]))
        following = presentation.run.presentations.order_by("order").last()
        assert following is not None
        presentation = following

    content = browser.get(reverse("runs:debrief", args=[presentation.run_id])).content.decode()

    assert "1 wrong: unsafe" in content
    assert "Named slip: pounds used as kilograms." in content
    assert content.count(SAFETY) == 1
    assert content.count(NOTICE) == 1
    assert "44 lb / 2.2 = 20 kg" in content
    assert "A document, 1 (confirmed)" in content
    assert SAFETY in content


def test_the_debrief_opens_the_working_of_what_was_wrong_and_folds_the_rest(
    browser: Client, hire: Person, rig: Rig
) -> None:
    """What was unsafe stands before what was out of tolerance, whichever was asked first."""
    presentation = asked(hire, rig, dose_prompt(), Mode.ASSESSED)
    other = DrillPrompt.objects.get(drill=presentation.run.drill)
    other.pk, other.position = None, 1
    other.save()
    forget_drills()
    for amount in ("1.1", "10"):
        send(browser, presentation, amount=amount, unit="mL")
        browser.post(reverse("runs:proceed", args=[presentation.run_id]))
        presentation = presentation.run.presentations.order_by("order").last() or presentation

    content = browser.get(reverse("runs:debrief", args=[presentation.run_id])).content.decode()

    first, second = re.split('<details class="sec miss fold"', content)[1:3]
    assert "1. Unsafe" in first
    assert '<details class="figures working" open>' in first
    assert "2. Out of tolerance" in second
    assert '<details class="figures working">' in second
    for each in (first, second):
        assert each.index('class="answer"') < each.index("Worked, step by step")


def test_the_right_answer_and_the_corrected_line_stand_before_the_working(
    browser: Client, hire: Person, rig: Rig
) -> None:
    presentation = asked(hire, rig, dose_prompt())

    content = send(browser, presentation, amount="10", unit="mL").content.decode()

    places = [content.index(each) for each in ('class="answer"', "Named slip", "<h3>Worked")]
    assert places == sorted(places)
    assert content.count(">Next</button>") == 1


@pytest.mark.parametrize(
    ("own", "said", "outcome"),
    [
        ("emt", {"hand_over": "1"}, "right"),
        ("emt", {"amount": "1", "unit": "mL"}, "unsafe"),
        ("paramedic", {"hand_over": "1"}, "wrong"),
        ("paramedic", {"amount": "1", "unit": "mL"}, "right"),
        ("", {"hand_over": "1"}, "right"),
    ],
)
def test_a_dose_above_a_persons_level_is_handed_over(
    browser: Client, hire: Person, rig: Rig, own: str, said: dict[str, str], outcome: str
) -> None:
    levels = {
        key: CertificationLevel.objects.update_or_create(
            key=key, defaults={"name": key, "rank": rank}
        )[0]
        for key, rank in (("emt", 91), ("paramedic", 93))
    }
    hire.certification = levels.get(own)
    hire.save()
    presentation = asked(hire, rig, dose_prompt(level="paramedic"))

    content = send(browser, presentation, **said).content.decode()

    assert presentation.outcome == outcome
    assert ("Hand it over." in content) == (own != "paramedic")
    assert ("within your level" in content) == (outcome == "wrong")


def test_a_level_that_nobody_keeps_is_above_everybody(
    browser: Client, hire: Person, rig: Rig
) -> None:
    presentation = asked(hire, rig, dose_prompt(level="no-such-level"))

    send(browser, presentation, amount="1", unit="mL")

    assert (presentation.outcome, presentation.above) == ("unsafe", "no-such-level")


def test_what_was_above_when_answered_stays_so_in_the_debrief(
    browser: Client, hire: Person, rig: Rig
) -> None:
    level = CertificationLevel.objects.create(key="later", name="Later", rank=99)
    presentation = asked(hire, rig, dose_prompt(level="later"))
    send(browser, presentation, hand_over="1")
    hire.certification = level
    hire.save()

    content = page(browser, presentation).decode()

    assert presentation.outcome == "right"
    assert "This dose is for: Later." in content


@pytest.mark.parametrize(
    "body",
    [
        {"amount": "1"},
        {"amount": "one", "unit": "mL"},
        {"amount": "-1", "unit": "mL"},
        {"amount": "1e9", "unit": "mL"},
        {"amount": "1", "unit": "stone"},
        {"amount": "9" * 5_000, "unit": "mL"},
        {"amount": "\u0661", "unit": "mL"},
        {"amount": "1", "unit": "units"},
        {"amount": "1", "unit": "mEq"},
        {"amount": "", "unit": "mL"},
    ],
)
def test_what_is_no_amount_is_refused_and_nothing_stored(
    browser: Client, hire: Person, rig: Rig, body: dict[str, str]
) -> None:
    presentation = asked(hire, rig, dose_prompt())

    assert send(browser, presentation, **body).status_code == 422

    assert presentation.state == PresentationState.OPEN
    assert not Evidence.objects.exists()


@pytest.mark.parametrize("headers", [{}, FRAGMENT], ids=["page", "fragment"])
@pytest.mark.parametrize("mode", Mode.values)
def test_whatever_the_right_dose_the_page_is_the_same(
    browser: Client, hire: Person, rig: Rig, mode: str, headers: dict[str, str]
) -> None:
    """Judged by another rule, another level or another strength, byte for byte."""
    presentation = asked(hire, rig, dose_prompt(), mode)
    prompt = presentation.prompt
    assert prompt is not None
    before = masked(page(browser, presentation, headers=headers))
    assert b"In your hand" in before

    for other in ({"dose": "7 mg"}, {"level": "paramedic"}, {"presentation": "1 mg / 9 mL"}):
        DrillPrompt.objects.filter(pk=prompt.pk).update(answer=prompt.answer | other)
        assert masked(page(browser, presentation, headers=headers)) == before


def test_out_of_tolerance_is_partly_right_and_its_marks_are_told(
    browser: Client, hire: Person, rig: Rig
) -> None:
    """Half of them, on the feedback and in the debrief; how it was written is another matter."""
    presentation = asked(hire, rig, dose_prompt())
    told = send(browser, presentation, amount="1.10", unit="mL").content.decode()

    assert (presentation.outcome, presentation.marks, presentation.sign) == (
        *("out of tolerance", 50, "partly"),
    )
    assert "Out of tolerance is partly right in a drill: 50 of 100 marks." in told
    assert "took half the marks" not in told
    browser.post(reverse("runs:proceed", args=[presentation.run_id]))
    again = presentation.run.presentations.order_by("order").last()
    while again and again.state == PresentationState.OPEN:
        send(browser, again, amount="1", unit="mL")
        browser.post(reverse("runs:proceed", args=[presentation.run_id]))
        again = presentation.run.presentations.order_by("order").last()
    content = browser.get(reverse("runs:debrief", args=[presentation.run_id])).content.decode()
    assert "1 partly right" in content
    assert "out of tolerance" in content.partition("1 partly right")[2].partition("</li>")[0]
    assert "0 wrong" in content


@pytest.mark.parametrize("amount", ["1", "2"])
def test_nothing_is_said_of_half_the_marks_where_all_or_none_are_given(
    browser: Client, hire: Person, rig: Rig, amount: str
) -> None:
    told = send(browser, asked(hire, rig, dose_prompt()), amount=amount, unit="mL")

    assert "of 100 marks" not in told.content.decode()
