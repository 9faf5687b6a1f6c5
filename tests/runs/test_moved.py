"""A run of what moved: where a bag is kept now, told right, and kept as evidence of the bag."""

from dataclasses import replace
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from drills.competency.models import Evidence
from drills.demo.factories import published, rig_on
from drills.engine.layout import Layout
from drills.engine.recipes import CannotApplyError
from drills.engine.scoring import OLD_PLACE, RIGHT, WRONG
from drills.people.models import Person
from drills.rigs.actions import pick_rig
from drills.rigs.models import Absence, Revision, Rig
from drills.rigs.reports import known_before
from drills.runs.actions import AnswerError, start_run
from drills.runs.models import Presentation, Run
from drills.scenarios.models import Recipe
from tests.layouts import practice_rig
from tests.runs.conftest import NOW, SEED, ClientOf
from tests.runs.player import Player
from tests.runs.worlds import with_bag_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def rig(db: None) -> Rig:
    """A rig on the second revision, which moved the response bag from the shelf to a drawer."""
    published(practice_rig())
    return rig_on(with_bag_in("I1A"), unit="11")


@pytest.fixture
def recipe(db: None) -> Recipe:
    return Recipe.objects.create(
        slug="what-moved",
        name="What moved",
        kinds="moved:auto;locate:6",
        focus=["what moved"],
        order="moved first",
        minutes=5,
    )


@pytest.fixture
def moved_run(hire: Person, rig: Rig, recipe: Recipe) -> Run:
    return start_run(hire, recipe=recipe, revision=rig.revision, rig=rig, now=NOW, seed=SEED)


@pytest.fixture
def asked(moved_run: Run) -> tuple[Player, Presentation]:
    """The prompt of the bag, open."""
    player = Player(moved_run)
    return player, player.past_warm_ups()


def test_the_bag_comes_first(asked: tuple[Player, Presentation]) -> None:
    prompt = asked[1].prompt

    assert prompt is not None
    assert (prompt.kind, prompt.name) == ("moved", "Response bag")


def test_a_right_answer_is_evidence_of_the_bag_alone(asked: tuple[Player, Presentation]) -> None:
    player, presentation = asked
    answered = player.answer(presentation, ["I1A"])

    assert answered.outcome == RIGHT
    (evidence,) = Evidence.objects.all()
    assert str(evidence.fact) == "BAG at I1A"
    assert (evidence.kind, evidence.chosen_by) == ("moved", "in order")


def test_where_it_was_is_named_as_the_old_place(asked: tuple[Player, Presentation]) -> None:
    player, presentation = asked
    answered = player.answer(presentation, ["S1A"])

    assert (answered.outcome, answered.near) == (WRONG, OLD_PLACE)


def test_not_knowing_is_evidence_of_the_bag(asked: tuple[Player, Presentation]) -> None:
    player, presentation = asked
    answered = player.answer(presentation, [])

    assert (answered.outcome, answered.place) == (WRONG, "I1A")
    evidence = Evidence.objects.get()
    assert (str(evidence.fact), evidence.outcome) == ("BAG at I1A", WRONG)


@pytest.mark.parametrize("code", ["BAG", "BAG-M"])
def test_the_bag_itself_is_no_answer(asked: tuple[Player, Presentation], code: str) -> None:
    player, presentation = asked
    with pytest.raises(AnswerError, match="Choose the place in which it is kept"):
        player.answer(presentation, [code])


def test_the_page_draws_no_bag_and_lists_them_apart(
    client_of: ClientOf, hire: Person, asked: tuple[Player, Presentation]
) -> None:
    run = asked[1].run
    Presentation.objects.filter(pk=asked[1].pk).update(served_at=timezone.now())
    content = client_of(hire).get(reverse("runs:take", args=[run.pk])).content.decode()
    drawing, _, listed = content.partition('<div class="bagged"')

    assert "This bag moved, with all that is in it. Where is it kept now?" in drawing
    token = f'value="{run.token_for("BAG-M")}"'
    assert (token in drawing, token in listed) == (False, True)


def test_the_answer_is_told_with_its_place(
    client_of: ClientOf, hire: Person, asked: tuple[Player, Presentation]
) -> None:
    player, presentation = asked
    player.answer(presentation, ["S1A"])
    page = reverse("runs:take", args=[presentation.run.pk])
    content = client_of(hire).get(page).content.decode()

    assert "its old place" in content
    assert "Upper drawer" in content


def test_a_bag_that_is_not_there_is_reported_as_a_place(
    client_of: ClientOf, hire: Person, asked: tuple[Player, Presentation]
) -> None:
    presentation = asked[1]
    url = reverse("runs:not_there", args=[presentation.run.pk])
    client_of(hire).post(url, {"token": presentation.token})

    report = Absence.objects.get()
    assert report.item is None
    assert report.place is not None
    assert report.place.key == "BAG"


class TestWhatWasKnown:
    def renamed(self, layout: Layout, name: str) -> Revision:
        return published(replace(layout, notes=name))

    def test_it_is_the_revision_before(self, hire: Person, rig: Rig) -> None:
        before = known_before(hire, rig.revision)

        assert before is not None
        assert before.number == 1

    def test_it_is_the_last_that_the_person_rode(
        self, hire: Person, rig: Rig, recipe: Recipe
    ) -> None:
        """A revision that came and went while somebody was away is nothing they knew."""
        Rig.objects.update(revision=Revision.objects.get(number=1))
        rig.refresh_from_db()
        pick_rig(hire, rig, now=NOW)
        third = self.renamed(with_bag_in("I1A"), "the third moves nothing")
        pick_rig(hire, Rig.objects.get(), now=NOW)

        run = start_run(hire, recipe=recipe, revision=third, rig=None, now=NOW, seed=SEED)
        assert run.drill.since is not None
        assert run.drill.since.number == 1
        first = run.drill.prompts.get(position=0)
        assert first.name == "Response bag"

    def test_of_several_it_is_the_one_ridden_last(self, hire: Person, rig: Rig) -> None:
        for number in (1, 2):
            Rig.objects.update(revision=Revision.objects.get(number=number))
            pick_rig(hire, Rig.objects.get(), now=NOW + timedelta(hours=number))
        third = self.renamed(with_bag_in("I1A"), "the third moves nothing")

        before = known_before(hire, third)

        assert before is not None
        assert before.number == 2

    def test_who_rode_none_of_it_is_asked_what_the_last_one_moved(
        self, hire: Person, rig: Rig, recipe: Recipe
    ) -> None:
        third = self.renamed(with_bag_in("I1A"), "the third moves nothing")

        with pytest.raises(CannotApplyError, match="nothing has moved on Practice rig"):
            start_run(hire, recipe=recipe, revision=third, rig=None, now=NOW, seed=SEED)

    def test_the_page_says_why_there_is_no_drill(
        self, client_of: ClientOf, hire: Person, recipe: Recipe
    ) -> None:
        pick_rig(hire, rig_on(practice_rig(), unit="12"), now=NOW)
        start = reverse("runs:start")
        response = client_of(hire).post(start, {"recipe": recipe.slug}, follow=True)

        assert "Practice rig has no earlier revision" in response.content.decode()


def test_other_drills_know_of_no_earlier_revision(hire: Person, rig: Rig) -> None:
    plain = Recipe.objects.create(slug="plain", name="Plain", kinds="locate:3", minutes=3)
    run = start_run(hire, recipe=plain, revision=rig.revision, rig=rig, now=NOW, seed=SEED)

    assert run.drill.since is None
