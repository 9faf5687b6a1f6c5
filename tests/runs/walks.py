"""Random walks over the moves of runs: two people, two tabs each, and answers lost on the way.

Each move is held against the table of moves. After each step the database is compared with what
was sent and taken, and at the end of a walk what is thought to be known with the same worked out
again from the answers.
"""

from collections import Counter, defaultdict
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import ClassVar, TypeVar

from django.utils import timezone
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule

from drills.competency.models import Evidence
from drills.competency.reports import Knowledge, knowledge_of
from drills.engine.facts import Fact
from drills.engine.memory import Observation
from drills.engine.moves import (
    ANSWER,
    CALL_AWAY,
    CONTEST,
    GO_ON,
    LAPSES_AFTER,
    NOT_THERE,
    WITHDRAW,
    Move,
    MoveError,
    refusal,
)
from drills.people.models import Person
from drills.rigs.models import Rig
from drills.runs.actions import (
    AlreadyAssignedError,
    AnsweredOtherwiseError,
    AnswerError,
    ContestError,
    NotOpenError,
    answer_prompt,
    begin,
    call_away,
    contest,
    go_on,
    report_not_there,
    start_run,
    withdraw,
)
from drills.runs.marking import fair_findings, mark_of
from drills.runs.models import Presentation, PresentationState, Run
from drills.scenarios.models import Recipe
from drills.scenarios.reading import layout_asked
from tests.runs.assignments import given
from tests.runs.conftest import NOW
from tests.runs.player import right, wrong
from tests.runs.worlds import undone

TABS, DEVICES = 2, ("phone", "desk")
WHO = TAB = st.integers(0, 1)
SAYS: dict[str, Callable[[Presentation], list[str]]] = {
    "right": right,
    "wrong": wrong,
    "nothing": lambda _: [],
}
SAID = st.sampled_from(sorted(SAYS))
Made = TypeVar("Made")
MONTH = LAPSES_AFTER + timedelta(minutes=1)
SELDOM = st.sampled_from([True] + 5 * [False])
# A month ends every run, so that it comes seldom.
WAITS = [timedelta(seconds=each) for each in (1, 5, 30, 700)] * 5 + [MONTH]


@dataclass
class Tab:
    """A page: the prompt it shows, which may be over by now, and what was sent from it last."""

    token: str = ""
    sent: tuple[str, list[str]] | None = None
    is_told: bool = True


@dataclass
class Seat:
    """One person at one run after the other."""

    person: Person
    run: Run
    tabs: tuple[Tab, ...] = field(default_factory=lambda: tuple(Tab() for _ in range(TABS)))


