"""A kit at the open doors: an officer opens a sheet, watches, and closes it."""

import re
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.db import IntegrityError
from django.test import Client
from django.urls import reverse

from drills.competency.models import Evidence
from drills.demo.factories import PersonFactory, RecipeFactory
from drills.engine.observing import BROUGHT, HELPED, WRONG_THING, SheetError
from drills.people.models import AuditEntry, Person, Role
from drills.rigs.actions import report_absence
from drills.rigs.models import Rig
from drills.runs.actions import (
    Watched,
    close_sheet,
    leave_sheet,
    lines_of,
    open_sheet,
    start_watch,
    stop_watch,
)
from drills.runs.models import Sheet
from drills.runs.records import erase, record_of
from drills.scenarios.models import CallType, Drill, Mode
from drills.scenarios.reading import layout_asked
from tests.calls import bleeding_call
from tests.runs.conftest import NOW, SEED, ClientOf

pytestmark = pytest.mark.django_db

OPENED = {"service": "in", "told": "dispatch", "rig": "11", "call_type": ""}


@pytest.fixture
def call_type(rig: Rig) -> CallType:
    RecipeFactory.create(slug="kit-at-the-rig", kinds="stage:1", mode=Mode.ASSESSED)
    return bleeding_call(rig.revision)


@pytest.fixture
def sheet(hire: Person, fto: Person, rig: Rig, call_type: CallType) -> Sheet:
    """A sheet of the hire's that the FTO keeps: tourniquets and a splint, and gauze."""
    return opened(hire, fto, rig)


def opened(person: Person, officer: Person, rig: Rig, **other: Any) -> Sheet:
    given: dict[str, Any] = {"in_service": True, "told": "dispatch", "call_type": None}
    given |= {"now": NOW, "seed": SEED}
    return open_sheet(person, officer=officer, rig=rig, **given | other)


def numbers(sheet: Sheet) -> dict[str, int]:
    return {line.thing: number for number, line in enumerate(lines_of(sheet))}


def marked(sheet: Sheet, **said: str) -> Watched:
    known = numbers(sheet)
    seen = {known[thing.replace("_", " ")]: word for thing, word in said.items()}
    return Watched(seen=seen, claim=41.0)


def watched(sheet: Sheet, watched: Watched, *, after: float = 60.0) -> Sheet:
    start_watch(sheet, now=NOW)
    return stop_watch(sheet, watched, now=NOW + timedelta(seconds=after))


def closed(sheet: Sheet) -> Sheet:
    return close_sheet(sheet, back=range(len(lines_of(sheet))), now=NOW + timedelta(minutes=2))


ALL = {"tourniquet": BROUGHT, "splint": BROUGHT, "gauze_roll": BROUGHT}


def test_the_kit_is_of_a_call_and_stands_with_its_must_haves_first(sheet: Sheet) -> None:
    assert [(line.thing, line.is_must) for line in lines_of(sheet)] == [
        ("tourniquet", True),
        ("splint", True),
        ("gauze roll", False),
    ]


def test_who_opened_a_sheet_for_whom_is_in_the_audit(sheet: Sheet, fto: Person) -> None:
    entry = AuditEntry.objects.get(action="open hands-on")
    assert (entry.actor, entry.subject, entry.after) == (fto, "HIRE", {"rig": "11"})


def test_nobody_watches_themselves(fto: Person, rig: Rig, call_type: CallType) -> None:
    with pytest.raises(SheetError, match="nobody watches themselves"):
        opened(fto, fto, rig)
    assert not Sheet.objects.exists()


def test_not_in_the_database_either(sheet: Sheet, fto: Person) -> None:
    with pytest.raises(IntegrityError):
        Sheet.objects.filter(pk=sheet.pk).update(person=fto)


def test_who_left_brings_nothing(hire: Person, fto: Person, rig: Rig, call_type: CallType) -> None:
    hire.is_active = False
    with pytest.raises(SheetError, match="left the service"):
        opened(hire, fto, rig)


def test_somebody_is_told_of_it(hire: Person, fto: Person, rig: Rig, call_type: CallType) -> None:
    with pytest.raises(SheetError, match="Nobody came in as told"):
        opened(hire, fto, rig, told="  ")


def test_without_a_kit_on_this_rig_it_says_why(hire: Person, fto: Person, rig: Rig) -> None:
    with pytest.raises(SheetError, match="no recipe kit-at-the-rig"):
        opened(hire, fto, rig)
    RecipeFactory.create(slug="kit-at-the-rig", kinds="stage:1", mode=Mode.ASSESSED)
    with pytest.raises(SheetError, match="No kit can be asked for on Rig 11"):
        opened(hire, fto, rig)
    assert not Sheet.objects.exists()


