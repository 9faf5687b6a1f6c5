"""Who may open what: one table of addresses, objects and people, tried cell by cell.

The words of the table: `ok` (what was asked for, or sent on to it), `sign-in` (sent to sign in),
`refused` (403), `closed` (403 with the way back to the open prompt), `none` (404), `invalid` (422),
`wrong-method` (405). Whatever is not ok leaves every row of ours as it was. `takes` are the methods
an address takes; `while_assessed` is what the hire gets, given every role, while an assessed prompt
of theirs is open: ASSESSED is the run of that prompt.
"""

import csv
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from urllib.parse import parse_qsl

import pytest
from django.apps import apps
from django.conf import settings
from django.db import transaction
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils import timezone

from drills.demo.factories import PairingFactory, PersonFactory, RecipeFactory, rig_on
from drills.engine.scoring import WRONG
from drills.formulary.models import FormularyRevision
from drills.people.models import Person, Role, RoleGrant, SignInTry
from drills.rigs.actions import import_layout, make_labels, report_absence, tell_difference
from drills.rigs.models import Need, Place, PlacePhoto, RequiredList, RequiredRow, Rig, ScanTally
from drills.rigs.reading import forget_kept
from drills.runs.access import forget_drills
from drills.runs.actions import (
    Watched,
    assign,
    assign_series,
    close_sheet,
    leave_sheet,
    open_sheet,
    start_run,
    stop_watch,
)
from drills.runs.models import (
    Assignment,
    Contest,
    Phase,
    PhaseItem,
    Presentation,
    PresentationState,
    Run,
    RunState,
    Series,
    SheetContest,
    SignOff,
)
from drills.scenarios.models import Mode, Recipe
from tests.calls import bleeding_call
from tests.cast import (
    make_admin,
    make_educator,
    make_fto,
    make_hire,
    make_keeper,
    make_outsider,
)
from tests.formulary.conftest import make_rule
from tests.layouts import practice_rig
from tests.runs.conftest import NOW, SEED
from tests.runs.player import Player

_FILE = Path(__file__).parent / "data" / "access.csv"
TABLE = list(csv.DictReader(_FILE.read_text().splitlines()))
# The peer is of the hire's cohort, and the officer an FTO who is paired with the outsider alone.
PEOPLE = (
    *("stranger", "outsider", "peer", "hire", "fto", "officer"),
    *("educator", "keeper", "director", "admin"),
)
CELLS = [(row, who) for row in TABLE for who in PEOPLE]
READ = [row for row in TABLE if row["method"] == "GET"]
METHODS = ("GET", "POST", "PUT", "PATCH", "DELETE")
WORDS = {403: "refused", 404: "none", 405: "wrong-method", 422: "invalid"}
CLOSED = b"Closed for now"


@dataclass(frozen=True, slots=True)
class World:
    """One of each thing that an address names, by the word of the table; the hire, whose they are
    where they are anybody's; each person's session; and every row there is."""

    objects: dict[str, str]
    hire: Person
    sessions: dict[str, str]
    contents: dict[str, list[dict[str, Any]]]


@pytest.fixture(scope="module")
def world(django_db_setup: None, django_db_blocker: Any) -> Iterator[World]:
    """Made once, since every cell is about the same; what a cell does is taken back after it."""
    with django_db_blocker.unblock(), taken_back():
        forget_kept()
        forget_drills()
        people = _people()
        objects = _objects(people["hire"], people["keeper"], people["outsider"])
        objects |= _sheets(people["hire"], people["fto"])
        sessions = {who: _session(person) for who, person in people.items()}
        yield World(objects, people["hire"], sessions, contents())


@pytest.fixture
def db(world: World) -> Iterator[None]:
    """In place of a database of its own: the world, in which what a test does is taken back."""
    with taken_back():
        yield


@contextmanager
def taken_back() -> Iterator[None]:
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


@pytest.fixture
def objects(world: World, db: None) -> dict[str, str]:
    """One of each thing that an address names."""
    return world.objects


