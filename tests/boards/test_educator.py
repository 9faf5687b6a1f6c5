"""The educator's page: what the cohort misses, where people look instead, and the file of it."""

import csv
import re
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import datetime, time, timedelta
from functools import partial
from io import StringIO
from itertools import count
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.boards.choosing import EVIDENCE, PERIODS
from drills.competency.actions import record_evidence
from drills.demo.factories import CohortFactory, PersonFactory, RecipeFactory, published, rig_on
from drills.engine.cohort import TOO_FEW, as_asked
from drills.engine.exercises import SHOWN
from drills.engine.facts import BAG, ITEM, SKILL, Fact, facts_of
from drills.engine.flagging.shrunk import FALLBACK
from drills.engine.layout import Layout, StockLine, item_key
from drills.engine.medicines import SAFETY_WORDS
from drills.engine.recipes import DOSE, STAGE
from drills.engine.scoring import ELSEWHERE, OLD_PLACE, RIGHT, WRONG, Finding
from drills.engine.workbook.csvtext import guard
from drills.people.models import AuditEntry, Person
from drills.rigs.models import Rig
from drills.runs.actions import start_run
from drills.runs.models import Presentation
from drills.scenarios.models import Recipe
from tests.boards.conftest import move_the_bag
from tests.competency.test_actions import circumstances
from tests.layouts import practice_rig
from tests.reference import table
from tests.runs.conftest import FRAGMENT, SEED, ClientOf
from tests.runs.player import Player, lately, right, wrong
from tests.runs.test_dose import asked, dose_prompt, send
from tests.runs.test_supply import supply_prompt

URL, EXPORT = reverse("boards:educator"), reverse("boards:educator_csv")
SPLINT = Fact(ITEM, "splint", "S1A")
CONE = Fact(ITEM, "traffic cone", "S1")
FENTANYL = Fact(ITEM, "fentanyl", "I1B")
DRAWER, POCKET = Fact(ITEM, "tourniquet", "I1A"), Fact(ITEM, "tourniquet", "BAG-M")
WHAT_MOVED = ("Response bag", "Suction tip", "Splint")
pytestmark = pytest.mark.django_db


@dataclass
class Crowd:
    """As many people as are asked for, and what they are kept to have answered."""

    rig: Rig
    people: dict[int, Person] = field(default_factory=dict)
    numbers: Any = field(default_factory=count)

    def __getitem__(self, number: int) -> Person:
        if number not in self.people:
            self.people[number] = PersonFactory.create(
                employee_number=f"C{number}", name=f"Given{number} Family{number}"
            )
        return self.people[number]

    def said(self, number: int, outcome: str, *, fact: Fact = SPLINT, **how: Any) -> None:
        days = how.pop("days", 1)
        told = replace(
            circumstances(self[number], self.rig, f"answer {next(self.numbers)}"),
            at=timezone.now() - timedelta(days=days),
            **how,
        )
        record_evidence([Finding(fact, outcome, "")], told)

    def each_said(self, outcomes: str, *, fact: Fact = SPLINT, **how: Any) -> None:
        """W and R stand for wrong and right, one letter for each person."""
        for number, letter in enumerate(outcomes):
            self.said(number, WRONG if letter == "W" else RIGHT, fact=fact, **how)


@pytest.fixture
def crowd(rig: Rig) -> Crowd:
    return Crowd(rig)


@pytest.fixture
def browser(client_of: ClientOf, educator: Person) -> Client:
    return client_of(educator)


def words(browser: Client, **chosen: str) -> str:
    response = browser.get(URL, chosen)
    assert response.status_code == 200
    return " ".join(response.content.decode().split())


def row_of(content: str, thing: str) -> str:
    """The text of the row of a thing in the table of things, signs left out."""
    rows = re.findall(rf"<td><b>{thing}</b>(.*?)</tr>", content)
    return " ".join(re.sub("<[^>]+>", " ", rows[0]).split()) if rows else ""


def rows_of(browser: Client, **chosen: str) -> list[list[str]]:
    response = browser.get(EXPORT, chosen)
    assert response.status_code == 200
    return list(csv.reader(StringIO(response.content.decode("utf-8-sig"))))


def cells_of(rows: list[list[str]], what: str) -> dict[str, str]:
    """The first row of the export about a thing, by its columns."""
    return next(dict(zip(rows[1], row, strict=True)) for row in rows[2:] if row[1] == what)