def test_what_is_reported_missing_is_not_asked_for(
    hire: Person, fto: Person, rig: Rig, call_type: CallType
) -> None:
    report_absence(["I1A"], thing="gauze roll", rig=rig, revision=rig.revision, by=fto, now=NOW)
    assert "gauze roll" not in numbers(opened(hire, fto, rig))


def test_all_brought_is_right_and_the_officers_watch_counts(sheet: Sheet) -> None:
    watched(sheet, marked(sheet, **ALL))
    found = closed(sheet)
    assert (found.outcome, found.missed, found.seconds, found.watch) == (
        "right",
        [],
        41.0,
        "verified",
    )


def test_it_is_kept_as_hands_on_evidence_with_the_rig(sheet: Sheet, hire: Person, rig: Rig) -> None:
    watched(sheet, marked(sheet, tourniquet=BROUGHT, splint=HELPED, gauze_roll=WRONG_THING))
    assert not Evidence.objects.exists()
    closed(sheet)
    rows = {
        row.fact.skill or str(row.fact.item): (row.outcome, row.is_first, row.is_assisted)
        for row in Evidence.objects.select_related("fact__item")
    }
    assert rows == {
        "stage bleeding": ("partly", True, False),
        "Gauze roll": ("wrong", True, False),
        "Splint": ("partly", False, True),
    }
    shared = set(Evidence.objects.values_list("person", "rig", "modality", "is_simulated"))
    assert shared == {(hire.pk, rig.pk, "hands-on", False)}


def test_a_must_have_that_was_not_marked_is_missing(sheet: Sheet) -> None:
    watched(sheet, marked(sheet, tourniquet=BROUGHT))
    found = closed(sheet)
    assert (found.outcome, found.missed) == ("wrong", ["board-splints"])


def test_pressed_twice_is_pressed_once(sheet: Sheet) -> None:
    start_watch(sheet, now=NOW)
    assert start_watch(sheet, now=NOW + timedelta(seconds=9)).started_at == NOW
    first = stop_watch(sheet, marked(sheet, **ALL), now=NOW + timedelta(seconds=60))
    again = stop_watch(sheet, marked(sheet, **ALL), now=NOW + timedelta(seconds=90))
    assert again.stopped_at == first.stopped_at
    closed(sheet)
    before = list(Evidence.objects.values())
    assert closed(sheet).outcome == "right"
    assert list(Evidence.objects.values()) == before


@pytest.mark.parametrize("otherwise", [{"wrong_doors": 3}, {"comment": "Knelt in the road"}])
def test_stopped_again_with_other_doors_or_words_is_refused_as_well(
    sheet: Sheet, otherwise: dict[str, Any]
) -> None:
    """Wrong doors decide what a kit is marked, so that one sent later must not vanish unsaid."""
    watched(sheet, marked(sheet, **ALL))

    with pytest.raises(SheetError, match="what was marked then stands"):
        stop_watch(sheet, replace(marked(sheet, **ALL), **otherwise), now=NOW)

    sheet.refresh_from_db()
    assert (sheet.wrong_doors, sheet.comment) == (0, "")


def test_stopped_again_with_other_marks_is_refused_and_the_first_stand(sheet: Sheet) -> None:
    watched(sheet, marked(sheet, **ALL))
    with pytest.raises(SheetError, match="what was marked then stands"):
        stop_watch(sheet, marked(sheet, tourniquet=BROUGHT), now=NOW)
    sheet.refresh_from_db()
    assert len(sheet.seen) == len(ALL)


def test_a_start_that_never_arrived_is_worked_out_from_the_watch(sheet: Sheet) -> None:
    """Without signal the sheet is sent ten minutes later, all at once."""
    late = Watched(seen=marked(sheet, **ALL).seen, claim=41.0, ago=600.0)
    found = stop_watch(sheet, late, now=NOW + timedelta(seconds=700))
    assert found.stopped_at == NOW + timedelta(seconds=100)
    assert found.started_at == NOW + timedelta(seconds=59)
    assert found.seconds == 41.0


def test_a_start_that_is_sent_later_began_when_it_was_pressed(sheet: Sheet) -> None:
    later = NOW + timedelta(minutes=10)
    assert start_watch(sheet, now=later, ago=500.0).started_at == NOW + timedelta(seconds=100)
    late = Watched(seen=marked(sheet, **ALL).seen, claim=41.0, ago=459.0)
    found = stop_watch(sheet, late, now=later)
    assert (found.seconds, found.watch) == (41.0, "verified")