@pytest.fixture
def client_of(world: World, db: None) -> Callable[[str], Client]:
    """A browser of its own in which a person of the table is signed in; the stranger is not."""

    def client(who: str) -> Client:
        browser = Client()
        if who != "stranger":
            browser.cookies[settings.SESSION_COOKIE_NAME] = world.sessions[who]
        return browser

    return client


def _people() -> dict[str, Person]:
    hire, outsider = make_hire(), make_outsider()
    officer = PersonFactory.create(employee_number="OFFICER", roles=[Role.FTO])
    PairingFactory.create(fto=officer, crew=outsider)
    return {
        "outsider": outsider,
        "peer": PersonFactory.create(employee_number="PEER", cohorts=hire.cohorts.all()),
        "hire": hire,
        "fto": make_fto(trainee=hire),
        "officer": officer,
        "educator": make_educator(),
        "keeper": make_keeper(),
        "director": PersonFactory.create(employee_number="DIRECTOR", roles=[Role.DIRECTOR]),
        "admin": make_admin(),
    }


def _session(person: Person) -> str:
    client = Client()
    client.force_login(person)
    return client.cookies[settings.SESSION_COOKIE_NAME].value


def _objects(hire: Person, keeper: Person, outsider: Person) -> dict[str, str]:
    """One of each thing that an address names, all of them the hire's where they are anybody's."""
    rig = rig_on(practice_rig(), unit="11")
    recipe = RecipeFactory.create(slug="find-five", kinds="locate:5")
    check = RecipeFactory.create(slug="check-five", kinds="locate:5", mode=Mode.ASSESSED)
    run, finished, assessed = (_run(hire, rig, each) for each in (recipe, recipe, check))
    checked = _run(hire, rig, check)
    over = Run.objects.filter(pk__in=[finished.pk, checked.pk])
    over.update(state=RunState.FINISHED, finished_at=NOW)
    (absence,) = report_absence(
        ["I1A"], thing="gauze roll", rig=rig, revision=rig.revision, by=hire, now=NOW
    )
    told = tell_difference(rig, thing="splint", place="", here="S1", by=keeper, now=NOW)
    draft = replace(practice_rig(), notes="a draft")
    import_layout(draft, by=keeper, now=NOW, publish=False)
    county = RequiredList.objects.create(slug="county", name="County", loaded_at=NOW)
    RequiredRow.objects.create(of=county, order=2, source="Plan 7", item="Splint")
    given, others = (_assign(recipe, each, by=keeper) for each in (hire, outsider))
    week, others_week = _weeks(hire, outsider, by=keeper)
    make_rule(FormularyRevision.objects.create(number=7))
    bleeding_call(rig.revision)
    Need.objects.create(key="own-thing", name_us="Thing", name_intl="Thing", category="airway")
    place = rig.layout.places.order_by("key").first()
    assert place is not None
    photo = PlacePhoto.objects.create(
        place=place, token="a-token", image=b"x", width=1, height=1, alt="A door", uploaded_at=NOW
    )
    (label,) = make_labels(rig, [Place.objects.get(key="S1")], by=keeper, now=NOW)
    named = {
        "OTHER_RUN": _run(outsider, rig, recipe),
        "CONTEST": _contest(finished),
        "ASSIGNMENT": given,
        "OTHERS": others,
        "SERIES": week,
        "OTHERS_SERIES": others_week,
        "RUN": run,
        "FINISHED": finished,
        "CHECKED": checked,
        "ASSESSED": assessed,
        "ABSENCE": absence,
        "DIFFERENCE": told,
    }
    return {name: str(each.pk) for name, each in named.items()} | {
        "PHOTO": photo.token,
        "PLACE": str(place.pk),
        "LABEL": label.token,
    }