class TestCounting:
    def test_each_person_counts_once(self, browser: Client, crowd: Crowd) -> None:
        """Nine misses of one person and the right answers of three are a quarter, not three."""
        crowd.each_said("WRRR")
        for days in range(2, 10):
            crowd.said(0, WRONG, days=days)

        row = row_of(words(browser), "Splint")

        assert "1 of 4 12" in row

    def test_the_newest_answer_stands(self, browser: Client, crowd: Crowd) -> None:
        crowd.each_said("WWWW", days=9)
        crowd.each_said("RRR")

        assert "1 of 4 7" in row_of(words(browser), "Splint")

    def test_a_retry_is_no_first_answer(self, browser: Client, crowd: Crowd) -> None:
        crowd.each_said("WRRR", days=2)
        crowd.said(0, RIGHT, is_first=False, chosen_by="retry")

        assert "1 of 4 4" in row_of(words(browser), "Splint")

    def test_a_thing_in_two_places_is_asked_as_one(self, browser: Client, crowd: Crowd) -> None:
        """A wrong answer counts for the drawer, a right one for the pocket that was given."""
        crowd.each_said("WR", fact=DRAWER)
        for number in (2, 3):
            crowd.said(number, RIGHT, fact=POCKET)

        row = row_of(words(browser), "Tourniquet")

        assert "1 of 4" in row
        assert "Main pocket or I1 Wall cabinet › Upper drawer" in row

    def test_share_and_interval_stand_together(self, browser: Client, crowd: Crowd) -> None:
        """Nine of ten at 80 %, as it was worked out elsewhere."""
        crowd.each_said("WWWWWWWWWR")
        (known,) = (
            each
            for each in table("wilson.csv")
            if (each["successes"], each["tries"], each["confidence"]) == ("9", "10", "0.80")
        )

        row = row_of(words(browser), "Splint")

        low, high = (round(100 * float(known[end])) for end in ("low", "high"))
        assert f"90 {low} to {high} 9 of 10" in row

    def test_not_enough_evidence_is_said_instead_of_a_share(
        self, browser: Client, crowd: Crowd
    ) -> None:
        crowd.each_said("WWWRRR")

        content = words(browser)

        assert "not enough evidence, 27 to 73 3 of 6" in row_of(content, "Splint")
        assert "is missed most surely" not in content

    def test_what_is_surely_missed_stands_first(self, browser: Client, crowd: Crowd) -> None:
        crowd.each_said("WWW", fact=CONE)
        crowd.each_said("WWWWWWR")

        content = words(browser)

        assert content.index("<b>Splint</b><small") < content.index("<b>Traffic cone</b><small")
        assert content.count("<span>surest first, thin evidence below</span>") == 2
        assert "whatever has not enough evidence stands below all that has" in content
        assert "<b>Splint</b> is missed most surely: 6 of 7 people." in content

    def test_voided_answers_count_nowhere(self, browser: Client, crowd: Crowd) -> None:
        crowd.each_said("WWWW")
        crowd[0].evidence.update(voided_at=timezone.now())

        assert "3 of 3" in row_of(words(browser), "Splint")

    def test_who_left_counts_in_the_time_they_answered(self, browser: Client, crowd: Crowd) -> None:
        crowd.each_said("WWWW")
        Person.objects.filter(pk=crowd[0].pk).update(is_active=False)

        assert "4 of 4" in row_of(words(browser), "Splint")

    def test_who_was_erased_counts_no_more(self, browser: Client, crowd: Crowd) -> None:
        crowd.each_said("WWWW")
        crowd[0].delete()

        assert "3 of 3" in row_of(words(browser), "Splint")

    def test_what_the_revision_has_no_more_is_not_spoken_of(
        self, browser: Client, crowd: Crowd
    ) -> None:
        """A bag that moved leaves its old fact behind; the page speaks of the rig as it is."""
        crowd.each_said("WWWW", fact=Fact(BAG, "BAG", "S1A"))
        assert "4 of 4" in row_of(words(browser), "Response bag")
        move_the_bag(crowd.rig)

        assert row_of(words(browser), "Response bag") == ""


