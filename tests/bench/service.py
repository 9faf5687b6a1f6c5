"""A service under load: its own database, gunicorn as an operator runs it, and people who answer.

Whoever answers here does as a browser without scripts does: reads the page of the run, takes the
tokens out of it, and sends the form.
"""

import http.client
import os
import re
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlencode

import django

if TYPE_CHECKING:
    from drills.runs.models import Presentation

ROOT = Path(__file__).resolve().parents[2]
WORKERS = 3
PROMPTS, PATIENCE_S = 120, 60.0
TOKEN = re.compile(r'name="token" value="([^"]+)"')
CSRF = re.compile(r'name="csrfmiddlewaretoken" value="([^"]+)"')
PLACE = re.compile(r'name="place" value="([^"]+)"')


@dataclass
class Crew:
    """One person at a run: the session, and everything sent and acknowledged, place by token."""

    run: str
    session: str
    port: int
    csrf: str = ""
    sent: dict[str, str] = field(default_factory=dict)
    acknowledged: dict[str, str] = field(default_factory=dict)
    refused: list[int] = field(default_factory=list)
    headers: dict[str, str] = field(default_factory=dict)

    def get(self, path: str) -> tuple[int, str]:
        return self._ask("GET", path)

    def post(self, path: str, **body: str) -> int:
        data = {"csrfmiddlewaretoken": self.csrf, **body}
        return self._ask("POST", path, urlencode(data))[0]

    def begin(self) -> None:
        self.read()
        self.post(f"/runs/{self.run}/proceed/")

    def read(self) -> tuple[str, str] | None:
        """The token of the open prompt and one place to choose; nothing when the run is over."""
        status, page = self.get(f"/runs/{self.run}/")
        if status != 200:
            return None
        self.csrf = CSRF.findall(page)[0]
        token, places = TOKEN.findall(page), PLACE.findall(page)
        return (token[0], places[len(self.sent) % len(places)]) if token else None

    def answer(self, token: str, place: str) -> int:
        """Send an answer; the status, once it came."""
        self.sent[token] = place
        status = self.post(f"/runs/{self.run}/answer/", token=token, place=place)
        if status < 400:
            self.acknowledged[token] = place
        else:
            self.refused.append(status)
        return status

    def send(self, token: str, place: str) -> http.client.HTTPConnection:
        """Send an answer and read nothing of what comes back."""
        self.sent[token] = place
        data = {"csrfmiddlewaretoken": self.csrf, "token": token, "place": place}
        return self._request("POST", f"/runs/{self.run}/answer/", urlencode(data))

    def ready(self) -> tuple[str, str, bytes]:
        """An answer to the open prompt as a page with scripts sends it: its token, its place, and
        what goes over the wire."""
        asked = self.read()
        if asked is None:
            raise ValueError(f"{self.run} has no prompt open.")
        token, place = asked
        data = {"csrfmiddlewaretoken": self.csrf, "token": token, "place": place}
        body = urlencode(data)
        lines = (
            f"POST /runs/{self.run}/answer/ HTTP/1.1",
            f"Host: 127.0.0.1:{self.port}",
            f"Cookie: sessionid={self.session}; csrftoken={self.csrf_cookie}",
            "Content-Type: application/x-www-form-urlencoded",
            f"Content-Length: {len(body)}",
            *("HX-Request: true", "Connection: close", "", body),
        )
        return token, place, "\r\n".join(lines).encode()

    def deliver(self, token: str, place: str, ready: bytes) -> None:
        """Send an answer that is ready, and read all that comes back."""
        self.sent[token] = place
        with socket.create_connection(("127.0.0.1", self.port), PATIENCE_S) as line:
            line.sendall(ready)
            came = b"".join(iter(lambda: line.recv(65536), b""))
        status = int(came.split(b" ", 2)[1])
        if status < 400:
            self.acknowledged[token] = place
        else:
            self.refused.append(status)

    def _ask(self, method: str, path: str, body: str = "") -> tuple[int, str]:
        connection = self._request(method, path, body)
        try:
            response = connection.getresponse()
            return response.status, response.read().decode()
        finally:
            connection.close()

    def _request(self, method: str, path: str, body: str) -> http.client.HTTPConnection:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=PATIENCE_S)
        cookies = f"sessionid={self.session}; csrftoken={self.csrf_cookie}"
        headers = {"Cookie": cookies, "Content-Type": "application/x-www-form-urlencoded"}
        connection.request(method, path, body or None, headers | self.headers)
        return connection

    @property
    def csrf_cookie(self) -> str:
        """Any secret of the right form will do: the form's token is made from it."""
        return "c" * 32