def test_nothing_began_before_its_sheet_was_opened(sheet: Sheet) -> None:
    assert start_watch(sheet, now=NOW + timedelta(seconds=5), ago=500.0).started_at == NOW


@pytest.mark.parametrize(
    ("seen", "told"),
    [({99: BROUGHT}, "Line 100 came in"), ({0: "dropped"}, "'dropped' came in for a line")],
)
def test_what_is_not_on_the_sheet_is_refused_whole(
    sheet: Sheet, seen: dict[int, str], told: str
) -> None:
    start_watch(sheet, now=NOW)
    with pytest.raises(SheetError, match=told):
        stop_watch(sheet, Watched(seen=seen), now=NOW)
    sheet.refresh_from_db()
    assert (sheet.state, sheet.seen) == ("running", {})


def test_closes_only_when_all_that_came_out_is_back(sheet: Sheet) -> None:
    watched(sheet, marked(sheet, tourniquet=BROUGHT, splint=WRONG_THING))
    known = numbers(sheet)
    with pytest.raises(SheetError, match="Not ticked as back in its place: Splint"):
        close_sheet(sheet, back=[known["tourniquet"]], now=NOW)
    sheet.refresh_from_db()
    assert sheet.is_open
    assert not Evidence.objects.exists()
    assert not close_sheet(sheet, back=[known["tourniquet"], known["splint"]], now=NOW).is_open


def test_called_away_counts_for_nothing_and_everything_is_put_back(sheet: Sheet) -> None:
    start_watch(sheet, now=NOW)
    leave_sheet(sheet, now=NOW)
    leave_sheet(sheet, now=NOW)
    with pytest.raises(SheetError, match="Tourniquet, Splint, Gauze roll"):
        close_sheet(sheet, back=[], now=NOW)
    with pytest.raises(SheetError, match="called away, and not closed"):
        stop_watch(Sheet.objects.get(pk=sheet.pk), Watched(seen={}), now=NOW)
    found = closed(sheet)
    assert (found.outcome, found.is_open) == ("", False)
    assert not Evidence.objects.exists()


def test_a_call_after_the_watch_was_stopped_takes_nothing_away(sheet: Sheet) -> None:
    watched(sheet, marked(sheet, tourniquet=BROUGHT, splint=BROUGHT))
    leave_sheet(sheet, now=NOW + timedelta(seconds=90))
    known = numbers(sheet)
    found = close_sheet(sheet, back=[known["tourniquet"], known["splint"]], now=NOW)
    assert found.outcome == "right"
    assert Evidence.objects.exists()


def test_who_was_erased_leaves_no_evidence(sheet: Sheet, hire: Person) -> None:
    watched(sheet, marked(sheet, **ALL))
    Sheet.objects.filter(pk=sheet.pk).update(person=None)
    assert closed(sheet).outcome == "right"
    assert not Evidence.objects.exists()


def page_of(sheet: Sheet) -> str:
    return reverse("runs:sheet", args=[sheet.pk])


def deed(client: Client, sheet: Sheet, deed: str, **given: Any) -> Any:
    return client.post(reverse("runs:deed", args=[sheet.pk]), {"deed": deed} | given)


@pytest.fixture
def officer(fto: Person, client_of: ClientOf) -> Client:
    return client_of(fto)