def _sheets(hire: Person, fto: Person) -> dict[str, str]:
    """Three sheets of the hire's that the FTO keeps, one open, two closed; a sign-off, a phase."""
    RecipeFactory.create(slug="kit-at-the-rig", kinds="stage:1", mode=Mode.ASSESSED)
    rig = Rig.objects.get(unit="11")
    kept, closed, stopped = (
        open_sheet(
            hire, officer=fto, rig=rig, call_type=None, in_service=True, told="dispatch", now=NOW
        )
        for _ in range(3)
    )
    leave_sheet(closed, now=NOW)
    close_sheet(closed, back=range(9), now=NOW)
    phase = Phase.objects.create(number=1, name="Looking on")
    PhaseItem.objects.create(pk=900, phase=phase, order=1, words="Says the radio check")
    signed = SignOff.objects.create(
        person=hire,
        officer=fto,
        revision=closed.drill.revision,
        categories=["airway"],
        seen_at=NOW,
        signed_at=NOW,
    )
    stop_watch(stopped, Watched(seen={}, claim=1.0), now=NOW + timedelta(seconds=9))
    close_sheet(stopped, back=[], now=NOW)
    written = SheetContest.objects.create(sheet=stopped, part="time", because="No", made_at=NOW)
    named = {"SHEET": kept, "CLOSED_SHEET": closed, "SIGNED": signed, "WRITTEN": written}
    return {name: str(each.pk) for name, each in named.items()}


def _run(person: Person, rig: Rig, recipe: Any) -> Run:
    return start_run(person, recipe=recipe, revision=rig.revision, rig=rig, now=NOW, seed=SEED)


def _contest(run: Run) -> Contest:
    presentation = Presentation.objects.create(
        run=run,
        prompt=run.drill.prompts.first(),
        order=1,
        state=PresentationState.ANSWERED,
        outcome=WRONG,
        marks=0,
        served_at=NOW,
        received_at=NOW,
    )
    return Contest.objects.create(presentation=presentation, because="It is there", made_at=NOW)


def _assign(recipe: Recipe, to: Person, *, by: Person) -> Assignment:
    return assign(
        recipe,
        to=[to],
        due_on=date(2099, 1, 1),
        standard=recipe.standard,
        minutes=3,
        by=by,
        now=timezone.now(),
    )


def _weeks(*people: Person, by: Person) -> list[Series]:
    """A week of one day, to each."""
    day = RecipeFactory.create(slug="day", kinds="locate:5", series="new-rig-week", step=1)
    due, now = date(2099, 1, 1), timezone.now()
    return [assign_series([day], to=[each], first_due=due, by=by, now=now) for each in people]


@pytest.fixture
def examined(world: World, client_of: Callable[[str], Client]) -> Client:
    """The hire with every role, so that no page is shut for want of one, and an assessed prompt
    of theirs is open."""
    hire = world.hire
    kept = RoleGrant.objects.filter(person=hire).values_list("role", flat=True)
    RoleGrant.objects.bulk_create(
        RoleGrant(person=hire, role=role) for role in set(Role.values) - set(kept)
    )
    Player(Run.objects.get(pk=world.objects["ASSESSED"]), now=timezone.now()).past_warm_ups()
    return client_of("hire")


def name_of(row: dict[str, str], who: str = "") -> str:
    return "-".join(filter(None, (who, row["method"], row["address"], row["arguments"])))


by_row = pytest.mark.parametrize("row", TABLE, ids=map(name_of, TABLE))


@pytest.mark.parametrize(("row", "who"), CELLS, ids=[name_of(row, who) for row, who in CELLS])
def test_each_may_open_what_the_table_says(
    row: dict[str, str], who: str, world: World, client_of: Callable[[str], Client]
) -> None:
    assert_outcome(client_of(who), row, world, expected=row[who])


@by_row
def test_what_could_tell_an_answer_is_closed_while_one_is_asked(
    row: dict[str, str], world: World, examined: Client
) -> None:
    """The roles and the prompt that are open belong to what was there before."""
    before = contents()
    assert_outcome(examined, row, replace(world, contents=before), expected=row["while_assessed"])


@by_row
def test_an_address_takes_the_methods_of_the_table_alone(
    row: dict[str, str], objects: dict[str, str], client_of: Callable[[str], Client]
) -> None:
    taken = row["takes"].split("+")
    for method in METHODS:
        with taken_back():
            response = client_of("admin").generic(method, address(row, objects))

        assert (response.status_code == 405) is (method not in taken), method


