"""The table of moves against what the actions do: every action driven from every state."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from drills.boards.guide import chapter_of
from drills.engine import moves
from drills.engine.moves import LAPSES_AFTER, MOVES, STATES, Move, MoveError, refusal
from drills.engine.serving import prompts_left
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.runs.actions import (
    AnswerError,
    ContestError,
    answer_prompt,
    begin,
    call_away,
    contest,
    report_not_there,
    start_run,
    withdraw,
)
from drills.runs.models import Assignment, Presentation, PresentationState, Run
from drills.runs.served import record_of
from drills.scenarios.models import Recipe
from tests.runs.assignments import FRIDAY, given, standing
from tests.runs.conftest import NOW, SEED, ClientOf
from tests.runs.player import Player, right

LATER = NOW + LAPSES_AFTER + timedelta(minutes=1)
pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def nothing_lapses() -> None:
    """Here runs lapse as they do on a site."""


@dataclass
class Go:
    """Something assigned to a person, and the run of it once there is one; `now` is its moment."""

    assignment: Assignment
    person: Person
    rig: Rig
    run: Run | None = None
    token: str = ""
    now = NOW

    @property
    def state(self) -> str:
        if self.run is not None:
            return Run.objects.get(pk=self.run.pk).state_at(self.now)
        found = standing(self.assignment, self.person, today=FRIDAY)
        return moves.ASSIGNED if found.is_to_do else found.state

    def start(self) -> None:
        recipe, revision = self.assignment.recipe, self.rig.revision
        made = start_run(
            self.person, recipe=recipe, revision=revision, rig=self.rig, now=NOW, seed=SEED
        )
        self.run = made if made.assigned else None

    def take(self, *, to_the_end: bool = False) -> None:
        """Answer the first prompt and be served another, or all there are and be served no more."""
        player = Player(_of(self))
        presentation = player.past_warm_ups() if not self.token else player.begin()
        while True:
            self.token = player.answer(presentation, right(presentation)).token
            if to_the_end and not _left(player.run):
                return
            following = player.serve()
            assert following is not None
            presentation = following
            if not to_the_end:
                return


def _left(run: Run) -> int:
    return prompts_left(run.drill.planned, record_of(run).history)


def _start(go: Go) -> None:
    go.start()


def _go_on(go: Go) -> None:
    begin(_of(go), device_class="phone", is_timed=True, now=go.now)


def _answer(go: Go) -> None:
    """The prompt that is open, or that was."""
    run = _of(go)
    presentation = run.presentations.order_by("order").last()
    assert presentation is not None
    if presentation.state == PresentationState.ANSWERED:
        # Nothing is open when a run is over. Were something, it could not be answered either.
        presentation = Presentation.objects.create(
            run=run, prompt=presentation.prompt, order=presentation.order + 1, served_at=go.now
        )
    tokens = [run.token_for(key) for key in right(presentation)]
    answer_prompt(run, token=presentation.token, tokens=tokens, claim=None, now=go.now)


def _not_there(go: Go) -> None:
    presentation = _of(go).presentations.order_by("order").last()
    assert presentation is not None
    report_not_there(_of(go), token=presentation.token, by=go.person, now=go.now)


def _call_away(go: Go) -> None:
    call_away(_of(go), now=go.now)


def _contest(go: Go) -> None:
    contest(_of(go), token=go.token, because="It was there.", now=go.now)


def _withdraw(go: Go) -> None:
    """Of many people at once, so what is over already is passed over and nobody is refused."""
    before = go.state
    assert go.assignment.given_by is not None
    withdraw(go.assignment, by=go.assignment.given_by, now=go.now)
    if go.state == before:
        raise MoveError(refusal(before, moves.WITHDRAW))


def _lapse(go: Go) -> None:
    before, go.now = go.state, LATER
    if go.state == before:
        raise MoveError(refusal(before, moves.LAPSE))


def _of(go: Go) -> Run:
    assert go.run is not None
    return go.run


ACTIONS: dict[str, Callable[[Go], None]] = {
    moves.START.name: _start,
    moves.GO_ON.name: _go_on,
    moves.ANSWER.name: _answer,
    moves.NOT_THERE.name: _not_there,
    moves.CALL_AWAY.name: _call_away,
    moves.CONTEST.name: _contest,
    moves.WITHDRAW.name: _withdraw,
    moves.LAPSE.name: _lapse,
}

# What leads on from an answer to the state that is wanted.
_THEN: dict[str, tuple[Callable[[Go], None], ...]] = {
    moves.OPEN: (),
    moves.AWAY: (_call_away,),
    moves.RESUMED: (_call_away, _go_on),
    moves.FINISHED: (_go_on,),
    moves.WITHDRAWN: (_withdraw,),
    moves.LAPSED: (_lapse,),
}


@pytest.fixture
def build(hire: Person, fto: Person, rig: Rig, recipe: Recipe) -> Callable[..., Go]:
    """A go in some state, reached by the actions alone; with nothing left to ask if wanted."""

    def to(state: str, *, to_the_end: bool = False) -> Go:
        go = Go(given(recipe, [hire], by=fto), hire, rig)
        if state == moves.ASSIGNED:
            return go
        go.start()
        go.take(to_the_end=state == moves.FINISHED or (to_the_end and state != moves.RESUMED))
        for act in _THEN[state]:
            act(go)
        if to_the_end and state == moves.RESUMED:
            go.take(to_the_end=True)
        assert go.state == state
        return go

    return to


def driven(go: Go, move: Move) -> set[str]:
    """Where a move led from here; nowhere when it was refused, in the words of the table."""
    before, refused = go.state, ""
    try:
        ACTIONS[move.name](go)
    except (MoveError, AnswerError, ContestError) as error:
        refused = str(error)
    if refused:
        assert (refused, go.state) == (refusal(before, move), before)
        return set()
    return {go.state}


# A go that is not begun is no run, so nothing can be asked of it but these; and starting once more
# begins another go.
OF_WHAT_IS_ASSIGNED = (moves.START, moves.WITHDRAW, moves.LAPSE)


@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize("move", MOVES, ids=lambda move: move.name)
def test_the_table_is_what_the_actions_do(build: Callable[..., Go], state: str, move: Move) -> None:
    if state == moves.ASSIGNED and move not in OF_WHAT_IS_ASSIGNED:
        assert state not in move.to
        return
    if move is moves.START and state != moves.ASSIGNED:
        assert state not in move.to
        return

    reached = driven(build(state), move)

    assert reached == set(move.to.get(state, ())[:1])


@pytest.mark.parametrize("state", moves.UNDER_WAY)
def test_going_on_with_nothing_left_finishes(build: Callable[..., Go], state: str) -> None:
    assert driven(build(state, to_the_end=True), moves.GO_ON) == {moves.FINISHED}
    assert moves.FINISHED in moves.GO_ON.to[state]


def test_nothing_moves_a_go_that_is_not_begun(build: Callable[..., Go]) -> None:
    """No row is there to be moved, so no address leads to one."""
    assert build(moves.ASSIGNED).run is None
    assert not Run.objects.exists()


def test_what_is_withdrawn_before_it_is_begun_counts_for_nothing_afterwards(
    build: Callable[..., Go],
) -> None:
    go = build(moves.ASSIGNED)
    _withdraw(go)

    go.start()

    assert go.run is None
    assert Run.objects.get().assigned is None


def test_withdrawing_voids_what_is_open_and_keeps_what_was_answered(
    build: Callable[..., Go], assessed: Recipe
) -> None:
    go = build(moves.OPEN)
    run = _of(go)
    answered = run.presentations.filter(state=PresentationState.ANSWERED).count()

    _withdraw(go)

    assert not run.presentations.filter(state=PresentationState.OPEN).exists()
    assert run.presentations.filter(void_reason="withdrawn").count() == 1
    assert run.presentations.filter(state=PresentationState.ANSWERED).count() == answered


def test_a_refusal_says_what_is_and_what_could_be_done() -> None:
    assert refusal(moves.AWAY, moves.ANSWER) == (
        "This drill is called away: you cannot answer it. You can go on with it."
    )
    assert refusal(moves.FINISHED, moves.GO_ON) == (
        "This drill is finished: you cannot go on with it. You can contest a mark."
    )
    assert refusal(moves.OPEN, moves.CONTEST) == (
        "This drill is open: you cannot contest a mark. You can go on with it, answer it, "
        "report what is not where the layout says or say that you are called away."
    )
    assert refusal(moves.FINISHED, moves.WITHDRAW).endswith("Nothing more can be done with it.")


@pytest.mark.parametrize("address", ["proceed", "away", "not_there", "answer"])
@pytest.mark.parametrize("days", [29, 31])
def test_a_page_of_what_lapsed_says_so_and_moves_nothing(
    client_of: ClientOf, hire: Person, run: Run, address: str, days: int
) -> None:
    player = Player(run)
    presentation = player.past_warm_ups()
    began = timezone.now() - timedelta(days=days)
    Run.objects.filter(pk=run.pk).update(started_at=began)
    Presentation.objects.filter(pk=presentation.pk).update(served_at=timezone.now())
    sent = {"token": presentation.token, "place": run.token_for(presentation.subject), "unknown": 1}

    page = client_of(hire).post(reverse(f"runs:{address}", args=[run.pk]), sent, follow=True)

    presentation.refresh_from_db()
    has_lapsed = b"This drill is lapsed: you cannot" in page.content
    assert has_lapsed == (days > LAPSES_AFTER.days)
    if has_lapsed:
        assert b"Lapsed:" in page.content
        assert presentation.state == PresentationState.OPEN
        assert Run.objects.get(pk=run.pk).state == "open"


def test_what_lapsed_or_was_withdrawn_is_no_longer_offered(
    client_of: ClientOf, hire: Person, run: Run
) -> None:
    Player(run).past_warm_ups()
    browser, today = client_of(hire), reverse("boards:hire")
    Run.objects.update(started_at=timezone.now())
    assert reverse("runs:proceed", args=[run.pk]) in browser.get(today).content.decode()

    Run.objects.update(started_at=timezone.now() - LAPSES_AFTER - timedelta(minutes=1))

    assert reverse("runs:proceed", args=[run.pk]) not in browser.get(today).content.decode()


def test_the_guide_prints_the_table_as_it_is() -> None:
    chapter = chapter_of("fto")
    assert chapter is not None
    for state, meaning in STATES.items():
        leads = [(each.name, each.to[state]) for each in MOVES if state in each.to]
        told = "; ".join(f"{name} → {' or '.join(map(moves.word, to))}" for name, to in leads)
        assert (
            f"<tr>\n<td>{moves.word(state)}</td>\n<td>{meaning}</td>\n<td>{told}</td>\n</tr>"
            in chapter.body
        )