class Server:
    """gunicorn on a port of its own, with every worker in one group to be killed at once."""

    def __init__(self, url: str, *, application: str = "readiness.wsgi") -> None:
        self._application = application
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port: int = free.getsockname()[1]
        self._environment = os.environ | {"DATABASE_URL": url, "DJANGO_DEBUG": "1"}
        self._process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        command = [
            *(sys.executable, "-m", "gunicorn", self._application, "--log-level", "error"),
            *("--bind", f"127.0.0.1:{self.port}", "--timeout", "120"),
            *("--workers", str(WORKERS)),
        ]
        self._process = subprocess.Popen(
            command, cwd=ROOT, env=self._environment, start_new_session=True
        )
        until = time.monotonic() + PATIENCE_S
        while not _answers(self.port):
            if time.monotonic() > until:
                raise TimeoutError(f"gunicorn does not answer on port {self.port}")
            time.sleep(0.05)

    def kill(self) -> None:
        """End the master and every worker where they stand, if they were not ended before."""
        if self._process is not None:
            os.killpg(self._process.pid, signal.SIGKILL)
            self._process.wait()
            self._process = None

    @property
    def group(self) -> int:
        """The number of the group that the master and its workers are."""
        return self._process.pid if self._process else 0


def processor_s(is_counted: Callable[[int, int], bool]) -> float:
    """Seconds of processor taken so far by the processes that are counted, asked for each by the
    number of its parent and of its group."""
    found = 0
    for each in Path("/proc").glob("[0-9]*/stat"):
        with suppress(OSError):
            said = each.read_text().rpartition(") ")[2].split()
            if is_counted(int(said[1]), int(said[2])):
                found += int(said[11]) + int(said[12])
    return found / os.sysconf("SC_CLK_TCK")


def database_process() -> int:
    """The process whose children answer for the database; none where it is a file."""
    from django.db import connection

    if connection.vendor == "sqlite":
        return 0
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_backend_pid()")
        backend = cursor.fetchone()[0]
    return int(Path(f"/proc/{backend}/stat").read_text().rpartition(") ")[2].split()[1])


@contextmanager
def service(people: int) -> Iterator[tuple[Server, list[Crew]]]:
    """A fresh database with so many people, each at a run of many prompts, and its server."""
    with tempfile.TemporaryDirectory() as folder:
        own = f"sqlite:///{Path(folder) / 'bench.sqlite3'}"
        url = os.environ["DATABASE_URL"] = os.environ.get("DATABASE_URL") or own
        os.environ |= {"DJANGO_DEBUG": "1", "DJANGO_SETTINGS_MODULE": "readiness.settings"}
        django.setup()
        from django.core.management import call_command

        server = Server(url)
        call_command("migrate", verbosity=0)
        crews = crews_of(people, server.port)
        server.start()
        try:
            yield server, crews
        finally:
            server.kill()


def database() -> str:
    """The database measured, and how it writes."""
    from django.db import connection

    ask = "PRAGMA {}" if connection.vendor == "sqlite" else "SHOW {}"
    names = {"sqlite": ("journal_mode", "synchronous")}.get(
        connection.vendor, ("fsync", "synchronous_commit")
    )
    told = []
    with connection.cursor() as cursor:
        for name in names:
            cursor.execute(ask.format(name))
            told.append(f"{name} {cursor.fetchone()[0]}")
    return f"{connection.vendor}, {', '.join(told)}"