class TestNobodyNamed:
    def test_no_name_and_no_number_of_anybody(self, browser: Client, crowd: Crowd) -> None:
        crowd.each_said("WWWWWR")

        for content in (words(browser), str(rows_of(browser))):
            assert not re.search(r"Given\d|Family\d|\bC\d\b", content.partition("<main")[2])
            assert "Family" not in content

    @pytest.mark.parametrize("outcomes", ["W", "R", "WW", "WR", "RR"])
    def test_fewer_than_three_people_are_not_told(
        self, browser: Client, crowd: Crowd, outcomes: str
    ) -> None:
        """Neither whether they missed it, nor where they looked, nor in the file."""
        crowd.each_said(outcomes)

        content, rows = words(browser, fact=str(SPLINT)), rows_of(browser, fact=str(SPLINT))

        assert row_of(content, "Splint").startswith(f"S1 Street cabinet › Lower shelf {TOO_FEW}")
        assert "nothing is told of them here" in content
        assert f"Evidence</span>{TOO_FEW}" in content
        found = cells_of(rows, "Splint")
        assert found["note"] == TOO_FEW
        assert {found[name] for name in rows[1][3:11]} == {""}

    def test_three_people_are_told(self, browser: Client, crowd: Crowd) -> None:
        crowd.each_said("WWW")

        assert "3 of 3" in row_of(words(browser), "Splint")
        assert cells_of(rows_of(browser), "Splint")["people"] == "3"


