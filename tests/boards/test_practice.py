"""Practice in figures: an exercise from a seed, judged, worked and forgotten."""

import html
import re
from datetime import UTC, datetime
from html import unescape
from itertools import islice
from typing import Any
from urllib.parse import parse_qs, urlencode, urlsplit

import pytest
from django.test import Client, override_settings
from django.urls import reverse

from drills.boards.practice import (
    TRIES_FOR_ANOTHER,
    Wish,
    _exercises,
    exercise,
    rules_to_practise,
)
from drills.boards.sitting import Sitting
from drills.competency.models import Evidence
from drills.demo.factories import rig_on
from drills.engine.medicines import SAFETY_WORDS
from drills.engine.recipes import CannotApplyError
from drills.formulary.actions import set_dosing
from drills.formulary.models import DoseRule
from drills.people.models import Person
from drills.rigs.models import Layout, Rig
from drills.runs.models import Presentation, Run
from tests.layouts import demo_layout
from tests.reference import load_reference

UNIT = r"(?:mcg|mg|g|kg|mL|L|min|psi)\b"
pytestmark = pytest.mark.django_db
NOW = datetime(2026, 11, 28, 6, 0, tzinfo=UTC)
WISH = {
    "layout": "practice-rig",
    "what": "sums",
    "grade": "2",
    "rule": "shown",
    "count": "4",
    "seed": "11",
}


@pytest.fixture
def browser(hire: Person, rig: Rig) -> Client:
    client = Client()
    client.force_login(hire)
    return client


def _load_formulary() -> None:
    """All that an exercise is made of; the people are those of the tests."""
    load_reference(without=["people"])


def page(browser: Client, **wish: str) -> Any:
    return browser.get(reverse("boards:practice"), WISH | wish)


def send(browser: Client, body: dict[str, str], what: str = "sums", **headers: Any) -> Any:
    wish = WISH | {"what": what}
    query = "&".join(f"{name}={value}" for name, value in wish.items())
    return browser.post(f"{reverse('boards:practice')}?{query}", body, follow=True, **headers)


def figures(response: Any) -> list[str]:
    return re.findall(r"<dd>(.*?)</dd>", response.content.decode(), re.S)


def right_answer(browser: Client, what: str = "sums") -> dict[str, str]:
    """What the working says is right, as it would be written."""
    return answer_told(send(browser, {"unknown": "1"}, what))


def answer_told(response: Any) -> dict[str, str]:
    found = re.search(r'<b class="answer">([0-9.,]+) ?([^<,]*)', response.content.decode())
    assert found is not None
    return {"amount": found[1], "unit": found[2].strip()}


def test_a_weight_is_asked_as_the_service_sets_it(browser: Client, educator: Person) -> None:
    with override_settings(READINESS_DEMO=True):
        _load_formulary()
        by_table = page(browser, what="weight", grade="1").content.decode()
        set_dosing(pounds="exact", rounding="half up", decided="x", by=educator, now=NOW)
        exactly = page(browser, what="weight", grade="1").content.decode()

    assert "kg = lb / 2.2<" in by_table
    assert "kg = lb x 0.45359237<" in exactly


def test_what_is_wished_for_is_chosen_first(browser: Client) -> None:
    content = browser.get(reverse("boards:practice")).content.decode()

    assert "Start" in content
    assert "<dd>" not in content
    assert SAFETY_WORDS in content


def test_without_a_number_a_new_one_is_drawn(browser: Client) -> None:
    response = page(browser, seed="")

    assert response.status_code == 302
    asked = parse_qs(urlsplit(response["Location"]).query)
    assert asked["seed"][0].isdecimal()
    assert {name: asked[name][0] for name in WISH if name != "seed"} == {
        name: value for name, value in WISH.items() if name != "seed"
    }


def test_the_same_number_makes_the_same_exercise_and_others_others(browser: Client) -> None:
    pages = [figures(page(browser, seed=str(seed))) for seed in (1, 1, 2, 3, 4, 5)]

    assert pages[0]
    assert pages[0] == pages[1]
    assert len({tuple(each) for each in pages}) >= 3