class Walk(RuleBasedStateMachine):
    """The people, the rig and the recipes are set by the test; everything of a walk is undone.

    `did` counts the steps, and what became of what was sent.
    """

    people: ClassVar[tuple[Person, ...]]
    giver: ClassVar[Person]
    rig: ClassVar[Rig]
    recipes: ClassVar[tuple[Recipe, ...]]
    did: ClassVar[Counter[str]] = Counter()

    def __init__(self) -> None:
        super().__init__()
        self._undone = undone()
        self._undone.__enter__()
        self.now, self.seed = NOW, 0
        # By token: what was said, and when it came first.
        self.stored: dict[str, tuple[list[str], datetime]] = {}
        self.under_way: list[tuple[str, list[str]]] = []
        self.seats = [Seat(each, self._start(each, 0)) for each in self.people]
        self.did["steps"] -= 1  # the state is looked at once before the first

    def teardown(self) -> None:
        try:
            for seat in self.seats:
                self._knows_what_was_answered(seat.person)
        finally:
            self._undone.__exit__(None, None, None)

    @rule(who=WHO, which=st.integers(0, 1))
    def start_another(self, who: int, which: int) -> None:
        """Only once the last is over, so that walks are of runs and not of their beginnings."""
        seat = self.seats[who]
        if self._state(seat) not in GO_ON.to:
            seat.run = self._start(seat.person, which)

    @rule(who=WHO, tab=TAB)
    def look(self, who: int, tab: int) -> None:
        """A reload, going back, or the same run on another phone: what is open now."""
        self._see(self.seats[who], tab)

    @rule(who=WHO, tab=TAB, device=st.sampled_from(DEVICES))
    def go_on(self, who: int, tab: int, device: str) -> None:
        self._press_next(self.seats[who], tab, device)

    @rule(who=WHO, tab=TAB, says=SAID)
    def answer(self, who: int, tab: int, says: str) -> None:
        seat = self.seats[who]
        if self._choose(seat, tab, says):
            self._send(seat, tab, is_heard=True)

    @rule(who=WHO, tab=TAB, says=SAID, comes=st.booleans())
    def answer_and_hear_nothing(self, who: int, tab: int, says: str, comes: bool) -> None:
        """The response is lost, or the request was before it came to the server."""
        seat = self.seats[who]
        if self._choose(seat, tab, says) and comes:
            self._send(seat, tab, is_heard=False)

    @rule(who=WHO, tab=TAB, is_heard=st.booleans())
    def send_again(self, who: int, tab: int, is_heard: bool) -> None:
        """A double press, or a browser that got no response."""
        self._send(self.seats[who], tab, is_heard=is_heard)

    @rule(who=WHO, tab=TAB, says=SAID)
    def go_back_and_say_something_else(self, who: int, tab: int, says: str) -> None:
        seat, shown = self.seats[who], self.seats[who].tabs[tab]
        if shown.sent is not None:
            shown.token = shown.sent[0]
            shown.is_told = False
            self._choose(seat, tab, says)
            self._send(seat, tab, is_heard=True)

    @rule(which=st.integers(0, 99))
    def an_earlier_one_comes_late(self, which: int) -> None:
        """Any that was ever sent, a second time or the first."""
        if self.under_way:
            self._arrive(*self.under_way[which % len(self.under_way)])

    @rule(who=WHO, tab=TAB)
    def send_the_prompt_of_another_run(self, who: int, tab: int) -> None:
        seat, other = self.seats[who], self.seats[1 - who]
        token = other.tabs[tab].token
        try:
            answer_prompt(seat.run, token=token, tokens=[], claim=None, now=self.now)
        except NotOpenError:
            return
        raise AssertionError("somebody answered a prompt of another's run")

    @rule(who=WHO)
    def be_called_away(self, who: int) -> None:
        run = self.seats[who].run
        self._move(self.seats[who], CALL_AWAY, lambda: call_away(run, now=self.now))

    @rule(who=WHO, tab=TAB)
    def say_it_is_not_there(self, who: int, tab: int) -> None:
        """What was answered counts no longer where that is taken."""
        seat, token = self.seats[who], self.seats[who].tabs[tab].token
        told = self._move(
            seat,
            NOT_THERE,
            lambda: report_not_there(seat.run, token=token, by=seat.person, now=self.now),
        )
        if told is not None:
            self.stored.pop(token, None)

    @rule(who=WHO, now=SELDOM)
    def take_it_back(self, who: int, now: bool) -> None:
        """Who gave it withdraws it: a run of it that is under way ends."""
        seat = self.seats[who]
        before, given_for = self._state(seat), seat.run.assigned if now else None
        if given_for is not None and withdraw(given_for.assignment, by=self.giver, now=self.now):
            assert self._state(seat) in WITHDRAW.to.get(before, (before,))
            self.did["taken back"] += before in WITHDRAW.to

    @rule(who=WHO)
    def contest_a_mark(self, who: int) -> None:
        seat = self.seats[who]
        answered = seat.run.presentations.filter(state=PresentationState.ANSWERED)
        fresh = answered.exclude(prompt=None).filter(contest=None).first()
        if fresh is not None:
            self._move(
                seat,
                CONTEST,
                lambda: contest(seat.run, token=fresh.token, because="It was.", now=self.now),
            )

    @rule(time=st.sampled_from(WAITS))
    def wait(self, time: timedelta) -> None:
        self.now += time

    @invariant()
    def what_was_taken_is_stored_once_and_nothing_else_is(self) -> None:
        self.did["steps"] += 1
        self.now += timedelta(milliseconds=400)
        rows = Presentation.objects.filter(state=PresentationState.ANSWERED)
        found = {
            token: (sorted(answer), at)
            for token, answer, at in rows.values_list("token", "answer", "received_at")
        }
        assert found == self.stored
        judged = rows.exclude(prompt=None).values_list("token", "run__person")
        told = list(Evidence.objects.standing().values_list("source", "person", "fact"))
        assert {told[:2] for told in told} == {
            (f"answer {token}", person) for token, person in judged
        }
        assert len(set(told)) == len(told)

    def _start(self, person: Person, which: int) -> Run:
        """A run of a recipe that was given to the person for a week."""
        self.seed += 1
        recipe, due = self.recipes[which], timezone.localdate(self.now + timedelta(days=7))
        with suppress(AlreadyAssignedError):
            given(recipe, [person], by=self.giver, due_on=due, now=self.now)
        return start_run(
            person,
            recipe=recipe,
            revision=self.rig.revision,
            rig=self.rig,
            now=self.now,
            seed=self.seed,
        )

    def _state(self, seat: Seat) -> str:
        return Run.objects.get(pk=seat.run.pk).state_at(self.now)

    def _move(self, seat: Seat, move: Move, act: Callable[[], Made]) -> Made | None:
        """What a move gives, made or refused as the table has it; nothing when refused."""
        before, said = self._state(seat), ""
        try:
            made = act()
        except (MoveError, ContestError) as refused:
            made, said = None, str(refused)
        assert said == ("" if before in move.to else refusal(before, move))
        assert self._state(seat) in move.to.get(before, (before,))
        self.did["moves refused" if said else "moves made"] += 1
        return made

    def _press_next(self, seat: Seat, tab: int, device: str = "phone") -> None:
        shown = self._move(
            seat,
            GO_ON,
            lambda: begin(seat.run, device_class=device, is_timed=True, now=self.now).presentation,
        )
        if shown is not None:
            seat.tabs[tab].token, seat.tabs[tab].is_told = shown.token, False

    def _see(self, seat: Seat, tab: int) -> None:
        is_open = seat.run.presentations.filter(state=PresentationState.OPEN).first()
        if is_open is not None:
            seat.tabs[tab].token, seat.tabs[tab].is_told = is_open.token, False

    def _choose(self, seat: Seat, tab: int, says: str) -> bool:
        """Make up one's mind on what a tab shows; the next prompt where it shows none to answer,
        of another run where this one is over."""
        page = seat.tabs[tab]
        if self._state(seat) not in GO_ON.to and page.is_told:
            seat.run = self._start(seat.person, self.seed % len(self.recipes))
        if page.is_told:
            self._press_next(seat, tab)
        shown = Presentation.objects.filter(token=page.token).first()
        if shown is None or page.is_told:
            return False
        page.sent = (shown.token, sorted(SAYS[says](shown)))
        self.under_way.append(page.sent)
        return True

    def _send(self, seat: Seat, tab: int, *, is_heard: bool) -> None:
        page = seat.tabs[tab]
        if page.sent is None:
            return
        is_taken = self._arrive(*page.sent)
        if is_heard:
            page.is_told = is_taken
            self._see(seat, tab)

    def _arrive(self, token: str, keys: list[str]) -> bool:
        """What is taken stays; what is stored already is given back, and another is refused."""
        shown = Presentation.objects.select_related("run").get(token=token)
        run, before = shown.run, self.stored.get(token)
        must = before is None and self._may_be_taken(shown, keys)
        tokens = [run.token_for(key) for key in keys]
        stands: list[str] | None = None
        try:
            answer_prompt(run, token=token, tokens=tokens, claim=None, now=self.now)
        except AnsweredOtherwiseError as refused:
            stands = sorted(refused.presentation.answer)
        except AnswerError:
            assert not must
            assert before is None or (shown.is_warm_up and keys != before[0])
            self.did["refused as void or over"] += 1
            return False
        if stands is not None:
            assert before is not None
            assert stands == before[0] != keys
            self.did["refused and shown the first"] += 1
            return False
        assert must if before is None else before[0] == keys
        self.did["given back" if before else "taken"] += 1
        self.stored.setdefault(token, (keys, self.now))
        if shown.is_warm_up or not run.is_practice:
            go_on(run, now=self.now)
        return True

    def _may_be_taken(self, shown: Presentation, keys: list[str]) -> bool:
        """Whether the first answer to a prompt is one that must be taken."""
        is_left = not shown.run.is_practice and shown.is_left_alone(self.now)
        is_open = shown.state == PresentationState.OPEN and not is_left
        is_tap = not shown.is_warm_up or keys == [shown.subject]
        return is_open and is_tap and shown.run.state_at(self.now) in ANSWER.to

    def _knows_what_was_answered(self, person: Person) -> None:
        found: dict[Fact, list[Observation]] = defaultdict(list)
        rows = Presentation.objects.filter(run__person=person, state=PresentationState.ANSWERED)
        for each in rows.exclude(prompt=None).order_by("received_at"):
            assert each.prompt is not None
            assert each.received_at is not None
            mark = mark_of(each, each.prompt, layout_asked(each.run.drill))
            for finding in fair_findings(mark, each, each.prompt):
                source = f"answer {each.token}"
                seen = Observation(finding.outcome, each.received_at, not each.is_retry, source)
                found[finding.fact].append(seen)
        again = Knowledge({fact: tuple(seen) for fact, seen in found.items()}, self.now)
        known = knowledge_of(person, layout=self.rig.layout, now=self.now)
        assert dict(known.observations) == dict(again.observations)
        assert known.weights() == again.weights()
        assert known.of(found) == again.of(found)
