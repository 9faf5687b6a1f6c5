"""The right answer is nowhere in what the server sends before the person's is in.

The same prompt is served by services that differ only in where the thing lies, the stock of the
revision included; after masking what is random in every answer of the server, status, headers,
cookies and bytes may not differ. Three leaks are planted to show that each would be seen.
"""

import re
import secrets
from collections.abc import Callable
from typing import Any

import pytest
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from drills.engine.elsewhere import Elsewhere
from drills.engine.layout import Layout
from drills.engine.recipes import CONTENTS, LOCATE, MOVED, REACH
from drills.people.models import Person
from drills.rigs.actions import make_labels
from drills.rigs.models import Place, PlaceLabel
from drills.rigs.reading import layout_of
from drills.runs.actions import begin
from drills.runs.models import Presentation, PresentationState, Run
from drills.scenarios.models import DrillPrompt, Mode
from tests.layouts import practice_rig
from tests.runs.conftest import ClientOf
from tests.runs.player import Player, right
from tests.runs.plays import (
    BESIDE,
    PAGE_ALONE,
    PLAYED,
    called_away,
    every,
    not_there,
    nothing_chosen,
    page,
    proceed,
    told_apart,
    unknown_choice,
)
from tests.runs.worlds import (
    DRAWER,
    MOVED_BAG,
    SUBJECTS,
    Forced,
    World,
    build,
    masked,
    rigs_for,
)
from tests.runs.worlds import forced as forced

pytestmark = pytest.mark.django_db

OF_STOCK = (LOCATE, CONTENTS, MOVED)
KINDS = (*OF_STOCK, REACH, MOVED_BAG)
FEW = 3  # of the services, which are enough to see a planted leak


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("mode", Mode.values)
def test_wherever_it_lies_the_browser_gets_the_same_bytes(
    hire: Person, forced: Forced, kind: str, mode: str
) -> None:
    """What is reached is no place, so nothing of it is reported as not where the layout says."""

    def world_on(layout: Layout) -> World:
        return build(layout, kind, mode, hire, forced)

    plays = [each for each in PLAYED[mode] if kind != REACH or each != not_there]
    plays += BESIDE[mode]
    assert told_apart(rigs_for(kind), plays, world_on) == {}


@pytest.mark.parametrize("mode", Mode.values)
def test_wherever_the_rig_has_it_the_browser_gets_the_same_bytes(
    hire: Person, forced: Forced, mode: str
) -> None:
    """What one rig carries elsewhere is as little told as what the layout says."""

    def world_on(differs: tuple[Elsewhere, ...]) -> World:
        return build(practice_rig(), LOCATE, mode, hire, forced, differs=differs)

    lies = [("BAG-M", "S1"), ("I1A", ""), ("", "P1")]
    rigs = [(), *((Elsewhere("tourniquet", *each),) for each in lies)]
    assert told_apart(rigs, PLAYED[mode], world_on) == {}


class ScanWorld(World):
    """A run that is answered with labels, its first prompt open."""

    def serve(self) -> str:
        presentation = self.run.presentations.get(state=PresentationState.OPEN)
        assert presentation.subject == SUBJECTS[LOCATE][0]
        return presentation.token


def labels_opened(world: World, headers: dict[str, str]) -> list[Any]:
    """The label of a place that is right in some of the services, and of one that never is."""
    world.serve()
    codes = {each.key: each.code for each in layout_of(world.run.drill.revision).compartments}
    made = {codes[each.place.key]: each for each in PlaceLabel.objects.select_related("place")}
    addresses = [reverse("rigs:label", args=[made[code].token]) for code in (DRAWER, "S1A", "I1")]
    return [world.browser.get(each) for each in addresses]