def test_the_working_comes_with_the_answer_and_never_before(browser: Client) -> None:
    assert "Worked" not in page(browser).content.decode()

    content = send(browser, right_answer(browser)).content.decode()

    assert "Worked" in content
    assert " Right</span>" in content
    assert SAFETY_WORDS in content


@pytest.mark.parametrize(("what", "word"), [("weight", "Unsafe"), ("sums", "Out of tolerance")])
def test_what_is_far_off_is_unsafe_where_a_dose_comes_of_it(
    browser: Client, what: str, word: str
) -> None:
    with override_settings(READINESS_DEMO=True):
        _load_formulary()
        right = right_answer(browser, what)
        far = {"amount": f"{float(right['amount']) * 10:g}", "unit": right["unit"]}
        judged = send(browser, far, what).content.decode()

    assert f" {word}</span>" in judged


@pytest.mark.parametrize(
    "body",
    [
        {"amount": "1..5", "unit": "mL"},
        {"amount": "5 mmHg", "unit": "points"},
        {"amount": "5 cups"},
        {},
    ],
)
def test_what_cannot_be_read_is_asked_again_and_keeps_what_was_written(
    browser: Client, body: dict[str, str]
) -> None:
    response = send(browser, body)

    content = response.content.decode()
    assert response.status_code == 422
    assert 'role="alert"' in content
    assert f'value="{body.get("amount", "")}"' in content
    assert "Worked" not in content


def test_a_unit_that_is_none_is_told_the_kind_that_is_asked_for(
    browser: Client,
) -> None:
    content = send(browser, {"amount": "5 cups"}).content.decode()

    assert "is no unit that is read. It asks for " in content
    assert "Units: mmHg" not in content


def test_htmx_is_given_the_part_alone(browser: Client) -> None:
    headers = {"HX-Request": "true"}

    asked = browser.get(reverse("boards:practice"), WISH, headers=headers).content.decode()
    told = send(browser, {"unknown": "1"}, headers=headers).content.decode()

    assert "<html" not in asked + told
    assert "Worked" in told


def test_enter_sends_what_was_written(browser: Client) -> None:
    """A browser presses the first button of a form, so that may not be the one that shows."""
    content = page(browser).content.decode()

    form = content.partition('<form method="post" action="?')[2]
    first = re.search(r"<button[^>]*>", form)
    assert first is not None
    assert "unknown" not in first[0]
    assert 'name="unknown"' in form