def test_a_sheet_is_kept_from_opening_to_closing_without_scripts(
    officer: Client, hire: Person, call_type: CallType
) -> None:
    made = officer.post(reverse("runs:hands_on"), OPENED | {"person": "HIRE"})
    sheet = Sheet.objects.get()
    assert made["Location"] == page_of(sheet)
    content = officer.get(page_of(sheet)).content.decode()
    assert "Read it out, then start." in content
    assert "Severe bleeding<span data-unkept>; told: dispatch</span>" in content
    assert "hurt at Tea Chest" in content
    deed(officer, sheet, "start")
    assert "0:00" not in officer.get(page_of(sheet)).content.decode()
    marks = {f"seen-{number}": BROUGHT for number in numbers(sheet).values()}
    deed(officer, sheet, "stop", comment="Calm.", wrong_doors="1", **marks)
    refused = deed(officer, sheet, "close")
    assert refused.status_code == 422
    assert "Not ticked as back in its place: Tourniquet" in refused.content.decode()
    done = officer.post(
        reverse("runs:deed", args=[sheet.pk]), {"deed": "close", "back": ["0 2", "1"]}, follow=True
    )
    content = done.content.decode()
    assert "Partly right" in content
    assert "1 wrong door opened." in content
    assert "Calm." in content
    assert "Timed by the server" in content
    assert Sheet.objects.get().is_open is False


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"person": "NOBODY"}, "Who is watched: Choose somebody of the list."),
        ({"person": ""}, "Who is watched: Choose one person."),
        ({"person": "FTO"}, "Who is watched: Choose somebody of the list."),
        ({"rig": "99"}, "At which rig: Choose a rig of the list. 99 came in."),
        ({"call_type": "x"}, "For which call: Choose a call of the list, or any."),
        ({"service": ""}, "The rig is: Say whether the rig is in service"),
        ({"told": " "}, "Who is told: Choose or write who knows"),
    ],
)
def test_a_form_that_is_wrong_says_what_and_keeps_the_rest(
    officer: Client, hire: Person, call_type: CallType, given: dict[str, str], told: str
) -> None:
    response = officer.post(reverse("runs:hands_on"), OPENED | {"person": "HIRE"} | given)
    assert response.status_code == 422
    assert told in response.content.decode()
    assert not Sheet.objects.exists()


def test_anybody_in_the_service_may_be_watched(
    officer: Client, outsider: Person, call_type: CallType
) -> None:
    officer.post(reverse("runs:hands_on"), OPENED | {"person": "OUTSIDER"})
    assert Sheet.objects.get().person == outsider


def test_its_person_reads_it_once_it_is_closed_and_not_before(
    sheet: Sheet, hire: Person, client_of: ClientOf
) -> None:
    own = client_of(hire)
    assert own.get(page_of(sheet)).status_code == 404
    assert deed(own, sheet, "start").status_code in (403, 404)
    watched(sheet, marked(sheet, **ALL))
    closed(sheet)
    content = own.get(page_of(sheet)).content.decode()
    assert "Right, 0:41" in content
    assert "The next person at this rig" not in content
    assert page_of(sheet) in own.get(reverse("boards:person", args=["HIRE"])).content.decode()


def test_another_officer_does_not_keep_it(
    sheet: Sheet, client_of: Callable[[Person], Client]
) -> None:
    other = client_of(PersonFactory.create(roles=[Role.FTO]))
    assert other.get(page_of(sheet)).status_code == 404
    assert deed(other, sheet, "start").status_code == 404


def test_the_last_three_of_the_person_stand_on_the_next_sheet(
    hire: Person, fto: Person, rig: Rig, officer: Client, sheet: Sheet
) -> None:
    watched(sheet, marked(sheet, tourniquet=BROUGHT))
    closed(sheet)
    later = opened(hire, fto, rig)
    Sheet.objects.filter(pk=later.pk).update(opened_at=NOW + timedelta(days=1))
    content = officer.get(page_of(later)).content.decode()
    assert "Seen of them last" in content
    assert "1 must-have missing" in content


@pytest.mark.parametrize(
    ("given", "kept"),
    [
        ({"wrong_doors": "three"}, 0),
        ({"wrong_doors": "-1"}, 0),
        ({"wrong_doors": "500"}, 99),
        ({"wrong_doors": "2", "elapsed": "soon", "ago": "nan", "at-0": "x", "seen-x": "y"}, 2),
    ],
)
def test_what_is_no_number_is_left_out(
    officer: Client, sheet: Sheet, given: dict[str, str], kept: int
) -> None:
    deed(officer, sheet, "start")
    deed(officer, sheet, "stop", **given)
    sheet.refresh_from_db()
    assert (sheet.state, sheet.wrong_doors, sheet.at) == ("stopped", kept, {})


def test_no_deed_is_refused(officer: Client, sheet: Sheet) -> None:
    response = deed(officer, sheet, "dance")
    assert response.status_code == 422
    assert "start, stop, away, close are accepted" in response.content.decode()


def test_what_was_seen_is_given_out_and_erased_with_its_person(
    sheet: Sheet, hire: Person, fto: Person
) -> None:
    watched(sheet, marked(sheet, tourniquet=BROUGHT))
    closed(sheet)
    (told,) = record_of(hire)["seen at the rig"]
    assert (told["outcome"], told["missed"]) == ("wrong", ["board-splints"])
    assert told["lines"] == {"Tourniquet": "brought", "Splint": "", "Gauze roll": ""}
    assert record_of(fto)["watched at the rig"] == 1
    drill = sheet.drill_id
    went, *_ = erase(hire, now=NOW)
    assert went["sheets of what was seen at the rig"] == 1
    assert not Drill.objects.filter(pk=drill).exists()
    assert erase(fto, now=NOW)[1]["sheets they kept of others"] == 0


