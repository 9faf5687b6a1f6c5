"""Services that differ in one thing alone: where something lies. All else is forced to be equal:
numbers of rows, names, order, the secret of the run, tokens, ids, and the clock.
"""

import re
import secrets
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import datetime
from http.cookies import Morsel
from itertools import count
from typing import Any
from uuid import UUID

import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.demo.factories import RigFactory, published
from drills.engine.elsewhere import Elsewhere
from drills.engine.layout import Layout, item_key
from drills.engine.prompts import bag_subject, seat_subject
from drills.engine.recipes import CONTENTS, LOCATE, MOVED, REACH
from drills.people.models import Person
from drills.rigs.actions import tell_difference
from drills.rigs.reading import forget_kept
from drills.runs.access import forget_drills
from drills.runs.actions import start_run
from drills.runs.models import Presentation, PresentationState, Run
from drills.scenarios.models import DrillPrompt, Recipe
from tests.layouts import practice_rig
from tests.runs.conftest import NOW, SEED
from tests.runs.player import Player, right

RUN_ID, WARM_UPS = UUID(int=7), 3
SECRET = "5" * 32
# A bag that moved is asked for like a thing that did, and drawn otherwise.
MOVED_BAG = "moved bag"
IN_REACH = seat_subject("practice-rig", "SEAT", "circulation and bleeding")
KINDS = {
    LOCATE: "locate:5",
    CONTENTS: "contents:2",
    REACH: "reach:1;locate:5",
    MOVED: "moved:auto",
    MOVED_BAG: "moved:9",
}
# The first is what lies elsewhere; the others are the same everywhere, and the last is a spare.
SUBJECTS = {
    LOCATE: ("tourniquet", "splint", "neck collar", "suction tip"),
    CONTENTS: ("BAG-M", "BAG-L", "I1B"),
    REACH: (IN_REACH, "splint", "neck collar", "suction tip"),
    MOVED: ("tourniquet", "splint", "neck collar", "suction tip"),
    MOVED_BAG: (bag_subject("BAG"), "splint", "neck collar", "suction tip"),
}
# Where the earlier revision had what moved: none of the places that it has in any world.
BEFORE = {
    "Tourniquet": ("I1",),
    "Splint": ("P1",),
    "Neck collar": ("P1",),
    "Suction tip": ("P1",),
}
POCKET, DRAWER = "BAG-M", "I1A"

# What is random in every answer of the server, whoever asks and whatever is asked.
RANDOM_IN_BODY = (
    rb'name="csrfmiddlewaretoken" value="[^"]*"',
    rb'"x-csrftoken": "[^"]*"',
)
RANDOM_COOKIES = {
    "csrftoken": "the token of the forms, random for each browser",
    "sessionid": "the session, random for each time of signing in",
}
# Of a signed cookie what it says is compared; time and signature follow after a colon.
SIGNED_WITH_THE_SECOND = {"messages"}
NOT_COMPARED = {"Expires": "the second of the answer, by the clock of the machine"}
OF_A_MOMENT = {"expires": "of a cookie: counted from the second of the answer"}

Play = Callable[["World", dict[str, str]], list[Any]]


def masked(content: bytes) -> bytes:
    for pattern in RANDOM_IN_BODY:
        content = re.sub(pattern, b"", content)
    return content


@dataclass(frozen=True, slots=True)
class Seen:
    """All that a browser gets to know by one answer of the server."""

    status: int
    headers: tuple[tuple[str, str], ...]
    cookies: tuple[tuple[str, str], ...]
    body: bytes

    @classmethod
    def of(cls, response: Any) -> "Seen":
        cookies = []
        for name, morsel in sorted(response.cookies.items()):
            attributes = {key: said for key, said in morsel.items() if key not in OF_A_MOMENT}
            cookies.append((name, f"{_value(morsel)} {sorted(attributes.items())}"))
        headers = {key: said for key, said in response.headers.items() if key not in NOT_COMPARED}
        return cls(
            response.status_code,
            tuple(sorted(headers.items())),
            tuple(cookies),
            masked(response.content),
        )


def _value(morsel: Morsel[str]) -> str:
    """What a cookie says, less what is random or of the second."""
    if morsel.key in RANDOM_COOKIES:
        return ""
    return morsel.value.partition(":")[0] if morsel.key in SIGNED_WITH_THE_SECOND else morsel.value


def rigs_for(kind: str) -> list[Layout]:
    """The practice rig, once for each place where the thing asked for could lie, or for all that
    the place asked about could hold."""
    if kind == MOVED_BAG:
        return [with_bag_in(code) for code in ("S1", "I1", "I1A", "I1B", "P1")]
    if kind == REACH:
        return [with_reach(lies, of) for lies in (POCKET, DRAWER) for of in (POCKET, DRAWER)]
    if kind in (LOCATE, MOVED):
        lies = [(POCKET, DRAWER), (DRAWER,), ("S1",), ("S1A", "I1B"), ("BAG-L",), ("P1",)]
        return [with_stock({"Tourniquet": codes}) for codes in lies]
    names = ("Tourniquet", "Trauma dressing", "Gauze roll")
    held = [names[:2], names, names[1:], (names[0], names[2])]
    return [
        with_stock({name: (POCKET if name in here else DRAWER,) for name in names}) for here in held
    ]