class TestChoosing:
    def test_begins_where_most_is_known(self, browser: Client, crowd: Crowd) -> None:
        """Not with the first name of the alphabet, where nobody was asked anything."""
        rig_on(practice_rig("a-rig"), unit="12")
        crowd.each_said("WWW")

        content = words(browser)

        options = content.partition('id="layout">')[2].partition("</select>")[0]
        assert re.findall(r">([^<]+)</option>", options) == [
            "Practice rig, rev. 1: 3 first answers",
            "A rig, rev. 1: 0 first answers",
        ]
        assert "3 of 3" in row_of(content, "Splint")

    def test_another_layout_has_its_own_answers(self, browser: Client, crowd: Crowd) -> None:
        rig_on(practice_rig("a-rig"), unit="12")
        crowd.each_said("WWW")

        content = words(browser, layout="a-rig")

        assert "Nothing asked in this period." in content
        assert "No dose, no supply and no call asked in this period." in content

    def test_what_everybody_found_is_not_called_unasked(
        self, browser: Client, crowd: Crowd
    ) -> None:
        crowd.each_said("RRR")
        crowd.each_said("RRR", fact=Fact(SKILL, f"{STAGE} none-such", ""))

        content = words(browser)

        assert "Nothing missed in this period." in content
        assert "No dose, no supply and no call missed in this period." in content

    def test_a_cohort_is_who_is_in_it(self, browser: Client, crowd: Crowd) -> None:
        crowd.each_said("WWWWRRR")
        intake = CohortFactory.create(name="Intake", slug="intake")
        intake.members.add(*(crowd[number] for number in range(3)))

        assert "4 of 7" in row_of(words(browser), "Splint")
        assert "3 of 3" in row_of(words(browser, cohort="intake"), "Splint")

    @pytest.mark.parametrize(
        ("period", "people"), [("30", "3 of 3"), ("120", "6 of 6"), ("ever", "9 of 9")]
    )
    def test_a_period_ends_today(
        self, browser: Client, crowd: Crowd, period: str, people: str
    ) -> None:
        for number, days in enumerate([0, 1, 29, 30, 100, 119, 120, 300, 900]):
            crowd.said(number, WRONG, days=days)

        assert people in row_of(words(browser, period=period), "Splint")

    def test_from_and_to_are_both_within(self, browser: Client, crowd: Crowd) -> None:
        for number, days in enumerate([9, 10, 11, 12, 13]):
            crowd.said(number, WRONG, days=days)
        today = timezone.localdate()
        since, until = (str(today - timedelta(days=each)) for each in (12, 10))

        content = words(browser, period="dates", since=since, until=until)

        assert "3 of 3" in row_of(content, "Splint")
        assert f"{since} to {until}" in content

    def test_days_are_those_of_the_service(
        self, settings: Any, browser: Client, crowd: Crowd
    ) -> None:
        """Three answer on Friday at 23:30, one half an hour into Saturday and one on Thursday."""
        settings.TIME_ZONE = "America/Denver"
        friday = timezone.localdate() - timedelta(days=9)
        midnight = timezone.make_aware(datetime.combine(friday + timedelta(days=1), time.min))
        for number, hours in enumerate([-0.5, -0.5, -0.5, 0.5, -24.5]):
            at = midnight + timedelta(hours=hours)
            crowd.said(number, WRONG, days=(timezone.now() - at) / timedelta(days=1))

        content = words(browser, period="dates", since=str(friday), until=str(friday))

        assert "3 of 3" in row_of(content, "Splint")
        assert f"{friday} to {friday}" in content

    @pytest.mark.parametrize("zone", ["Pacific/Kiritimati", "Etc/GMT+12"])
    def test_today_is_that_of_the_service(
        self, settings: Any, browser: Client, crowd: Crowd, zone: str
    ) -> None:
        """It is never the same day in both, so in one of them it is not that of Greenwich."""
        settings.TIME_ZONE = zone
        crowd.each_said("WWW")
        today = timezone.localdate()

        response = browser.get(EXPORT, {"period": "30"})

        first = today - timedelta(days=29)
        assert f"period {first} to {today}" in response.content.decode()
        assert f"-{today}.csv" in response["Content-Disposition"]

    @pytest.mark.parametrize("period", ["", "30", "120", "ever"])
    def test_a_typed_day_means_from_and_to(
        self, browser: Client, crowd: Crowd, period: str
    ) -> None:
        """Whatever the period says beside it: nobody's days are passed over in silence."""
        for number, days in enumerate([0, 1, 2, 300, 301, 302]):
            crowd.said(number, WRONG, days=days)
        since, until = (str(timezone.localdate() - timedelta(days=each)) for each in (302, 300))

        content = words(browser, period=period, since=since, until=until, shown=period)

        assert "3 of 3" in row_of(content, "Splint")
        assert f"{since} to {until}" in content
        assert '<option value="dates" selected>' in content

    def test_a_period_takes_the_days_back(self, browser: Client, crowd: Crowd) -> None:
        for number, days in enumerate([0, 1, 2, 300]):
            crowd.said(number, WRONG, days=days)
        since = str(timezone.localdate() - timedelta(days=302))

        content = words(browser, period="30", since=since, shown="dates")

        assert "3 of 3" in row_of(content, "Splint")
        assert f'value="{since}"' not in content

    def test_probes_alone_are_those_drawn_at_random(self, browser: Client, crowd: Crowd) -> None:
        """The newest probe stands, whatever was asked of the person since."""
        crowd.each_said("WWWW", days=3)
        crowd.each_said("RRRR", chosen_by="focus")

        assert row_of(words(browser), "Splint") == ""
        assert "4 of 4" in row_of(words(browser, evidence="probes"), "Splint")

    @pytest.mark.parametrize(
        ("chosen", "told"),
        [
            ({"cohort": "none-such"}, "is no cohort here; there are: first-intake."),
            ({"layout": "none-such"}, "is no layout here; there are: practice-rig."),
            ({"period": "31"}, "is no period here; there are: 120, 30, dates, ever."),
            ({"evidence": "all"}, "is no kind of evidence here; there are: first, probes."),
            ({"period": "dates", "since": "25.11.2026"}, "came in for from; a day such as"),
            ({"period": "dates", "until": "2026-02-30"}, "came in for to; a day such as"),
            ({"period": "dates", "until": "9999-12-31"}, "from 2000 to 2199"),
            ({"period": "dates", "since": "2026-11-02", "until": "2026-11-01"}, "not after the la"),
            ({"fact": "item:none@S1"}, "a row of the table below is accepted"),
        ],
    )
    def test_what_is_not_known_is_refused_by_name(
        self, browser: Client, crowd: Crowd, hire: Person, chosen: dict[str, str], told: str
    ) -> None:
        for url in (URL, EXPORT):
            response = browser.get(url, chosen)

            assert response.status_code == 422
            assert told in response.content.decode()
            assert response["Content-Type"].startswith("text/html")
        assert not AuditEntry.objects.filter(action="export most missed").exists()

    def test_a_refusal_keeps_what_else_was_chosen(
        self, browser: Client, crowd: Crowd, hire: Person
    ) -> None:
        chosen = {"cohort": "first-intake", "evidence": "probes", "period": "31"}

        content = browser.get(URL, chosen).content.decode()

        for value in ("first-intake", "probes"):
            assert f'value="{value}" selected' in content

    def test_every_period_and_kind_that_is_offered_is_taken(
        self, browser: Client, crowd: Crowd
    ) -> None:
        for period, _ in PERIODS:
            for evidence, _ in EVIDENCE:
                assert browser.get(URL, {"period": period, "evidence": evidence}).status_code == 200

    def test_a_site_without_a_layout_says_so(self, browser: Client) -> None:
        assert "No layout is published yet" in words(browser)
        assert browser.get(EXPORT).status_code == 422

    def test_htmx_gets_the_part(self, browser: Client, crowd: Crowd) -> None:
        content = browser.get(URL, headers=FRAGMENT).content.decode()

        assert content.strip().startswith('<div class="frame" id="missed">')


def take(
    person: Person, rig: Rig, recipe: Recipe, choose: Callable[[Presentation], list[str]]
) -> None:
    """A drill of one person, the same for all of them."""
    run = start_run(person, recipe=recipe, revision=rig.revision, rig=rig, now=lately(), seed=SEED)
    Player(run, now=lately()).finish(lambda each: right(each) if each.is_retry else choose(each))


