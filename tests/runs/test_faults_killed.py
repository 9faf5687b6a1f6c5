"""A service under gunicorn: workers that die, a server that is killed, and everybody at once."""

import http.client
import threading
import time
from collections.abc import Iterator

import pytest

from drills.competency.models import Evidence
from drills.runs.models import Presentation, PresentationState
from tests.bench.killed import answer_all
from tests.bench.load import timed
from tests.bench.service import PATIENCE_S, Crew, Server, crews_of, faults
from tests.rigs.test_all_or_nothing import address_of_database
from tests.runs.dying import AFTER_COMMIT, HEADER, IN_TRANSACTION

# `python -m tests.bench.killed` kills twenty times.
KILLS, UNDER_LOAD, AT_ONCE = 3, 6, 60
LOST = (OSError, http.client.HTTPException)
pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture(scope="module")
def server(django_db_setup: None) -> Iterator[Server]:
    """gunicorn on the database of the tests."""
    running = Server(address_of_database(), application="tests.runs.dying")
    running.start()
    yield running
    running.kill()


def begun(people: int, *, prompts: int, at: Server) -> list[Crew]:
    """So many people, each before the first prompt of a run."""
    crews = crews_of(people, at.port, prompts=prompts)
    for crew in crews:
        crew.begin()
    return crews


def shown_to(crew: Crew) -> tuple[str, str]:
    asked = crew.read()
    assert asked is not None
    return asked


def stored(token: str) -> Presentation:
    return Presentation.objects.get(token=token)


def test_a_worker_killed_inside_the_transaction_stores_nothing_and_the_next_try_one(
    server: Server,
) -> None:
    [crew] = begun(1, prompts=3, at=server)
    token, place = shown_to(crew)
    crew.headers[HEADER] = IN_TRANSACTION
    with pytest.raises(LOST):
        crew.answer(token, place)
    assert stored(token).state == PresentationState.OPEN
    assert not Evidence.objects.exists()

    crew.headers.clear()
    crew.answer(token, place)

    assert list(crew.acknowledged) == [token]
    assert faults([crew]) == []


def test_a_worker_killed_between_commit_and_response_gives_the_stored_one_back(
    server: Server,
) -> None:
    [crew] = begun(1, prompts=3, at=server)
    token, place = shown_to(crew)
    crew.headers[HEADER] = AFTER_COMMIT
    with pytest.raises(LOST):
        crew.answer(token, place)
    first = stored(token)
    assert first.state == PresentationState.ANSWERED

    crew.headers.clear()
    crew.answer(token, place)

    assert list(crew.acknowledged) == [token]
    assert stored(token).received_at == first.received_at
    assert faults([crew]) == []


def test_a_response_lost_on_the_way_is_given_to_the_next_try(
    server: Server,
) -> None:
    [crew] = begun(1, prompts=3, at=server)
    token, place = shown_to(crew)
    line = crew.send(token, place)
    until = time.monotonic() + PATIENCE_S
    while stored(token).state == PresentationState.OPEN and time.monotonic() < until:
        time.sleep(0.05)
    line.close()
    first = stored(token)

    crew.answer(token, place)

    assert list(crew.acknowledged) == [token]
    assert first.received_at == stored(token).received_at is not None
    assert faults([crew]) == []


def test_a_server_killed_again_and_again_under_load_loses_and_doubles_nothing(
    server: Server,
) -> None:
    crews = begun(UNDER_LOAD, prompts=60, at=server)
    stop = threading.Event()
    threads = [threading.Thread(target=answer_all, args=(crew, stop)) for crew in crews]
    for thread in threads:
        thread.start()
    for _ in range(KILLS):
        time.sleep(1.5)
        server.kill()
        server.start()
    time.sleep(1.0)
    stop.set()
    for thread in threads:
        thread.join()

    assert sum(len(crew.acknowledged) for crew in crews) >= UNDER_LOAD
    assert faults(crews) == []


def test_sixty_people_who_answer_in_the_same_second_are_all_stored_once(
    server: Server,
) -> None:
    crews = begun(AT_ONCE, prompts=2, at=server)
    asked = {crew.run: shown_to(crew) for crew in crews}

    timed(crews, lambda crew: crew.answer(*asked[crew.run]), within_s=0.0, presses=2)

    assert [crew.refused for crew in crews] == [[]] * AT_ONCE
    assert {len(crew.acknowledged) for crew in crews} == {1}
    assert faults(crews) == []