class TestASitting:
    """One after another by *Next*, from the first address to the last."""

    def following(self, browser: Client, query: str, body: dict[str, str]) -> tuple[Any, str]:
        """The page after an answer, and the address of its *Next*."""
        told = browser.post(f"{reverse('boards:practice')}?{query}", body, follow=True)
        found = re.search(r'href="\?([^"]*)"[^>]*>Next', told.content.decode())
        assert found is not None
        return told, html.unescape(found[1])

    def worked(self, browser: Client, query: str, *, times: int) -> dict[str, str]:
        """So many times what is right."""
        told, _ = self.following(browser, query, {"unknown": "1"})
        right = answer_told(told)
        return right | {"amount": f"{float(right['amount']) * times:g}"}

    def test_next_is_new_every_time(self, browser: Client) -> None:
        query, seen = urlencode(WISH), []
        for _ in range(25):
            asked = browser.get(f"{reverse('boards:practice')}?{query}")
            seen.append((tuple(figures(asked)), asked.context["exercise"].figures))
            _, query = self.following(browser, query, {"unknown": "1"})

        assert len(set(seen)) == 25

    def test_the_tally_counts_each_answer_once_and_keeps_nothing(self, browser: Client) -> None:
        query = urlencode(WISH)
        for times in (1, None, 10):
            body = self.worked(browser, query, times=times) if times else {"unknown": "1"}
            self.following(browser, query, body)
            told, query = self.following(browser, query, body)

        assert "1 right, 1 out of tolerance, 0 unsafe, 1 shown" in told.content.decode()
        page = browser.get(f"{reverse('boards:practice')}?{query}").content.decode()
        assert "1 right, 1 out of tolerance, 0 unsafe, 1 shown" in page
        assert not Presentation.objects.exists()
        assert not Evidence.objects.exists()

    @pytest.mark.parametrize("headers", [{}, {"HX-Request": "true"}])
    def test_read_again_an_answer_and_its_tally_stand(
        self, browser: Client, headers: dict[str, str]
    ) -> None:
        body = self.worked(browser, urlencode(WISH), times=10)

        sent = send(browser, body, headers=headers)
        again = browser.get(sent.redirect_chain[-1][0], headers=headers).content.decode()

        assert " Out of tolerance</span>" in again
        assert "0 right, 1 out of tolerance, 0 unsafe" in again
        assert figures(sent) == figures(page(browser))

    def test_where_all_were_asked_they_begin_again_and_the_tally_goes_on(
        self, browser: Client
    ) -> None:
        """The pressures, scores and tubes of one seed are many; each is marked as asked."""
        revision = Layout.objects.get(slug="practice-rig").published
        assert revision is not None
        wish = Wish(what="sums", grade=2, is_rule_shown=True, seed=11)
        sitting = Sitting((1, 0, 0, 0))
        for each in islice(_exercises(wish, (), revision), TRIES_FOR_ANOTHER + 1):
            sitting = sitting if sitting.has_asked(each) else sitting.after(each, "right")

        content = page(browser, sitting=str(sitting)).content.decode()

        assert "they begin again" in content
        assert f"{sitting.counts[0]} right" in content

    @pytest.mark.parametrize("so_far", ["1.2.3", "1.2.3.4_ab", "1.2.3.4_<b>", "-1.0.0.0_", "99999"])
    def test_a_tally_that_is_none_is_refused_by_name(self, browser: Client, so_far: str) -> None:
        content = page(browser, sitting=so_far).content.decode()

        assert f"{html.escape(repr(so_far))} is no tally of a sitting" in content


def test_nothing_is_kept(browser: Client) -> None:
    send(browser, right_answer(browser))

    assert not Run.objects.exists()
    assert not Presentation.objects.exists()
    assert not Evidence.objects.exists()


@pytest.mark.parametrize(
    ("wish", "said"),
    [
        ({"what": "surgery"}, "surgery is nothing that can be practised."),
        ({"what": ""}, "Nothing came in; something of the list is accepted."),
        ({"grade": "9"}, "“9” came in; one of 1 (one step), 2 (several steps), 3 (with a trap)"),
        ({"grade": "50%s"}, "“50%s” came in; one of 1 (one step)"),
        ({"grade": ""}, "Nothing came in; one of 1 (one step)"),
        ({"rule": "hidden"}, "“hidden” came in; shown or memory is accepted."),
        ({"layout": "no-such%"}, "“no-such%” came in; a layout of the list is accepted."),
        ({"seed": "-1"}, "“-1” came in; a whole number from 0 to 1,000,000,000 is accepted."),
        ({"seed": "x%s"}, "“x%s” came in; a whole number from 0 to"),
    ],
)
def test_a_wish_that_is_none_is_asked_again(
    browser: Client, wish: dict[str, str], said: str
) -> None:
    """In our words: what came in, and what would be accepted."""
    response = page(browser, **wish)

    assert response.status_code == 200
    found = re.search(r'<ul class="errorlist"[^>]*><li>(.*?)</li>', response.content.decode())
    assert found is not None
    assert unescape(found[1]).startswith(said)
    assert not figures(response)