@pytest.mark.parametrize("who", ["hire", "admin"])
@pytest.mark.parametrize("row", READ, ids=map(name_of, READ))
def test_reading_changes_nothing(
    row: dict[str, str], who: str, world: World, client_of: Callable[[str], Client]
) -> None:
    send(client_of(who), row, world.objects)

    assert contents() == world.contents


@pytest.mark.parametrize("who", ["stranger", "hire"])
@by_row
def test_no_browser_keeps_what_it_is_sent(
    row: dict[str, str], who: str, objects: dict[str, str], client_of: Callable[[str], Client]
) -> None:
    """Neither a page nor a refusal; and a fragment never stands for a page."""
    response = send(client_of(who), row, objects)

    kept = {each.strip() for each in response["Cache-Control"].split(",")}
    assert {"no-store", "private"} <= kept
    assert "HX-Request" in response["Vary"]


def test_the_table_is_large_enough_to_be_believed(
    record_property: Callable[[str, object], None],
) -> None:
    """One outcome a cell, nothing changed where it is not ok, each method of each row, and what is
    closed: counted as they are asserted."""
    kept = sum(row[who] != "ok" for row, who in CELLS)
    asserted = len(CELLS) + kept + len(TABLE) * (len(METHODS) + 1)

    record_property("told", f"Who may open what: {len(TABLE)} rows, {asserted} assertions.")
    assert asserted >= 1_500


def test_each_method_that_an_address_takes_has_its_row() -> None:
    tried: dict[str, set[str]] = {}
    for row in TABLE:
        tried.setdefault(row["address"], set()).add(row["method"])

    assert {(row["address"], row["takes"]) for row in TABLE} == {
        (address, "+".join(sorted(methods))) for address, methods in tried.items()
    }


def test_the_table_has_every_address() -> None:
    assert {row["address"] for row in TABLE} == set(named(get_resolver().url_patterns))


def assert_outcome(client: Client, row: dict[str, str], world: World, *, expected: str) -> None:
    response = send(client, row, world.objects)

    assert outcome(response) == expected
    if expected != "ok":
        assert contents() == world.contents


def address(row: dict[str, str], objects: dict[str, str]) -> str:
    given = dict(pair.split("=") for pair in row["arguments"].split())
    return reverse(row["address"], kwargs={k: objects.get(v, v) for k, v in given.items()})


def send(client: Client, row: dict[str, str], objects: dict[str, str]) -> Any:
    url = address(row, objects)
    if row["method"] == "GET":
        return client.get(url)
    return client.post(url, dict(parse_qsl(row["posted"])))


def outcome(response: Any) -> str:
    """In the words of the table; a status that has none is given as it is."""
    status = response.status_code
    if 200 <= status < 300:
        return "ok"
    if 300 <= status < 400:
        return "sign-in" if _must_sign_in(response) else "ok"
    if status == 403 and CLOSED in response.content:
        return "closed" if reverse("boards:drills").encode() in response.content else "403"
    return WORDS.get(status, str(status))


def _must_sign_in(response: Any) -> bool:
    """Whether a person is sent away to sign in; one who signs out ends there as well."""
    sign_in, asked = reverse("people:sign_in"), response.wsgi_request.path
    has_signed_out = asked == reverse("people:sign_out") and response["Location"] == sign_in
    return response["Location"].startswith(sign_in) and not has_signed_out


def contents() -> dict[str, list[dict[str, Any]]]:
    """Every value in every table of ours, the tables between two of them as well.

    How often signing in failed and how often labels were scanned is left out: a refusal is just
    what is counted.
    """
    return {
        model._meta.label: list(model._base_manager.order_by("pk").values())
        for model in apps.get_models(include_auto_created=True)
        if model.__module__.startswith("drills.") and model not in (SignInTry, ScanTally)
    }


def named(patterns: list[Any], space: str = "") -> Iterator[str]:
    for each in patterns:
        if isinstance(each, URLResolver):
            yield from named(each.url_patterns, f"{each.namespace}:" if each.namespace else space)
        elif isinstance(each, URLPattern) and each.name:
            yield f"{space}{each.name}"