def by_habit(each: Presentation) -> list[str]:
    """What is in the bag is looked for where the bag was."""
    assert each.prompt is not None
    in_bag = each.prompt.kind == "locate" and each.prompt.answer[0].startswith("BAG")
    return ["S1A"] if in_bag else right(each)


class TestInstead:
    @pytest.fixture
    def moved(self, crowd: Crowd) -> Rig:
        """The bag hangs in the wall cabinet since this revision."""
        move_the_bag(crowd.rig)
        return crowd.rig

    def test_the_old_place_of_a_bag_that_moved_comes_first(
        self, browser: Client, crowd: Crowd, moved: Rig, recipe: Recipe
    ) -> None:
        """The page says at a glance that it is the layout: moved, and where people look."""
        for number in range(11):
            take(crowd[number], moved, recipe, right if number < 3 else by_habit)

        content = words(browser)

        assert "<b>Response bag</b> is missed most surely: 8 of 11 people." in content
        assert "It moved in revision 2. <b>73 % look in the old place.</b>" in content
        assert "Where people look first: Response bag" in content
        where = content.partition('id="where"')[2]
        assert where.count("looked for here: </span>2") == 2
        assert '<span class="vh">here: </span>1' in where
        given = re.findall(r"<td>([^<]*)<small>([^<]*)</small></td><td class=\"num\">(\d)", where)
        assert given == [
            ("I1 Wall cabinet › Response bag", "the right place", "3"),
            ("S1 Street cabinet › Lower shelf", OLD_PLACE, "8"),
        ]

    def test_what_moved_is_told_apart_from_what_stayed(
        self, browser: Client, crowd: Crowd, moved: Rig
    ) -> None:
        """The bag moved; what is in it, and what lies elsewhere, did not."""
        facts = [Fact(BAG, "BAG", "I1"), Fact(ITEM, "suction tip", "BAG-L"), SPLINT]
        for fact in facts:
            crowd.each_said("WWWW", fact=fact)

        content, rows = words(browser), rows_of(browser)

        told = ["Moved in rev. 2." in row_of(content, name) for name in WHAT_MOVED]
        assert told == [True, False, False]
        moves = [cells_of(rows, name)["moved in this revision"] for name in WHAT_MOVED]
        assert moves == ["yes", "", ""]

    def test_places_that_few_gave_are_told_together(self, browser: Client, crowd: Crowd) -> None:
        """Three people look in the drawer, one each somewhere else: nobody is pointed at, nor can
        the two be worked out from the five who are wrong."""
        recipe = RecipeFactory.create(slug="find-all", kinds="locate:10")
        for number, place in enumerate(["I1A", "I1A", "I1A", "I1B", "P1", "S1A"]):
            take(crowd[number], crowd.rig, recipe, partial(_at, place=place))

        where = words(browser, fact=str(SPLINT)).partition('id="where"')[2]
        rows = [row for row in rows_of(browser, fact=str(SPLINT)) if row[0] == "where instead"]

        assert [(row[2], row[3], row[5]) for row in rows] == [
            ("S1 Street cabinet › Lower shelf", "the right place", "1"),
            ("other places", ELSEWHERE, "5"),
        ]
        assert "Upper drawer<small>" not in where
        assert "Locked drawer<small>" not in where

    def test_who_did_not_know_alone_is_told_with_few_others(
        self, browser: Client, crowd: Crowd
    ) -> None:
        """Five look in the drawer, two in another, one does not know: only the five stand alone."""
        recipe = RecipeFactory.create(slug="find-all", kinds="locate:10")
        for number, place in enumerate(["I1A"] * 5 + ["I1B"] * 2):
            take(crowd[number], crowd.rig, recipe, partial(_at, place=place))
        take(crowd[7], crowd.rig, recipe, lambda each: [])

        rows = [row for row in rows_of(browser, fact=str(SPLINT)) if row[0] == "where instead"]

        kind = f"{ELSEWHERE} or did not know"
        assert [(row[2], row[3], row[5]) for row in rows] == [
            ("S1 Street cabinet › Lower shelf", "the right place", "0"),
            ("I1 Wall cabinet › Upper drawer", kind, "5"),
            ("other places or no place", kind, "3"),
        ]
        assert "look elsewhere or did not know" in row_of(words(browser), "Splint")

    def test_who_did_not_know_is_counted(
        self, browser: Client, crowd: Crowd, recipe: Recipe
    ) -> None:
        for number in range(4):
            take(crowd[number], crowd.rig, recipe, lambda each: [])

        assert "<b>100 %</b> did not know" in words(browser)

    def test_the_whole_rig_in_one_picture(
        self, browser: Client, crowd: Crowd, recipe: Recipe
    ) -> None:
        """Doors carry what is found there; the figures say how many look for something else."""
        for number in range(9):
            take(crowd[number], crowd.rig, recipe, wrong if number else right)

        content = words(browser)

        assert "first looks that went wrong." in content
        figures = content.partition("<summary>The figures")[2].partition("</table>")[0]
        assert re.search(r"<b>S1</b> Street cabinet</td><td class=\"num\">\d+</td>", figures)
        assert "9</td>" in figures