def test_where_a_thing_behind_a_lock_is_stays_off_phones(
    client_of: ClientOf, fto: Person, sheet: Sheet, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is marked so is taken out of the page before a browser keeps it."""
    lines = [replace(line, is_locked=True) for line in lines_of(sheet)]
    monkeypatch.setattr("drills.runs.sheets.lines_of", lambda _sheet: tuple(lines))
    start_watch(sheet, now=NOW)

    content = client_of(fto).get(reverse("runs:sheet", args=[sheet.pk])).content.decode()

    kept = re.sub(r"<(\w+)[^>]* data-unkept.*?</\1>", "", content, flags=re.S)
    layout = layout_asked(sheet.drill)
    for line in lines:
        assert f"{line.quantity} × {line.name}" in kept
        assert layout.path(line.places[0]) in content
        inside = layout.by_code[line.places[0]].name
        assert (
            inside not in kept
            or inside == layout.by_code[layout.chain(line.places[0])[0].code].name
        )


def test_a_thing_behind_a_lock_was_named_and_not_brought(
    client_of: ClientOf, fto: Person, sheet: Sheet, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its place is on the page of who may know it, and on no paper."""
    first, *rest = lines_of(sheet)
    lines = (replace(first, is_locked=True), *rest)
    monkeypatch.setattr("drills.runs.sheets.lines_of", lambda _sheet: lines)
    address = reverse("runs:sheet", args=[sheet.pk])
    start_watch(sheet, now=NOW)
    running = client_of(fto).get(address).content.decode()
    assert running.count("Locked: point and name.") == 1
    assert re.findall(r'value="brought"[^>]*><svg.*?</svg>\s*(\w+)', running, re.S)[:2] == [
        "Named",
        "Brought",
    ]
    seen = dict.fromkeys(range(len(lines)), BROUGHT)
    close_sheet(stop_watch(sheet, Watched(seen=seen), now=NOW), back=range(len(lines)), now=NOW)

    closed = client_of(fto).get(address).content.decode()

    where = layout_asked(sheet.drill).path(first.places[0])
    assert f'<small class="cap behind-lock"><span>{where}</span></small>' in closed
    assert closed.count("Locked: asked for by name, pointed at, not taken out") == 1
    assert closed.count("<span>Named<") == 1


def test_the_page_for_no_signal_knows_nobody(
    client: Client, client_of: ClientOf, fto: Person
) -> None:
    address = reverse("runs:no_signal")
    page, worker = client.get(address), client.get(reverse("runs:without_signal"))

    assert page.content == client_of(fto).get(address).content
    assert not page.cookies
    assert page["Content-Security-Policy"]
    assert worker["Content-Type"].startswith("text/javascript")
    assert worker.content == Path("drills/static/drills/without-signal.js").read_bytes()


def test_who_is_told_is_chosen_from_those_of_late_or_written(
    client_of: ClientOf, hire: Person, fto: Person, rig: Rig, call_type: CallType
) -> None:
    officer, address = client_of(fto), reverse("runs:hands_on")
    opened(hire, fto, rig, told="Lee on the desk")
    content = officer.get(address).content.decode()
    for told in ("Lee on the desk", "Dispatch", "Shift lead"):
        assert content.count(f'name="said" value="{told}"') == 1

    form = OPENED | {"person": hire.employee_number, "told": ""}
    assert officer.post(address, form).status_code == 422
    officer.post(address, form | {"said": "Shift lead"})
    officer.post(address, form | {"said": "Shift lead", "told": "Medic 4"})
    newest = Sheet.objects.order_by("pk").values_list("told", flat=True)
    assert sorted(newest) == ["Lee on the desk", "Medic 4", "Shift lead"]


def test_what_lies_in_several_places_goes_back_to_any_of_them(
    client_of: ClientOf, fto: Person, sheet: Sheet
) -> None:
    watched(sheet, marked(sheet, **ALL))
    layout = layout_asked(sheet.drill)
    (line,) = [each for each in lines_of(sheet) if len(each.places) > 1]

    content = client_of(fto).get(reverse("runs:sheet", args=[sheet.pk])).content.decode()

    others = "; ".join(layout.path(code) for code in line.places[1:])
    assert f"Taken elsewhere, it goes back there: {others}" in content
