"""What a person works out: by topic, with the rule shown and from memory apart."""

import re
from dataclasses import replace
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.boards.worked import Worked, worked_board
from drills.competency.actions import record_evidence
from drills.competency.refitting import refit
from drills.competency.reports import knowledge_of
from drills.engine.chance import seeded
from drills.engine.dosing import UNSAFE
from drills.engine.exercises import FROM_MEMORY, SHOWN
from drills.engine.exercises.writers import GRADES, WRITERS, topic_of, write
from drills.engine.facts import SKILL, Fact
from drills.engine.recipes import NUMBER_KINDS
from drills.engine.scoring import RIGHT, WRONG, Finding
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.runs.models import Run
from tests.competency.test_actions import NOW, circumstances
from tests.competency.test_refit import NIGHT, say
from tests.competency.test_refit import answered as answered
from tests.engine.fixture_formulary import stores
from tests.runs.conftest import ClientOf
from tests.runs.conftest import assessed as assessed
from tests.runs.conftest import assessed_run as assessed_run
from tests.runs.conftest import client_of as client_of
from tests.runs.conftest import rig as rig

pytestmark = pytest.mark.django_db
SHOWN_FENTANYL = Fact(SKILL, "dose Fentanyl, rule shown", "")
FROM_MEMORY_FENTANYL = Fact(SKILL, "dose Fentanyl, from memory", "")
SHOWN_MORPHINE = Fact(SKILL, "dose Morphine sulfate, rule shown", "")
DRIP, STAGE = Fact(SKILL, "dose Fentanyl drip, rule shown", ""), Fact(SKILL, "stage burn", "")


def worked_out(person: Person, rig: Rig, fact: Fact, outcomes: str) -> None:
    """An outcome a day until now, + for right, - for unsafe."""
    for number, each in enumerate(outcomes):
        asked = circumstances(person, rig, f"{fact.thing} {number}")
        asked = replace(
            asked,
            kind=fact.thing.partition(" ")[0],
            at=NOW - timedelta(days=len(outcomes) - number),
            choices_offered=0,
            predictions={},
            predicted_by="",
        )
        said = RIGHT if each == "+" else WRONG if fact == STAGE else UNSAFE
        record_evidence([Finding(fact, said, "")], asked)


@pytest.fixture
def doses(hire: Person, rig: Rig) -> None:
    """Right with the rule shown, wrong from memory; another once; a drip and a kit."""
    worked_out(hire, rig, SHOWN_FENTANYL, "+" * 14)
    worked_out(hire, rig, FROM_MEMORY_FENTANYL, "-" * 14)
    worked_out(hire, rig, SHOWN_MORPHINE, "+")
    worked_out(hire, rig, DRIP, "+-")
    worked_out(hire, rig, STAGE, "--")


def told(of: Worked) -> dict[str, int | None]:
    return {way: known.first_answers if known else None for way, known in of.ways}


