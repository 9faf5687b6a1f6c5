"""The debrief."""

import re
from collections import Counter
from io import BytesIO

import pytest
from django.urls import reverse
from django.utils.html import escape
from PIL import Image

from drills.demo.factories import RecipeFactory
from drills.people.models import Person
from drills.rigs.actions.photos import keep_photo
from drills.rigs.models import Place, Rig
from drills.rigs.picturing import picture_of
from drills.rigs.reading import layout_of
from drills.runs.actions import call_away, contest, start_run
from drills.runs.debriefing import OPEN_AT_FIRST
from drills.runs.models import Presentation, Run
from drills.runs.reports import tally_of
from tests.runs.conftest import NOW, SEED, ClientOf
from tests.runs.player import Chooser, Player, right, wrong

pytestmark = pytest.mark.django_db


def page(run: Run) -> str:
    return reverse("runs:debrief", args=[run.pk])


def test_shows_each_miss_and_where_it_is(client_of: ClientOf, run: Run, hire: Person) -> None:
    Player(run).finish(lambda each: right(each) if each.is_retry else wrong(each))

    content = client_of(hire).get(page(run)).content.decode()

    assert "0 right" in content
    assert "6 wrong" in content
    for prompt in run.drill.prompts.filter(is_spare=False):
        assert f"Missed: {prompt.name}" in content
    assert 'class="bal sq"' in content


@pytest.mark.parametrize("answers", [wrong, right], ids=["missed", "all right"])
def test_begins_at_its_title_and_what_is_next(
    client_of: ClientOf, run: Run, hire: Person, answers: Chooser
) -> None:
    """A keyboard comes to the one button before all that is told."""
    Player(run).finish(lambda each: right(each) if each.is_retry else answers(each))

    content = client_of(hire).get(page(run)).content.decode()

    assert content.count(" autofocus") == 1
    title, told = content.split(" autofocus>", 1)
    assert title.endswith('<h1 class="tt gap2" tabindex="-1"')
    assert 'class="send"' in re.split(r"<details|<section|<ul", told)[0]


def test_tells_first_answers_from_those_that_were_asked_again(
    client_of: ClientOf, run: Run, hire: Person
) -> None:
    """Beside the target times stand first answers alone; both parts add up to all of it."""
    Player(run).finish(lambda each: right(each) if each.is_retry else wrong(each))
    rows = run.presentations.exclude(prompt=None)
    first, again = (
        round(sum(each.seconds or 0.0 for each in rows.filter(is_retry=is_retry)))
        for is_retry in (False, True)
    )
    assert (first, again) == (24, 24)

    found = client_of(hire).get(page(run))

    content = found.content.decode()
    assert '<span class="cap">Took in all</span><b class="nw">48 s</b>' in content
    assert "First answers took 24 s; asked again after a miss 6 times, 24 s." in content
    assert found.context["targets"].whole.own_shown == "0:24"
    assert '<th scope="col">First answers</th>' in content


def test_begins_at_what_was_refused(client_of: ClientOf, run: Run, hire: Person) -> None:
    Player(run).finish(lambda each: right(each) if each.is_retry else wrong(each))
    token = run.presentations.filter(is_retry=False).exclude(prompt=None)[0].token
    address = reverse("runs:contest", args=[run.pk])

    content = client_of(hire).post(address, {"token": token, "because": ""}).content.decode()

    assert content.count(" autofocus") == 1
    assert re.search(r'<input id="because-\d+"[^>]* autofocus>', content)


def test_folds_all_but_the_first_misses_and_what_was_contested(
    client_of: ClientOf, run: Run, hire: Person
) -> None:
    Player(run).finish(lambda each: right(each) if each.is_retry else wrong(each))
    before = client_of(hire).get(page(run)).content.decode()
    last = before.rsplit('name="token" value="', 1)[1].split('"')[0]
    contest(run, token=last, because="It hangs elsewhere", now=NOW)

    after = client_of(hire).get(page(run)).content.decode()

    folds = [each.split(">")[0] for each in before.split('<details class="sec miss fold"')[1:]]
    assert folds == [" open"] * OPEN_AT_FIRST + [""] * (6 - OPEN_AT_FIRST)
    assert after.count('<details class="sec miss fold" open>') == OPEN_AT_FIRST + 1


def test_draws_all_that_was_missed_on_one_plan(
    client_of: ClientOf, assessed_run: Run, hire: Person
) -> None:
    """Each door by how much of it lies there, and where it was looked for besides."""
    answered = Player(assessed_run).finish(wrong)
    layout = layout_of(assessed_run.drill.revision)
    right_at, said_at = [
        Counter(
            door
            for each in answered
            for door in {layout.chain(code)[0].code for code in codes(each)}
        )
        for codes in (lambda each: each.prompt.answer, wrong)
    ]
    whole = client_of(hire).get(page(assessed_run)).context["whole"]

    assert whole.misses == len(answered) == 5
    told = {each.name: (each.behind, each.said) for each in whole.doors}
    assert told == {
        layout.path(code): (right_at[code], said_at[code]) for code in {**right_at, **said_at}
    }
    assert sum(each.said for each in whole.doors) == 5
    drawn = {
        cell.code: (mark.kind, mark.number)
        for face in whole.drawings
        for cell in face.cells
        for mark in cell.inner_marks
    }
    besides = {code: ("own", said_at[code]) for code in {*said_at} - {*right_at}}
    assert drawn == besides | {code: ("found", number) for code, number in right_at.items()}


