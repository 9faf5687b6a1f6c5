"""What a browser does to a prompt before its answer is in, and what it gets to see of it."""

import json
from collections.abc import Callable, Collection, Iterable, Mapping
from typing import Any, TypeVar

from django.http import HttpResponse
from django.urls import reverse

from drills.boards.person_records import record_of
from drills.people.models import Person
from drills.scenarios.models import Mode
from tests.runs.conftest import FRAGMENT
from tests.runs.worlds import Play, Seen, World, undone

Differing = TypeVar("Differing")
HEADERS: dict[str, dict[str, str]] = {"page": {}, "fragment": FRAGMENT}
PAGE_ALONE = {"page": HEADERS["page"]}


def page(world: World, headers: dict[str, str]) -> list[Any]:
    world.serve()
    return [world.browser.get(world.url("take"), headers=headers)]


def proceed(world: World, headers: dict[str, str]) -> list[Any]:
    return [
        world.browser.post(world.url("proceed"), {"device": "phone"}, headers=headers),
        *_look(world, headers),
    ]


def nothing_chosen(world: World, headers: dict[str, str]) -> list[Any]:
    return _post(world, "answer", {"token": world.serve()}, headers, status=422)


def unknown_choice(world: World, headers: dict[str, str]) -> list[Any]:
    sent = {"token": world.serve(), next(iter(world.choice())): "0" * 20}
    return _post(world, "answer", sent, headers, status=422)


def called_away(world: World, headers: dict[str, str]) -> list[Any]:
    world.serve()
    return _post(world, "away", {}, headers)


def not_there(world: World, headers: dict[str, str]) -> list[Any]:
    return _post(world, "not_there", {"token": world.serve()}, headers)


def unreadable(world: World, headers: dict[str, str]) -> list[Any]:
    """What is no number, then one of a kind that no prompt here asks for."""
    sent: dict[str, Any] = {"token": world.serve()}
    no_number = _post(
        world, "answer", {**sent, "amount": "1..5", "unit": "mL"}, headers, status=422
    )
    other_kind = {**sent, "amount": "1", "unit": "gtt/min"}
    return no_number + _post(world, "answer", other_kind, headers, status=422)


def answered(world: World, headers: dict[str, str]) -> list[Any]:
    return _post(world, "answer", {"token": world.serve(), **world.choice()}, headers)


def not_known(world: World, headers: dict[str, str]) -> list[Any]:
    return _post(world, "answer", {"token": world.serve(), "unknown": "1"}, headers)


def answered_twice(world: World, headers: dict[str, str]) -> list[Any]:
    token = world.serve()
    first = _post(world, "answer", {"token": token, **world.choice()}, headers)
    other = {"token": token, **world.choice(other=True)}
    return first + _post(world, "answer", other, headers, status=422)


def elsewhere(world: World, headers: dict[str, str]) -> list[Any]:
    """One's other pages and one's history, by address, while the prompt is open."""
    world.serve()
    pages = ("boards:hire", "boards:drills", "runs:due", "rigs:index")
    record = reverse("boards:person", args=["HIRE"])
    addresses = [*map(reverse, pages), record, world.url("debrief")]
    return [world.browser.get(each, headers=headers) for each in addresses]


def exported(world: World, headers: dict[str, str]) -> list[Any]:
    """All that is kept about the person, as it is given out on demand while the prompt is open."""
    world.serve()
    told = record_of(Person.objects.get(runs=world.run), now=world.forced.now)
    assert told["runs"]
    return [HttpResponse(json.dumps(told, default=str, sort_keys=True))]


BEFORE_THE_ANSWER = (page, proceed, nothing_chosen, unknown_choice, called_away, not_there)
# Practice tells the answer once it is in; an assessed run tells it after the run.
PLAYED: dict[str, tuple[Play, ...]] = {
    Mode.PRACTICE: BEFORE_THE_ANSWER,
    Mode.ASSESSED: (*BEFORE_THE_ANSWER, answered, not_known, answered_twice),
}

# What is compared beside those: in practice one's other pages tell what the rig holds, and may.
BESIDE: dict[str, tuple[Play, ...]] = {
    Mode.PRACTICE: (exported,),
    Mode.ASSESSED: (elsewhere, exported),
}


def _post(
    world: World, name: str, sent: dict[str, Any], headers: dict[str, str], *, status: int = 0
) -> list[Any]:
    """The answer of the server to a post, and the page after it."""
    response = world.browser.post(world.url(name), sent, headers=headers)
    assert response.status_code == (status or (200 if headers else 302))
    return [response, *_look(world, headers)]


def _look(world: World, headers: dict[str, str]) -> list[Any]:
    response = world.browser.get(world.url("take"), headers=headers)
    assert response.status_code == 200
    return [response]


def told_apart(
    worlds: Iterable[Differing],
    plays: Collection[Play],
    world_on: Callable[[Differing], World],
    ways: Mapping[str, dict[str, str]] = HEADERS,
) -> dict[tuple[str, str], int]:
    """What was played, and in which way, where a world showed something else than the first, and in
    how many. All is played in a world that is made once, and undone after each."""
    seen: list[dict[tuple[str, str], list[Seen]]] = []
    answers = []
    for each in worlds:
        with undone():
            world = world_on(each)
            answers.append(world.answer)
            seen.append(
                {
                    (play.__name__, way): _play(play, world, headers)
                    for way, headers in ways.items()
                    for play in plays
                }
            )
    assert len({tuple(answer) for answer in answers}) == len(answers) > 1
    first, *others = seen
    differing = {played: sum(each[played] != first[played] for each in others) for played in first}
    return {played: count for played, count in differing.items() if count}


def every(plays: Iterable[Play], ways: Iterable[str] = HEADERS) -> set[tuple[str, str]]:
    """All of some plays in all ways."""
    return {(play.__name__, way) for play in plays for way in ways}


def _play(play: Play, world: World, headers: dict[str, str]) -> list[Seen]:
    with undone():
        world.forced.begin_again(1000)
        return [Seen.of(response) for response in play(world, headers)]