@pytest.mark.usefixtures("doses")
class TestBoard:
    def test_each_topic_has_its_answers_with_the_rule_shown_and_from_memory(
        self, hire: Person
    ) -> None:
        doses, drips = worked_board(hire, now=NOW).topics

        assert (doses.whole.name, drips.whole.name) == (
            "a dose to give",
            "a drip, by pump and drops",
        )
        assert told(doses.whole) == {SHOWN: 15, FROM_MEMORY: 14}
        assert {each.name: told(each) for each in doses.subjects} == {
            "Fentanyl": {SHOWN: 14, FROM_MEMORY: 14},
            "Morphine sulfate": {SHOWN: 1, FROM_MEMORY: None},
        }
        assert told(drips.whole) == {SHOWN: 2, FROM_MEMORY: None}
        assert drips.subjects == ()

    def test_what_one_way_says_is_not_said_of_the_other(self, hire: Person) -> None:
        """Of counts: right every time with the rule shown, unsafe every time without it."""
        fentanyl, morphine = worked_board(hire, now=NOW).topics[0].subjects
        (_, shown), (_, memory) = fentanyl.ways
        (_, once), _ = morphine.ways

        assert shown
        assert memory
        assert once
        assert (shown.in_100[0], memory.in_100[0]) == (100, 0)
        assert shown.is_enough
        assert memory.is_enough
        assert not once.is_enough

    def test_after_a_refit_the_model_says_it(self, hire: Person, rig: Rig, answered: None) -> None:
        """With the chances that everything known of the person leads to, and apart still."""
        refit(now=lambda: NIGHT, say=say)
        board = worked_board(hire, now=NIGHT)
        (_, shown), (_, memory) = board.topics[0].subjects[0].ways
        everything = knowledge_of(hire, layout=rig.layout, now=NIGHT)

        assert board.is_fitted
        assert shown
        assert memory
        assert shown.chance > 0.5 > memory.chance
        for known, fact in ((shown, SHOWN_FENTANYL), (memory, FROM_MEMORY_FENTANYL)):
            whole = everything.of([fact])
            assert known.chance == pytest.approx(whole.chance)
            assert (known.low, known.high) == pytest.approx((whole.low, whole.high))

    def test_a_dose_is_thought_of_the_same_when_its_prompt_is_served(
        self, hire: Person, rig: Rig, answered: None
    ) -> None:
        """Where few facts are looked at, all that was worked out is a part of the past still."""
        refit(now=lambda: NIGHT, say=say)
        everything = knowledge_of(hire, layout=rig.layout, now=NIGHT)
        few = knowledge_of(hire, layout=rig.layout, now=NIGHT, about=[SHOWN_MORPHINE])

        assert few.of([SHOWN_MORPHINE]).chance == pytest.approx(
            everything.of([SHOWN_MORPHINE]).chance
        )


class TestPage:
    @pytest.fixture
    def url(self) -> str:
        return reverse("boards:known", args=["HIRE"])

    @pytest.mark.usefixtures("doses")
    def test_it_stands_on_the_page_without_a_rig_too(
        self, client: Client, hire: Person, url: str
    ) -> None:
        client.force_login(hire)
        text = client.get(url).content.decode()
        rows = [re.sub(r"<svg.*?</svg>", "", row) for row in text.split("<tr>")]
        (shown, memory), (once, never) = (
            [row for row in rows if f"<b>{name}</b>" in row]
            for name in ("Fentanyl", "Morphine sulfate")
        )

        assert "rides no rig today" in text
        assert f"<small>{SHOWN}</small>" in shown
        assert f"<small>{FROM_MEMORY}</small>" in memory
        assert all("not enough evidence" not in row for row in (shown, memory))
        assert all("14 first answers<" in row for row in (shown, memory))
        assert "not enough evidence," in once
        assert "1 first answer<" in once
        assert "never asked" in never
        assert "Training only" in text

    def test_of_nothing_asked_it_says_so(self, client: Client, hire: Person, url: str) -> None:
        client.force_login(hire)

        assert "Nothing asked yet, so nothing is known." in client.get(url).content.decode()

    @pytest.mark.usefixtures("doses")
    def test_while_an_assessed_run_is_open_it_is_closed_to_themselves(
        self, hire: Person, fto: Person, assessed_run: Run, client_of: ClientOf, url: str
    ) -> None:
        started = timezone.now()
        Run.objects.filter(pk=assessed_run.pk).update(started_at=started)
        own, officer = client_of(hire).get(url), client_of(fto).get(url)

        assert "Doses and supplies" not in own.content.decode()
        assert "Fentanyl" in officer.content.decode()


@pytest.mark.parametrize("topic", WRITERS)
def test_a_skill_tells_of_which_topic_it_is(topic: str) -> None:
    """Of every exercise that is written the name of its skill leads to its topic and its way."""
    for grade in GRADES:
        for seed in range(12):
            made = write(topic, grade, stores(), seeded(f"{grade} {seed}"))
            subject, _, way = made.subject.rpartition(", ")

            assert made.kind in NUMBER_KINDS
            assert way in (SHOWN, FROM_MEMORY)
            assert topic_of(made.kind, subject) == topic