def with_bag_in(code: str) -> Layout:
    """The practice rig with the response bag in another place; all else, and the order, stays."""
    rig = practice_rig()
    return replace(
        rig,
        compartments=tuple(
            replace(each, inside=code) if each.code == "BAG" else each for each in rig.compartments
        ),
    )


def with_reach(lies: str, reached: str) -> Layout:
    """The practice rig with the tourniquet in one place, and one within reach of the seat."""
    rig = with_stock({"Tourniquet": (lies,)})
    return replace(
        rig,
        compartments=tuple(
            replace(each, reach_from=("SEAT",) if each.code == reached else ())
            for each in rig.compartments
        ),
    )


def with_stock(lies: Mapping[str, Sequence[str]]) -> Layout:
    """The practice rig with some things in other places; all else, and the order, stays."""
    rig = practice_rig()
    first = {line.item: line for line in reversed(rig.stock)}
    at = min(rig.stock.index(first[name]) for name in lies)
    moved = tuple(
        replace(first[name], compartment=code) for name, codes in lies.items() for code in codes
    )
    others = [line for line in rig.stock if line.item not in lies]
    return replace(rig, stock=(*others[:at], *moved, *others[at:]))


@dataclass
class Forced:
    """The clock and the tokens of the server, the same in each world."""

    now: datetime = NOW
    numbers: Iterator[int] = field(default_factory=count)

    def token(self, _: int) -> str:
        return f"{next(self.numbers):032x}"

    def begin_again(self, number: int) -> None:
        self.numbers = count(number)


@pytest.fixture
def forced(monkeypatch: pytest.MonkeyPatch) -> Forced:
    made = Forced()
    monkeypatch.setattr(secrets, "token_hex", made.token)
    monkeypatch.setattr(timezone, "now", lambda: made.now)
    return made


@dataclass
class World:
    """A run past its warm-ups, with nothing served after them, and a browser that is signed in."""

    run: Run
    player: Player
    browser: Client
    forced: Forced

    def serve(self) -> str:
        """Serve the prompt; its submission token."""
        presentation = self.player.serve()
        assert presentation is not None
        assert presentation.subject == SUBJECTS[self.kind][0]
        return presentation.token

    @property
    def kind(self) -> str:
        return next(kind for kind, spec in KINDS.items() if spec == self.run.drill.recipe.kinds)

    @property
    def answer(self) -> list[str]:
        """The keys of the right answer."""
        return list(self.run.drill.prompts.get(position=0).answer)

    def url(self, name: str) -> str:
        return reverse(f"runs:{name}", args=[self.run.pk])

    def choice(self, *, other: bool = False) -> dict[str, Any]:
        """What a browser posts for a choice: right in some of the worlds and wrong in the rest."""
        if self.kind not in (CONTENTS, REACH):
            return {"place": self.run.token_for("S1A" if other else DRAWER)}
        names = ("Gauze roll",) if other else ("Tourniquet", "Trauma dressing")
        return {"thing": [self.run.token_for(item_key(name)) for name in names]}


@contextmanager
def undone() -> Iterator[None]:
    """All that is stored inside is gone afterwards, the numbers of rows as well."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def build(
    layout: Layout,
    kind: str,
    mode: str,
    hire: Person,
    forced: Forced,
    *,
    differs: Sequence[Elsewhere] = (),
    is_begun: bool = True,
) -> World:
    """A world on one layout, with what its rig carries elsewhere. Its prompts are the engine's,
    put in one order in all worlds. One that is not begun has no warm-ups behind it."""
    forget_kept()
    forget_drills()
    forced.now = NOW
    forced.begin_again(0)
    recipe = Recipe.objects.create(
        slug="asked", name="Asked", kinds=KINDS[kind], mode=mode, minutes=3, cut_off_s=60
    )
    if kind in (MOVED, MOVED_BAG):
        published(with_stock(BEFORE))
    rig = RigFactory.create(unit="11", revision=published(layout), station=None)
    for each in differs:
        where = {"thing": each.thing, "place": each.place, "here": each.here}
        tell_difference(rig, **where, report=None, by=hire, now=NOW)
    made = start_run(hire, recipe=recipe, revision=rig.revision, rig=rig, now=NOW, seed=SEED)
    Run.objects.filter(pk=made.pk).update(id=RUN_ID, secret=SECRET)
    run = Run.objects.get(pk=RUN_ID)
    _arrange(run, SUBJECTS[kind])
    player = Player(run)
    presentation: Presentation | None = player.begin() if is_begun else None
    while presentation is not None:
        player.answer(presentation, right(presentation), seconds=1.5)
        taps = run.presentations.filter(state=PresentationState.ANSWERED).count()
        presentation = player.serve() if taps < WARM_UPS else None
    forced.now = player.now
    browser = Client()
    browser.force_login(hire)
    return World(run, player, browser, forced)


def _arrange(run: Run, subjects: Sequence[str]) -> None:
    """Keep the prompts of the subjects, in that order; nobody is asked why they were drawn."""
    made = {prompt.subject: prompt for prompt in run.drill.prompts.all()}
    run.drill.prompts.all().delete()
    kept = [made[subject] for subject in subjects]
    for position, prompt in enumerate(kept):
        prompt.pk, prompt.position = None, position
        prompt.is_spare, prompt.chosen = position == len(kept) - 1, "focus"
    DrillPrompt.objects.bulk_create(kept)