def test_wherever_it_lies_the_page_of_a_label_tells_the_same(
    hire: Person,
    keeper: Person,
    forced: Forced,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Neither the prompt of a scan nor the label that would answer it, nor the export meanwhile."""
    monkeypatch.setattr(secrets, "token_urlsafe", lambda _: f"{next(forced.numbers):022d}")

    def world_on(layout: Layout) -> World:
        made = build(layout, LOCATE, Mode.PRACTICE, hire, forced, is_begun=False)
        run, rig, now = made.run, made.run.rig, forced.now
        assert rig is not None
        make_labels(rig, list(Place.objects.filter(layout=rig.layout)), by=keeper, now=now)
        begin(run, device_class="phone", is_timed=True, by_scan=True, now=now)
        return ScanWorld(Run.objects.get(pk=run.pk), made.player, made.browser, forced)

    plays = (page, labels_opened, called_away, not_there, *BESIDE[Mode.PRACTICE])
    assert told_apart(rigs_for(LOCATE), plays, world_on) == {}


def _asked_run(request: HttpRequest) -> Run | None:
    run_id = request.resolver_match.kwargs.get("run_id") if request.resolver_match else None
    runs = Run.objects.select_related("drill__revision__layout")
    return runs.get(pk=run_id) if run_id else None


Answer = Callable[[HttpRequest], HttpResponse]


def lines_in_a_header(get_response: Answer) -> Answer:
    """A planted leak: how many lines the upper drawer has."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        run = _asked_run(request)
        if run is not None:
            stock = layout_of(run.drill.revision).stock
            response["X-Weight"] = f"{sum(line.compartment == DRAWER for line in stock)}"
        return response

    return answer


def lines_under_each_place(get_response: Answer) -> Answer:
    """A planted leak: beside each place, how many lines it has."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        run = _asked_run(request)
        if run is not None:
            layout = layout_of(run.drill.revision)
            for code in layout.by_code:
                lines = len(layout.lines_in.get(code, ()))
                plain = f'value="{run.token_for(code)}"'.encode()
                told = plain + f' data-lines="{lines}"'.encode()
                response.content = response.content.replace(plain, told)
        return response

    return answer


def with_right_choices_first(world: World) -> World:
    """A planted leak: what is right stands at the top of the list."""
    for prompt in DrillPrompt.objects.filter(drill=world.run.drill):
        prompt.choices = sorted(prompt.choices, key=lambda key: key not in prompt.answer)
        prompt.save()
    return world


@pytest.mark.parametrize("kind", OF_STOCK)
def test_a_header_made_from_the_stock_would_be_seen(
    hire: Person, forced: Forced, settings: Any, kind: str
) -> None:
    settings.MIDDLEWARE = [*settings.MIDDLEWARE, f"{__name__}.lines_in_a_header"]

    def world_on(layout: Layout) -> World:
        return build(layout, kind, Mode.ASSESSED, hire, forced)

    plays = PLAYED[Mode.ASSESSED]
    found = told_apart(rigs_for(kind)[:FEW], plays, world_on)

    assert set(found) == every(plays)


def test_choices_in_the_order_of_being_right_would_be_seen(hire: Person, forced: Forced) -> None:
    def world_on(layout: Layout) -> World:
        return with_right_choices_first(build(layout, CONTENTS, Mode.PRACTICE, hire, forced))

    found = told_apart(rigs_for(CONTENTS)[:FEW], PLAYED[Mode.PRACTICE], world_on)

    assert every((page, proceed, nothing_chosen, unknown_choice)) <= set(found)


@pytest.mark.parametrize("kind", OF_STOCK)
def test_a_count_of_lines_beside_each_place_would_be_seen(
    hire: Person, forced: Forced, settings: Any, kind: str
) -> None:
    """On whole pages: a fragment has no drawing."""
    settings.MIDDLEWARE = [*settings.MIDDLEWARE, f"{__name__}.lines_under_each_place"]

    def world_on(layout: Layout) -> World:
        return build(layout, kind, Mode.ASSESSED, hire, forced)

    plays = PLAYED[Mode.ASSESSED]
    found = told_apart(rigs_for(kind)[:FEW], plays, world_on, PAGE_ALONE)

    assert set(found) == every(plays, PAGE_ALONE)


def test_a_bag_on_the_drawing_would_be_seen(
    hire: Person, forced: Forced, monkeypatch: pytest.MonkeyPatch
) -> None:
    """On whole pages: a fragment has no drawing."""
    monkeypatch.setattr("drills.runs.pages.without_bags", lambda layout: layout)

    def world_on(layout: Layout) -> World:
        return build(layout, MOVED_BAG, Mode.ASSESSED, hire, forced)

    plays = PLAYED[Mode.ASSESSED]
    found = told_apart(rigs_for(MOVED_BAG)[:FEW], plays, world_on, PAGE_ALONE)

    assert set(found) == every(plays, PAGE_ALONE)


def until(run: Run, kind: str) -> Presentation:
    """The first open prompt of a kind."""
    player = Player(run)
    presentation = player.past_warm_ups()
    while presentation.prompt is None or presentation.prompt.kind != kind:
        player.answer(presentation, right(presentation))
        following = player.serve()
        assert following is not None
        presentation = following
    # The page is asked for by the clock of the machine; just served, it is not left alone.
    Presentation.objects.filter(pk=presentation.pk).update(served_at=timezone.now())
    return presentation


def test_the_mask_hides_no_token_of_a_place(client_of: ClientOf, run: Run, hire: Person) -> None:
    """What was masked above is random for everybody; the tokens of the places were compared."""
    presentation = until(run, LOCATE)
    content = client_of(hire).get(reverse("runs:take", args=[run.pk])).content

    for code in layout_of(run.drill.revision).by_code:
        assert run.token_for(code).encode() in masked(content)
    assert presentation.token.encode() in masked(content)


def test_tokens_differ_from_run_to_run(run: Run, assessed_run: Run) -> None:
    codes = layout_of(run.drill.revision).by_code

    assert not {run.token_for(code) for code in codes} & {
        assessed_run.token_for(code) for code in codes
    }


def test_no_key_of_a_place_or_thing_is_in_the_page(
    client_of: ClientOf, run: Run, hire: Person
) -> None:
    """Codes and printed names may show; ids of rows, need and place keys may not."""
    presentation = until(run, CONTENTS)
    content = client_of(hire).get(reverse("runs:take", args=[run.pk])).content.decode()

    values = re.findall(r'value="([^"]*)"', content)
    layout = layout_of(run.drill.revision)
    keys = {each.key for each in layout.compartments} | set(layout.things)
    assert not keys & set(values)
    assert str(presentation.pk) not in values


def test_an_answer_of_an_assessed_run_tells_nothing(
    client_of: ClientOf, assessed_run: Run, hire: Person, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The page after an answer is the same whether it was right or wrong."""
    player = Player(assessed_run)
    first = player.past_warm_ups()
    player.answer(first, right(first))
    player.now = moment = timezone.now()
    monkeypatch.setattr(timezone, "now", lambda: moment)
    player.serve()
    browser, url = client_of(hire), reverse("runs:take", args=[assessed_run.pk])
    after_right = masked(browser.get(url).content)
    assert b"2 of 5" in after_right

    Presentation.objects.filter(pk=first.pk, state=PresentationState.ANSWERED).update(
        outcome="wrong", near="elsewhere", missed=["x"]
    )

    assert masked(browser.get(url).content) == after_right