def faults(crews: list[Crew]) -> list[str]:
    """What the database holds that should not be there, or lacks; asked once the load is over."""
    from drills.competency.models import Evidence
    from drills.runs.models import Presentation, PresentationState, Run

    sources = set(Evidence.objects.values_list("source", flat=True))
    found = []
    for crew in crews:
        run = Run.objects.select_related("drill__revision__layout").get(pk=crew.run)
        rows = list(Presentation.objects.filter(run=run).order_by("order"))
        answered = {each.token: each for each in rows if each.state == PresentationState.ANSWERED}
        found += [f"{crew.run}: refused with {status}" for status in crew.refused]
        found += [f"{crew.run}: {each}" for each in _of_answers(crew, answered, _codes(run))]
        if {f"answer {token}" for token in answered} - sources:
            found.append(f"{crew.run}: answers without evidence")
        if [each.order for each in rows] != list(range(1, len(rows) + 1)):
            found.append(f"{crew.run}: the order of its prompts has gaps or doubles")
        if sum(each.state == PresentationState.OPEN for each in rows) > 1:
            found.append(f"{crew.run}: several prompts are open")
    return found + _doubles()


def _of_answers(
    crew: Crew, answered: dict[str, "Presentation"], code_of: dict[str, str]
) -> Iterator[str]:
    """What was acknowledged and is not stored as sent, and what is stored and was never sent."""
    stored = {token: row.answer for token, row in answered.items()}
    for token, place in crew.acknowledged.items():
        if stored.get(token) != [code_of[place]]:
            yield f"acknowledged and not stored: {token}"
    for token, answer in stored.items():
        if answer != [code_of[crew.sent.get(token, "")]]:
            yield f"stored and never sent: {token}"


def _doubles() -> list[str]:
    """Rows that say the same twice."""
    from django.db.models import Count

    from drills.competency.models import Evidence
    from drills.runs.models import Presentation

    answers = Presentation.objects.filter(state="answered").values("run", "prompt")
    evidence = Evidence.objects.values("source", "fact")
    return [
        f"doubled: {row}"
        for rows in (answers, evidence)
        for row in rows.order_by().annotate(count=Count("pk")).filter(count__gt=1)
    ]


def _codes(run: object) -> dict[str, str]:
    """The place each token of a run stands for."""
    from drills.rigs.reading import layout_of
    from drills.runs.models import Run

    assert isinstance(run, Run)
    found = {run.token_for(code): code for code in layout_of(run.drill.revision).by_code}
    return found | {"": "nothing was sent"}


def crews_of(
    count: int, port: int, *, prompts: int = PROMPTS, mode: str = "assessed", unit: str = "bench"
) -> list[Crew]:
    """So many people on a rig, each before a run, with a tapping baseline so that no warm-up is
    asked."""
    from django.test import Client
    from django.utils import timezone

    from drills.demo.factories import PersonFactory, RecipeFactory, rig_on
    from drills.engine.workbook import read_workbook
    from drills.runs.actions import start_run
    from drills.runs.models import TappingBaseline

    layout = read_workbook(ROOT / "fixtures" / "layouts" / "mesa-box").layout
    if layout is None:
        raise ValueError("The layout of the bench cannot be read.")
    rig, now = rig_on(layout, unit=unit), timezone.now()
    recipe = RecipeFactory.create(slug=f"bench-{unit}", kinds=f"locate:{prompts}", mode=mode)
    crews = []
    for _ in range(count):
        person = PersonFactory.create()
        TappingBaseline.objects.create(person=person, seconds=1.0, measured_at=now)
        run = start_run(person, recipe=recipe, revision=rig.revision, rig=rig, now=now)
        browser = Client(SERVER_NAME="127.0.0.1")
        browser.force_login(person)
        crews.append(Crew(str(run.pk), browser.cookies["sessionid"].value, port))
    return crews


def _answers(port: int) -> bool:
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
    try:
        connection.request("GET", "/people/sign-in/")
        return connection.getresponse().status == 200
    except OSError:
        return False
    finally:
        connection.close()
