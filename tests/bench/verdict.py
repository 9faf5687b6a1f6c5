"""What an answer costs, from its POST to the verdict and the next question, without the drawing.

`python -m tests.bench.verdict [--answers 60]`: processor time of one request through everything
that stands before a view, beside a bare Django view that does as many inserts into the same tables
in one transaction, behind Django's own middleware, turn by turn in the same run. Assessed is one
request (answer, next question); practice is two (verdict, then next question), each beside a bare
one with its own inserts. Its verdict draws the face where the thing is: that is left out, and then
said beside it. Both are before the first fit; then comes an assessed answer by a fit to the past of
60 simulated people. Ends with 1 when any takes more than five times as much.
"""

import argparse
import gc
import os
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from datetime import timedelta
from functools import partial
from io import StringIO
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING, Any
from unittest.mock import patch

import django

from tests.bench.service import PLACE, TOKEN, Crew, crews_of, database

if TYPE_CHECKING:
    from django.http import HttpRequest
    from django.test import Client

MOST_RATIO, WARM_UPS, DRAWN = 5.0, 8, 20
HTMX = {"HX-Request": "true"}
# What stands in a page's way, by the name its view calls it by.
PARTS = {
    "own_run": "the run, read",
    "answer_prompt": "the answer taken and judged, its evidence kept",
    "take_context": "what the page says",
    "go_on": "the next prompt served",
    "begin": "the next prompt served",
}
# What stands in the way of the next prompt, by the name that serving calls it by.
WITHIN = {"knowledge_of": "of that, what is known of the thing, or thought by the fit"}
FITTED = "assessed, with a fit"
CASES = {"assessed": "assessed", "practice": "practice", FITTED: "assessed"}
# Whose past the fit is made of, of about 16,000 answers.
PEOPLE, DAYS = 60, 150
DJANGOS_OWN = (
    "django.middleware.security.SecurityMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--answers", type=int, default=60)
    answers = parser.parse_args().answers
    with tempfile.TemporaryDirectory() as folder:
        own = f"sqlite:///{Path(folder) / 'bench.sqlite3'}"
        os.environ["DATABASE_URL"] = os.environ.get("DATABASE_URL") or own
        os.environ |= {"DJANGO_DEBUG": "1", "DJANGO_SETTINGS_MODULE": "readiness.settings"}
        django.setup()
        from django.conf import settings
        from django.core.management import call_command

        settings.DEBUG = False
        call_command("migrate", verbosity=0)
        sys.stdout.write(f"{database()}, {answers} answers of each, medians\n")
        ratios = [
            _measured(title, mode, answers, is_fitted=title == FITTED)
            for title, mode in CASES.items()
        ]
    return 0 if max(ratios) <= MOST_RATIO else 1


def _fit(crews: Sequence[Crew]) -> None:
    """Give people a past among others on the rig they are at, and fit the model to it."""
    from django.core.management import call_command
    from django.utils import timezone

    from drills.demo.factories import PersonFactory
    from drills.engine.simulated import Scenario, simulate_crews
    from drills.runs.models import Run
    from tests.bench.past import fill

    runs = list(Run.objects.filter(pk__in=[crew.run for crew in crews]).select_related("rig"))
    people = [run.person for run in runs if run.person]
    others = PersonFactory.create_batch(PEOPLE - len(people))
    log = simulate_crews(Scenario(people=PEOPLE, days=DAYS), seed=1).log
    began = timezone.now() - timedelta(days=DAYS + 1)
    if runs[0].rig is not None:
        fill(runs[0].rig, log, people + others, start=began)
    call_command("refit", stdout=StringIO(), stderr=StringIO())


def _measured(title: str, mode: str, answers: int, *, is_fitted: bool) -> float:
    """Print what answers in a mode cost and its parts; how many times the bare view's that is."""
    from django.db import connection
    from django.test import Client

    prompts = min(answers + WARM_UPS + DRAWN + 2, 120)
    unit = "fitted" if is_fitted else mode
    crew, other = crews = crews_of(2, 0, prompts=prompts, mode=mode, unit=unit)
    if is_fitted:
        _fit(crews)
    client = Client(SERVER_NAME="127.0.0.1")
    client.cookies["sessionid"] = crew.session
    run = f"/runs/{crew.run}/"
    client.post(f"{run}proceed/")
    parts: dict[str, list[float]] = defaultdict(list)
    took, floor, inserts = [], [], Inserts()
    bare: Callable[[int], Any] | None = None
    for number in range(answers + WARM_UPS):
        said = _said(client, run, number)
        gc.collect()
        with _timed(parts), _nothing_drawn(), connection.execute_wrapper(inserts):
            took.append(_send(client, run, mode, said, inserts))
        bare = bare or _bare(crew.run, other.run, crew.session)
        floor.append(sum(_seconds(partial(bare, each)) for each in inserts.taken()))
    ours, theirs = (median(each[WARM_UPS:]) * 1000 for each in (took, floor))
    sys.stdout.write(
        f"{title}: ours {ours:.1f} ms, bare with {inserts.each} inserts {theirs:.1f} ms: "
        f"ratio {ours / theirs:.1f} (held to {MOST_RATIO:g})\n"
    )
    drawn = [
        _send(client, run, mode, _said(client, run, number), inserts) for number in range(DRAWN)
    ]
    sys.stdout.write(f"  {median(drawn) * 1000:5.1f} ms  ours with what it draws\n")
    known = {
        words: 1000 * sum(parts[words]) / len(took)
        for words in dict.fromkeys((*PARTS.values(), *WITHIN.values()))
        if words in parts
    }
    own = sum(each for words, each in known.items() if words not in WITHIN.values())
    known["the rest: session, person, forms, template"] = ours - own
    sys.stdout.writelines(f"  {each:5.1f} ms  {words}\n" for words, each in known.items())
    return ours / theirs