@pytest.mark.parametrize(
    ("what", "said"),
    [
        ("medicine:50 % salt", "The formulary in force has no dose of 50 % salt to practise."),
        ("dose", "A dose to give: not without a formulary in force."),
        ("surgery", "surgery is nothing that can be practised."),
    ],
)
def test_a_choice_that_is_gone_is_told_in_words(browser: Client, what: str, said: str) -> None:
    content = page(browser, what=what).content.decode()

    assert said in content
    assert "Select a valid choice" not in content


def test_a_medicine_that_is_no_dose_is_told_where_it_is_asked(browser: Client) -> None:
    """It is not offered; where its name comes in all the same, nothing untrue is said."""
    with override_settings(READINESS_DEMO=True):
        _load_formulary()
        rules, _ = rules_to_practise(NOW)
        start = browser.get(reverse("boards:practice")).content.decode()

    revision = Layout.objects.get(slug="practice-rig").published
    assert revision is not None
    name = "Defibrillation energy"
    assert f'value="medicine:{name}"' not in start
    wish = Wish(what=f"medicine:{name}", grade=1, is_rule_shown=True, seed=1)
    with pytest.raises(CannotApplyError, match=f"{name} is .* asked under The energy of a shock"):
        exercise(wish, rules, revision, Sitting())


def test_without_a_formulary_in_force_no_dose_is_practised(browser: Client) -> None:
    content = browser.get(reverse("boards:practice")).content.decode()

    assert "Dose drills are closed" in content
    assert 'value="dose"' not in content
    assert 'value="oxygen"' in content
    assert "errorlist" in page(browser, what="dose").content.decode()