def _at(each: Presentation, place: str) -> list[str]:
    """Everything is looked for at one place."""
    assert each.prompt is not None
    return [place] if each.prompt.kind == "locate" else right(each)


class TestDoses:
    def test_a_medicine_with_the_rule_and_from_memory_are_two(
        self, browser: Client, crowd: Crowd
    ) -> None:
        for way, outcomes in (("rule shown", "WWWR"), ("from memory", "WWWWW")):
            crowd.each_said(outcomes, fact=Fact(SKILL, f"{DOSE} Testamine, {way}", ""))
        crowd.each_said("WWW", fact=Fact(SKILL, f"{STAGE} none-such", ""))

        content = words(browser)

        assert content.count("<b>Dose: Testamine</b>") == 2
        assert SAFETY_WORDS in content
        assert "<small>from memory</small>" in content
        assert "<b>Stage: none-such</b>" in content

    def test_says_how_it_went_wrong(
        self, client_of: ClientOf, browser: Client, crowd: Crowd
    ) -> None:
        """1 mL is right: of eight, four write ten times that, three a quarter more."""
        for number, amount in enumerate(["10"] * 4 + ["1.25"] * 3 + ["1"]):
            presentation = asked(crowd[number], crowd.rig, dose_prompt())
            send(client_of(crowd[number]), presentation, amount=amount, unit="mL")
            Recipe.objects.filter(slug="dose").update(slug=f"dose-{number}")

        content, rows = words(browser), rows_of(browser)

        row = row_of(content, "Dose: Testamine")
        assert "7 of 8" in row
        assert "4 unsafe: ten times too much: a decimal point moved right" in row
        assert "3 unsafe: no named slip" in row
        slips = [row for row in rows if row[0] == "how it went wrong"]
        assert [(row[2], row[3], row[5]) for row in slips] == [
            (SHOWN, "unsafe: ten times too much: a decimal point moved right", "4"),
            (SHOWN, "unsafe: no named slip", "3"),
        ]

    def test_adds_up_named_slips_with_their_published_class(
        self, client_of: ClientOf, browser: Client, crowd: Crowd
    ) -> None:
        """Three are a tenfold off and four forget the residual; of a fourth tenfold in another
        skill, told together there with what is unnamed, nothing stands in the sum."""
        said = [
            *((dose_prompt(), "10", "mL"),) * 3,
            (dose_prompt(), "1", "mL"),
            *((supply_prompt(), "16", "min"),) * 4,
            *((dose_prompt(is_rule_shown=False), amount, "mL") for amount in ("10", "1.25", "1.3")),
        ]
        for number, (prompt, amount, unit) in enumerate(said):
            presentation = asked(crowd[number], crowd.rig, prompt)
            send(client_of(crowd[number]), presentation, amount=amount, unit=unit)
            Recipe.objects.filter(slug="dose").update(slug=f"dose-{number}")

        content, rows = words(browser), rows_of(browser)

        named = [row for row in rows if row[0] == "named slips"]
        assert [(row[2], row[3], row[4]) for row in named] == [
            ("conceptual", "no-residual", "4"),
            ("arithmetical", "tenfold-over", "3"),
        ]
        assert named[0][12].startswith("of 11 answers to doses and supplies")
        table = content.partition("Named slips")[2]
        assert '<td>conceptual</td><td class="num">4 of 11</td>' in table
        assert "Conceptual 4, Arithmetical 3." in table
        assert "<b>Supply: Oxygen</b>" in content

    @pytest.mark.parametrize(
        ("amounts", "told"),
        [
            (
                ["10"] * 3 + ["1.25", "1"],
                (
                    "unsafe: no named slip or unsafe: ten times too much: a decimal point moved "
                    "right",
                    "4",
                    "",
                ),
            ),
            (["10", "1.25", "1"], ("", "", TOO_FEW)),
        ],
    )
    def test_how_one_went_wrong_cannot_be_worked_out(
        self,
        client_of: ClientOf,
        browser: Client,
        crowd: Crowd,
        amounts: list[str],
        told: tuple[str, str, str],
    ) -> None:
        """The row says how many were wrong: who is left over is told with the next."""
        for number, amount in enumerate(amounts):
            presentation = asked(crowd[number], crowd.rig, dose_prompt())
            send(client_of(crowd[number]), presentation, amount=amount, unit="mL")
            Recipe.objects.filter(slug="dose").update(slug=f"dose-{number}")

        row, rows = row_of(words(browser), "Dose: Testamine"), rows_of(browser)

        (slip,) = (each for each in rows if each[0] == "how it went wrong")
        assert (slip[3], slip[5], slip[12]) == told
        assert row.endswith(f"{told[1]} {told[0]}" if told[1] else "by too few to say how")