class Inserts:
    """How many rows each request put in, while it is told of what is executed."""

    def __init__(self) -> None:
        self._requests: list[int] = []
        self._all: list[int] = []

    def next_request(self) -> None:
        self._requests.append(0)

    def __call__(self, execute: Callable[..., Any], sql: str, *given: Any) -> Any:
        self._requests[-1] += sql.startswith("INSERT")
        return execute(sql, *given)

    def taken(self) -> list[int]:
        """Those of each request since this was asked last."""
        found, self._requests = self._requests, []
        self._all.append(sum(found))
        return found

    @property
    def each(self) -> str:
        """How many an answer took."""
        return f"{min(self._all)} to {max(self._all)}"


def _said(client: "Client", run: str, number: int) -> dict[str, str]:
    """The open prompt, and one place to choose."""
    page = client.get(run).content.decode()
    places = PLACE.findall(page)
    return {"token": TOKEN.findall(page)[0], "place": places[number % len(places)]}


def _send(client: "Client", run: str, mode: str, said: dict[str, str], inserts: Inserts) -> float:
    """Answer as the page with scripts does, up to the next question: seconds."""
    inserts.next_request()
    took = _seconds(lambda: client.post(f"{run}answer/", said, headers=HTMX))
    if mode == "practice":
        inserts.next_request()
        took += _seconds(lambda: client.post(f"{run}proceed/", headers=HTMX))
    return took


def _seconds(act: Callable[[], Any]) -> float:
    began = time.process_time()
    response = act()
    took = time.process_time() - began
    if response.status_code != 200:
        raise ValueError(f"{response.status_code} came back.")
    return took


@contextmanager
def _timed(parts: dict[str, list[float]]) -> Iterator[None]:
    """Take the time of each part while the view runs."""
    from drills.runs.actions import serving
    from drills.runs.views import taking

    def timed(act: Callable[..., Any], words: str) -> Callable[..., Any]:
        def acted(*given: Any, **named: Any) -> Any:
            began = time.process_time()
            try:
                return act(*given, **named)
            finally:
                parts[words].append(time.process_time() - began)

        return acted

    with ExitStack() as stack:
        for room, named in ((taking, PARTS), (serving, WITHIN)):
            for name, words in named.items():
                stack.enter_context(patch.object(room, name, timed(getattr(room, name), words)))
        yield


@contextmanager
def _nothing_drawn() -> Iterator[None]:
    """Leave out the faces that a verdict draws."""
    from drills.runs import debriefing

    with patch.object(debriefing, "marked_faces", lambda *_, **__: ()):
        yield


def _bare(run: str, beside: str, session: str) -> Callable[[int], Any]:
    """A POST to a view that inserts so many rows: one presentation of the run beside, and evidence
    for the rest."""
    from django.db import transaction
    from django.http import HttpResponse
    from django.test import Client, override_settings
    from django.urls import path

    from drills.competency.models import Evidence
    from drills.runs.models import Presentation

    evidence, row = Evidence.objects.order_by("pk")[0], Presentation.objects.filter(run_id=run)[0]
    kept = {
        each: {field.attname: getattr(each, field.attname) for field in each._meta.concrete_fields}
        for each in (evidence, row)
    }
    kept[row] |= {"state": "void", "void_reason": "left", "run_id": beside}
    order, wanted = iter(range(10_000, 20_000)), 0

    def view(request: "HttpRequest") -> HttpResponse:
        with transaction.atomic():
            number = next(order)
            own = {"order": number, "token": f"{run[:8]} {number}", "id": None}
            Presentation.objects.create(**(kept[row] | own))
            for insert in range(wanted - 1):
                source = {"source": f"bare {run[:8]} {number} {insert}", "id": None}
                Evidence.objects.create(**(kept[evidence] | source))
        return HttpResponse(f"Taken, {request.user.pk}.")

    addresses = type("addresses", (), {"urlpatterns": [path("", view)]})
    client = Client(SERVER_NAME="127.0.0.1")
    client.cookies["sessionid"] = session
    with override_settings(ROOT_URLCONF=addresses, MIDDLEWARE=DJANGOS_OWN):
        client.handler.load_middleware()

    def post(inserts: int) -> Any:
        nonlocal wanted
        wanted = inserts
        with override_settings(ROOT_URLCONF=addresses):
            return client.post("/")

    return post


if __name__ == "__main__":
    sys.exit(main())