class TestOnPaper:
    def sheet(self, browser: Client, **wish: str) -> Any:
        return browser.get(reverse("boards:practice_sheet"), WISH | wish)

    def test_as_many_as_asked_none_twice_each_with_its_answer(self, browser: Client) -> None:
        content = self.sheet(browser).content.decode()

        problems, answers = content.split('class="listpage answers"')
        assert problems.count("Answer ____") == problems.count("____ with its unit") == 4
        assert answers.count("</ul>") >= 4
        told = re.findall(r'<dl class="facts">.*?</dl>', problems, re.S)
        assert len(set(told)) == 4
        assert SAFETY_WORDS in problems
        assert SAFETY_WORDS in answers

    def test_an_answer_names_its_medicine_and_the_page_what_it_is_from(
        self, browser: Client
    ) -> None:
        with override_settings(READINESS_DEMO=True):
            _load_formulary()
            content = self.sheet(browser, what="energy", grade="1").content.decode()
        answers = content.split('class="listpage answers"')[1]

        lines = re.findall(r"<li><p>(.*?)</p>", answers, re.S)
        assert len(lines) == 4
        assert all("How many joules does the shock take?" in each for each in lines)
        assert any("Defibrillation energy, " in each for each in lines)
        assert "Demonstration only. Not for patient care." in answers
        assert "Practice rig, rev. 1" in answers

    def test_a_source_that_names_two_documents_is_one_line(self, browser: Client) -> None:
        with override_settings(READINESS_DEMO=True):
            _load_formulary()
            DoseRule.objects.update(source="A paper; a web page", status="confirmed")
            content = self.sheet(browser, what="energy", grade="1").content.decode()

        listed = content.partition("Where the rules are from")[2]
        assert re.search(r"<li>A paper; a web page, [^;<]+ \(confirmed\) <span", listed)
        assert "<li>A paper <span" not in listed

    @pytest.mark.parametrize("seed", ["5", "6"])
    def test_no_rule_is_asked_again_while_there_is_another(
        self, browser: Client, seed: str
    ) -> None:
        """A sheet with one rule at 30 and at 31 kg teaches one thing twice."""
        with override_settings(READINESS_DEMO=True):
            _load_formulary()
            rig_on(demo_layout("mesa-box"), unit="12")
            shown = self.sheet(browser, layout="mesa-box", what="dose", grade="1", seed=seed)
        rules = [each["exercise"].medicine.code for each in shown.context["exercises"]]
        assert len(set(rules)) == len(rules) == 4

    @pytest.mark.parametrize("grade", ["1", "2", "3"])
    def test_no_sum_is_asked_again_under_other_numbers(self, browser: Client, grade: str) -> None:
        """500 mL over 2 h after 1,000 mL over 4 h is the same 250 mL/h."""
        with override_settings(READINESS_DEMO=True):
            _load_formulary()
            rig_on(demo_layout("mesa-box"), unit="12")
            wish = {"layout": "mesa-box", "what": "drip", "grade": grade, "count": "12"}
            shown = self.sheet(browser, **wish)
        asked = [each["exercise"] for each in shown.context["exercises"]]
        sums = {
            (
                each.medicine and each.medicine.code,
                each.asked,
                each.solution.results[each.asked].answer,
            )
            for each in asked
        }

        assert len(sums) == len(asked) == 12

    @pytest.mark.usefixtures("as_printed")
    @pytest.mark.parametrize("what", ["dose", "oxygen"])
    def test_no_line_of_it_ends_between_a_number_and_its_unit(
        self, browser: Client, what: str
    ) -> None:
        with override_settings(READINESS_DEMO=True):
            _load_formulary()
            rig_on(demo_layout("mesa-box"), unit="12")
            content = self.sheet(browser, layout="mesa-box", what=what).content.decode()
        text = re.sub(r"<[^>]*>", "", content.partition('class="listpage problems"')[2])
        assert len(re.findall(rf"[0-9]\u00a0{UNIT}", text)) > 20
        assert re.findall(rf"[0-9]\s(?<!\u00a0){UNIT}", text) == []

    def test_the_same_number_makes_the_same_sheet(self, browser: Client) -> None:
        first, again, other = (figures(self.sheet(browser, seed=seed)) for seed in ("5", "5", "6"))

        assert first == again != other

    def test_problems_and_answers_say_how_the_service_works(
        self, browser: Client, educator: Person
    ) -> None:
        set_dosing(pounds="exact", rounding="never up", decided="x", by=educator, now=NOW)

        problems, answers = self.sheet(browser).content.decode().split('class="listpage answers"')
        said = "Pounds exactly, 0.45359237 kg each; a child&#x27;s dose never rounded up;"
        assert said in problems
        assert said in answers

    def test_a_rule_is_said_once_on_each_of_its_pages(self, browser: Client) -> None:
        """At the head of the problems, or from memory under the answers; sources always there."""
        scale, source = "Motor 6 obeys, 5 localises", "Ventura College EMT"
        for rule, times in (("shown", [1, 0]), ("memory", [0, 1])):
            content = self.sheet(browser, grade="2", count="12", rule=rule).content.decode()
            pages = unescape(content).split('class="listpage answers"')

            assert pages[0].count("What is the GCS, by the adult scale?") > 1
            assert [each.count(scale) for each in pages] == times
            assert [each.count(source) for each in pages] == [0, 1]

    def test_the_syringes_are_told_once_at_the_head_of_the_problems(self, browser: Client) -> None:
        with override_settings(READINESS_DEMO=True):
            _load_formulary()
            rig_on(demo_layout("mesa-box"), unit="12")
            content = self.sheet(
                browser, layout="mesa-box", what="dose", count="8"
            ).content.decode()

        head, problems = content.partition('<ol class="sums">')[::2]
        assert re.search(r"Syringes aboard, unless [^:]+: <b>1 mL by 0\.01 mL, ", head)
        assert "Syringes aboard" not in problems

    def test_without_a_number_a_new_one_is_drawn(self, browser: Client) -> None:
        assert "seed=" in self.sheet(browser, seed="")["Location"]

    @pytest.mark.parametrize("count", ["0", "31", "many", "3%s", "-8"])
    def test_too_many_are_refused(self, browser: Client, count: str) -> None:
        content = self.sheet(browser, count=count).content.decode()

        said = f"“{count}” came in; a whole number from 1 to 30 is accepted."
        assert said in content
        assert "Answer ____" not in content