def hostile_rig(names: list[str]) -> Layout:
    """The practice rig with things of such names on the shelf."""
    rig = practice_rig()
    lines = [StockLine("S1A", name, 1, category="airway") for name in names]
    return replace(rig, stock=(*rig.stock, *lines))


class TestExport:
    def test_holds_what_the_page_shows(self, browser: Client, crowd: Crowd) -> None:
        crowd.each_said("WWWWWWWWWR")

        rows = rows_of(browser)
        found = cells_of(rows, "Splint")

        assert (
            found
            | {
                "table": "facts",
                "place": "S1 Street cabinet › Lower shelf",
                "answers": "10",
                "people": "10",
                "missed": "9",
                "missed in 100": "90",
                "80 % from": "72",
                "80 % to": "97",
                "note": "",
                "history": "answered by people",
            }
            == found
        )

    def test_the_first_row_says_what_was_counted(self, browser: Client, crowd: Crowd) -> None:
        crowd.each_said("WWW")
        today = timezone.localdate()

        (head, columns, *_) = rows_of(browser, period="30", evidence="probes")

        assert head[1:5] == [
            f"period {today - timedelta(days=29)} to {today}",
            "cohort everybody",
            "layout Practice rig, rev. 1",
            "evidence probes alone",
        ]
        assert head[5].startswith("counted: newest first answer of each person")
        assert head[6:] == [f"no figures on {TOO_FEW}", SAFETY_WORDS]
        assert len(columns) == 17

    def test_is_a_file_that_a_spreadsheet_reads_as_utf_8(
        self, browser: Client, crowd: Crowd
    ) -> None:
        response = browser.get(EXPORT)

        assert response.content.startswith(b"\xef\xbb\xbf")
        assert response["Content-Type"] == "text/csv; charset=utf-8"
        name = re.fullmatch(r'attachment; filename="([^"]*)"', response["Content-Disposition"])
        assert name is not None
        assert re.fullmatch(r"[a-z0-9-]+\.csv", name[1])
        assert not hasattr(response, "streaming_content")

    def test_no_cell_begins_a_formula(self, browser: Client, crowd: Crowd) -> None:
        """Names of the agency's own workbook, among them every sign of the table."""
        signs = [
            each["cell"].encode().decode("unicode_escape") for each in table("formula_cells.csv")
        ]
        names = [" ".join(sign.split()) for sign in signs if " ".join(sign.split())]
        crowd.rig.revision = published(hostile_rig(list(dict.fromkeys(names))))
        crowd.rig.save()
        for name in names:
            crowd.each_said("WWW", fact=Fact(ITEM, item_key(name), "S1A"))

        written = {row[1] for row in rows_of(browser)[2:]}

        assert {guard(name) for name in names} <= written
        assert len([name for name in names if guard(name) != name]) > 8
        dangerous = tuple("=+-@\t\r\n＝＋－＠")  # noqa: RUF001  # these very signs are meant
        assert not [cell for row in rows_of(browser) for cell in row if cell.startswith(dangerous)]

    @pytest.mark.parametrize("row", table("formula_cells.csv"), ids=lambda row: repr(row["cell"]))
    def test_a_formula_is_written_as_text(self, row: dict[str, str]) -> None:
        cell, written = (
            row[name].encode().decode("unicode_escape") for name in ("cell", "written")
        )

        assert guard(cell) == written

    def test_a_cohort_named_like_a_formula_is_text_as_well(
        self, browser: Client, crowd: Crowd
    ) -> None:
        CohortFactory.create(name="=HYPERLINK(1)", slug="bad")

        head = rows_of(browser, cohort="bad")[0]

        assert head[2] == "cohort =HYPERLINK(1)"

    def test_simulated_answers_have_a_column(self, browser: Client, crowd: Crowd) -> None:
        crowd.each_said("WWWW")
        crowd.each_said("WWWW", fact=CONE, is_simulated=True)

        rows = rows_of(browser)

        assert cells_of(rows, "Splint")["history"] == "answered by people"
        assert cells_of(rows, "Traffic cone")["history"] == "simulated answers among them"
        assert "simulated answers among them" in words(browser)

    def test_imported_answers_are_told_beside_simulated_ones(
        self, browser: Client, crowd: Crowd
    ) -> None:
        crowd.each_said("WWWW", is_imported=True)
        crowd.each_said("WWWW", fact=CONE, is_simulated=True)

        rows = rows_of(browser)

        assert cells_of(rows, "Splint")["history"] == "imported answers among them"
        assert cells_of(rows, "Traffic cone")["history"] == "simulated answers among them"
        told = words(browser)
        assert "simulated and imported answers among them" in told
        assert row_of(told, "Splint").count("imported") == 1
        assert "imported" not in row_of(told, "Traffic cone")

    def test_what_few_were_asked_for_is_drawn_towards_the_others(
        self, browser: Client, crowd: Crowd
    ) -> None:
        """All six missed one and ten of twelve found the other: by beta-binomial with as many
        answers of the others as where there are too few things to tell."""
        crowd.each_said("WWWWWW")
        crowd.each_said("RRRRRRRRRRWW", fact=CONE)

        cells = cells_of(rows_of(browser), "Splint")

        share = (0.0 + FALLBACK * 10 / 18) / (6 + FALLBACK)
        assert cells["missed in 100"] == "100"
        assert cells["drawn to the others"] == f"{100 * (1 - share):.0f}"
        assert int(cells["drawn 80 % from"]) < int(cells["drawn to the others"])
        assert int(cells["drawn to the others"]) < int(cells["drawn 80 % to"])

    def test_of_few_people_nothing_is_drawn_to_the_others(
        self, browser: Client, crowd: Crowd
    ) -> None:
        crowd.each_said("WW")
        crowd.each_said("RRRRRRRRRRWW", fact=CONE)

        assert cells_of(rows_of(browser), "Splint")["drawn to the others"] == ""

    def test_what_is_behind_a_lock_leaves_no_place(self, browser: Client, crowd: Crowd) -> None:
        crowd.each_said("WWWW", fact=FENTANYL)

        content, rows = words(browser), rows_of(browser)

        assert "Locked drawer" in content
        assert cells_of(rows, "Fentanyl")["place"] == "behind a lock, not exported"
        assert "Locked drawer" not in str(rows)

    def test_is_written_into_the_audit(
        self, browser: Client, crowd: Crowd, educator: Person
    ) -> None:
        crowd.each_said("WWW")

        browser.get(EXPORT, {"period": "ever"})

        (entry,) = AuditEntry.objects.filter(action="export most missed")
        assert entry.actor == educator
        assert entry.subject == "Practice rig, rev. 1, everybody"
        assert (entry.after or {})["rows"] == 1

    def test_looking_at_the_page_is_not(self, browser: Client, crowd: Crowd) -> None:
        before = AuditEntry.objects.count()

        words(browser)

        assert AuditEntry.objects.count() == before