def test_one_miss_has_no_plan_of_the_whole(
    client_of: ClientOf, assessed_run: Run, hire: Person
) -> None:
    first = iter((wrong,))
    Player(assessed_run).finish(lambda each: next(first, right)(each))

    assert client_of(hire).get(page(assessed_run)).context["whole"] is None


def test_says_when_nothing_was_missed(client_of: ClientOf, run: Run, hire: Person) -> None:
    Player(run).finish()

    response = client_of(hire).get(page(run))

    assert b"Nothing missed: every first answer was right." in response.content


@pytest.mark.parametrize(
    ("who", "status"), [("fto", 200), ("educator", 200), ("admin", 404), ("outsider", 404)]
)
def test_is_for_those_who_may_see_the_person(
    client_of: ClientOf, run: Run, who: str, status: int, request: pytest.FixtureRequest
) -> None:
    Player(run).finish()

    assert client_of(request.getfixturevalue(who)).get(page(run)).status_code == status


def test_waits_until_the_run_is_over(client_of: ClientOf, run: Run, hire: Person) -> None:
    response = client_of(hire).get(page(run))

    assert response["Location"] == reverse("runs:take", args=[run.pk])


def test_reads_a_finished_run_in_few_queries(
    client_of: ClientOf, run: Run, hire: Person, django_assert_max_num_queries
) -> None:
    Player(run).finish()
    client = client_of(hire)

    with django_assert_max_num_queries(12):
        client.get(page(run))


def test_says_that_an_assessed_run_is_not_complete(
    client_of: ClientOf, assessed_run: Run, hire: Person
) -> None:
    player = Player(assessed_run)
    player.answer(presentation := player.past_warm_ups(), right(presentation))
    while player.serve():
        call_away(assessed_run, now=player.now)

    content = client_of(hire).get(page(assessed_run)).content.decode()

    assert "1 of 5 answered" in content
    assert f"Called away {tally_of(assessed_run).called_away} times" in content


def test_counts_in_time_among_right_answers_alone(
    client_of: ClientOf, assessed_run: Run, hire: Person
) -> None:
    """Nobody is in time with an answer that was wrong."""
    player = Player(assessed_run)
    presentation: Presentation | None = player.past_warm_ups()
    for keys, seconds in ((right, 4.0), (right, 60.0), (wrong, 4.0), (wrong, 4.0), (right, 4.0)):
        assert presentation is not None
        player.answer(presentation, keys(presentation), seconds=seconds)
        presentation = player.serve()

    content = client_of(hire).get(page(assessed_run)).content.decode()

    assert "of 3 right: 2 in time, 1 late" in content
    assert "<h2>Right when first asked <span>3 of 5</span></h2>" in content


def test_marks_what_is_behind_a_lock_so_that_it_is_not_printed(
    client_of: ClientOf, hire: Person, rig: Rig
) -> None:
    """On the screen of who may know it, it stands as all else does."""
    recipe = RecipeFactory.create(slug="all", kinds="locate:10;contents:4")
    run = start_run(hire, recipe=recipe, revision=rig.revision, rig=rig, now=NOW, seed=SEED)
    Player(run).finish(lambda each: right(each) if each.is_retry else wrong(each))
    locked = "I1 Wall cabinet › Locked drawer"
    asked = run.drill.prompts.filter(is_spare=False)
    found = [each for each in asked.filter(kind="locate") if each.answer == ["I1B"]]
    within = asked.get(kind="contents", subject="I1B")

    content = client_of(hire).get(page(run)).content.decode()

    marked = re.findall(r'<b class="behind-lock"><span>([^<]+)</span></b>', content)
    names = {layout_of(rig.revision).things[key].name for key in within.answer}
    assert found
    assert names
    assert Counter(marked) == Counter([locked] * len(found)) + Counter(names)
    assert content.count('<details class="figures behind-lock"') == len(found)


def test_an_answer_stands_in_one_list_alone(client_of: ClientOf, run: Run, hire: Person) -> None:
    """What was missed stands in full above, and not a second time among what was right."""
    first = iter((wrong, wrong))
    player = Player(run).finish(lambda each: (right if each.is_retry else next(first, right))(each))
    assert player

    content = client_of(hire).get(page(run)).content.decode()

    missed, right_ones = content.split("<h2>Right when first asked")
    asked = list(run.presentations.filter(is_retry=False, prompt__isnull=False))
    assert Counter(each.outcome for each in asked)["right"] >= 1
    for each in asked:
        assert each.prompt is not None
        is_right = each.outcome == "right"
        assert (f"<span>{escape(each.prompt.name)}</span>" in right_ones) is is_right
        assert (f"Missed: {escape(each.prompt.name)}" in missed) is not is_right


def test_shows_how_it_looks_where_a_missed_thing_is(
    client_of: ClientOf, run: Run, hire: Person, keeper: Person
) -> None:
    Player(run).finish(lambda each: right(each) if each.is_retry else wrong(each))
    asked = [prompt.answer for prompt in run.drill.prompts.filter(kind="locate", is_spare=False)]
    layout = layout_of(run.drill.revision)
    codes = {layout.chain(code)[0].code for answer in asked for code in answer} - {"I1"}
    image = BytesIO()
    Image.new("RGB", (300, 200)).save(image, "PNG")
    place = Place.objects.filter(layout=run.drill.revision.layout)
    photos = [
        keep_photo(
            place.filter(compartments__code=code).distinct().get(),
            picture_of(image.getvalue()),
            alt=f"Door {code}",
            by=keeper,
            now=NOW,
        )
        for code in codes
    ]

    content = client_of(hire).get(page(run)).content.decode()

    assert photos
    for photo in photos:
        assert reverse("rigs:photo", args=[photo.token]) in content
        assert f'alt="{photo.alt}"' in content