def test_reads_in_as_many_queries_whatever_there_is(
    browser: Client, crowd: Crowd, recipe: Recipe, django_assert_max_num_queries: Any
) -> None:
    move_the_bag(crowd.rig)
    for number in range(3):
        take(crowd[number], crowd.rig, recipe, wrong)
    with django_assert_max_num_queries(27) as first:
        words(browser)
    for number in range(3, 9):
        take(crowd[number], crowd.rig, recipe, wrong)

    with django_assert_max_num_queries(len(first)):
        words(browser)


def test_what_comes_after_the_first_is_later(browser: Client, crowd: Crowd) -> None:
    """On a phone those rows are folded, the far ones on a desk too; the one that is looked at
    never is."""
    asked = as_asked(facts_of(practice_rig()))
    facts = list(dict.fromkeys(together[0] for together in asked.values()))[:8]
    for number, fact in enumerate(facts):
        crowd.each_said("W" * (8 - number) + "R" * number, fact=fact)
    content = browser.get(URL).content.decode()
    links = re.findall(r'<tr class="later[^"]*">.*?href="([^"#]*)#where"', content, re.DOTALL)
    chosen = browser.get(f"{URL}{links[-1]}").content.decode()

    assert content.count('<tr class="later') == len(facts) - 5
    assert content.count('<tr class="later far">') == len(facts) - 7
    assert f"All {len(facts)} of them" in content
    assert chosen.count('<tr class="later') == len(facts) - 6
    assert '<details class="onphone" open><summary>Each place that was given' in chosen
