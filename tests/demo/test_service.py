"""The demonstration service, made by its own commands."""

import re
from collections.abc import Iterator
from datetime import timedelta
from html import unescape
from io import StringIO
from typing import Any

import pytest
from django.core.management import call_command
from django.db import transaction
from django.test import Client, override_settings
from django.utils import timezone

from drills.boards.known import known_board, musts_numbered
from drills.boards.person_records import erase_person, record_of
from drills.competency.models import Evidence
from drills.demo.management.commands.play_demo import PLAYED, SEED
from drills.demo.service import BOX_UNITS, SIGN_INS, VAN_UNITS
from drills.demo.share import experienced, told_share
from drills.engine.signing import DRILL_DUE, LAPSED, SIGNED, WITHDRAWN
from drills.formulary.models import FormularyRevision
from drills.formulary.reports import revision_in_force, rules_in_force
from drills.people.access import paired_with
from drills.people.models import Person, Role
from drills.rigs.models import Absence, Layout, Rig, RigDifference
from drills.rigs.own import layout_on
from drills.rigs.reports import todays_rig
from drills.runs.models import Presentation, Run, SignOff, TappingBaseline
from drills.runs.signed import lapsing_of, rows_of
from drills.scenarios.models import Drill, DrillPrompt
from tests.boards.test_educator import words
from tests.layouts import FIXTURES

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def made(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    """The service as `make demo` has it, made once; what a test changes is taken back after it."""
    demo = override_settings(READINESS_DEMO=True)
    with django_db_blocker.unblock(), transaction.atomic(), demo:
        call_command("loaddata", *sorted(FIXTURES.glob("*.json")), verbosity=0)
        call_command("seed_demo", stdout=StringIO())
        yield
        transaction.set_rollback(True)


@pytest.fixture
def seeded(made: None, db: None) -> None:
    """The service, its formulary open for drills."""


def sign_ins() -> dict[str, str]:
    """Passwords by employee number, as printed."""
    out = StringIO()
    call_command("demo_sign_ins", stdout=out)
    return dict(re.findall(r"(SB\d+)\s+([a-z-]+)", out.getvalue()))


def counts() -> dict[str, int]:
    """Rows of everything a drill leaves behind."""
    kept = (Run, Presentation, Evidence, Drill, DrillPrompt, TappingBaseline)
    return {model.__name__: model.objects.count() for model in kept}


def played() -> tuple[int, list[str]]:
    """Seed and prompts of the newest drill."""
    drill = Run.objects.latest("started_at").drill
    return drill.seed, list(drill.prompts.values_list("subject", flat=True))


def test_has_the_people_and_rigs_it_should(seeded: None) -> None:
    roles = [person.roles for person in Person.objects.all()]
    assert sum(Role.FTO in held for held in roles) == 4
    assert sum(held == {Role.CREW} for held in roles) == 36
    assert sum(Role.EDUCATOR in held for held in roles) == 1
    assert Rig.objects.count() == len(BOX_UNITS) + len(VAN_UNITS) == 14
    assert Layout.objects.get(slug="mesa-box").published.number == 2  # type: ignore[union-attr]  # it is published
    assert Person.objects.get(employee_number=SIGN_INS[0].employee_number).certification.key == (  # type: ignore[union-attr]  # it has one
        "paramedic"
    )


def test_its_history_is_marked_simulated(seeded: None) -> None:
    assert Evidence.objects.count() > 100
    assert not Evidence.objects.filter(is_simulated=False).exists()
    assert not Run.objects.filter(is_simulated=False).exists()


def test_sign_offs_stand_in_every_way_and_the_hire_is_in_a_phase(seeded: None) -> None:
    officer = Person.objects.get(employee_number=SIGN_INS[1].employee_number)
    hire = Person.objects.get(employee_number=SIGN_INS[0].employee_number)
    people, now = paired_with(officer, now=timezone.now()), timezone.now()

    states = {row.standing.state for rows in rows_of(people, now=now).values() for row in rows}

    assert states == {SIGNED, DRILL_DUE, LAPSED, WITHDRAWN}
    assert len({each.person for each in lapsing_of(people, now=now)}) == 3
    assert not SignOff.objects.filter(is_simulated=False).exists()
    assert hire.phase_spells.get(ended_on=None).phase.number == 2
    assert not hire.daily_notes.filter(is_simulated=False).exists()
    assert {note.phase.number for note in hire.daily_notes.all() if note.phase} == {1, 2}


def test_has_a_report_of_each_fate_and_a_rig_that_differs(seeded: None) -> None:
    hire = Person.objects.get(employee_number="SB0001")

    assert sorted(Absence.objects.values_list("answer", flat=True)) == ["", "differs", "put back"]
    (own,) = RigDifference.objects.all()
    assert layout_on(own.rig).things["throw bag"].places == ("S3",)
    assert [each.answer for each in Absence.objects.filter(reported_by=hire)] == ["put back"]


def test_a_revision_waits_for_the_director_and_shows_what_it_changes(seeded: None) -> None:
    """And drills go on from what is in force."""
    (waiting,) = FormularyRevision.objects.filter(state="submitted")
    client = Client()
    client.force_login(Person.objects.get(employee_number="SB0043"))

    today = client.get("/formulary/").content.decode()
    page = client.get(f"/formulary/revisions/{waiting.number}/").content.decode()

    assert f'href="/formulary/revisions/{waiting.number}/"' in today
    assert "maximum: was 2 g, becomes <b>1 g</b>" in page
    assert "magnesium-sulfate: was" in page
    assert "<b>1</b> changed" in page
    assert "Demonstration only. Not for patient care." in page
    in_force = revision_in_force(timezone.now())
    assert in_force is not None
    assert in_force.is_demo


def test_what_waits_was_written_from_what_was_there_before_it(seeded: None) -> None:
    """No source of a rule is younger than the day its revision was handed in."""
    (waiting,) = FormularyRevision.objects.filter(state="submitted")
    assert waiting.submitted_at is not None
    dated = {rule.code: rule.date for rule in waiting.rules.all() if rule.date}
    assert "D023" in dated
    assert max(dated.values()) < waiting.submitted_at.date()


def test_what_waits_can_be_approved_and_keeps_its_notice(seeded: None) -> None:
    (waiting,) = FormularyRevision.objects.filter(state="submitted")
    client = Client()
    client.force_login(Person.objects.get(employee_number="SB0043"))

    page = client.get(f"/formulary/revisions/{waiting.number}/").content.decode()
    client.post(
        f"/formulary/revisions/{waiting.number}/approve/",
        {
            "document": "Protocols, edition 4",
            "contradictions": "0",
            "meant": [unescape(each) for each in re.findall(r'name="meant" value="(.*?)"', page)],
        },
    )

    in_force = rules_in_force(timezone.now())
    assert in_force.number == waiting.number
    assert in_force.notice == "Demonstration only. Not for patient care."
    assert in_force.rules
    assert {rule.notice for rule in in_force.rules} == {in_force.notice}


def test_can_be_made_again_without_doubling(seeded: None) -> None:
    before = (Person.objects.count(), Run.objects.count(), Rig.objects.count())

    call_command("seed_demo", stdout=StringIO())

    assert (Person.objects.count(), Run.objects.count(), Rig.objects.count()) == before


def test_prints_passwords_that_are_new_each_time(seeded: None) -> None:
    first, second = sign_ins(), sign_ins()

    assert set(first) == {each.employee_number for each in SIGN_INS}
    assert not set(first.values()) & set(second.values())
    assert Client().login(username="SB0001", password=second["SB0001"])
    assert not Client().login(username="SB0001", password=first["SB0001"])


def test_plays_a_drill_through_the_real_actions(seeded: None) -> None:
    runs, out = Run.objects.count(), StringIO()

    call_command("play_demo", stdout=out)

    told = out.getvalue()
    assert Run.objects.count() == runs + 1
    assert told.count("Where is it?") >= 3
    assert told.count("What do you bring") >= 2
    assert told.count("What volume do you give?") >= 1
    assert "Demonstration only. Not for patient care." in told
    assert "check every dose with your partner" in told
    ((right, partly, wrong),) = re.findall(r"Debrief: (\d+) right, (\d+) partly right, (\d+)", told)
    run = Run.objects.get(drill__recipe__slug=PLAYED, drill__seed=SEED)
    first = run.presentations.filter(is_retry=False, prompt__isnull=False).count()
    assert int(right) + int(partly) + int(wrong) == first
    assert ".." not in told
    assert "Still not known" in told


def test_plays_the_same_drill_again(seeded: None) -> None:
    call_command("play_demo", stdout=StringIO())
    first = played()

    call_command("play_demo", stdout=StringIO())

    assert played() == first


def test_playing_again_leaves_the_record_as_it_was(seeded: None) -> None:
    call_command("play_demo", stdout=StringIO())
    before = counts()

    call_command("play_demo", stdout=StringIO())

    assert counts() == before


def test_playing_again_keeps_what_somebody_answered_as_the_hire(seeded: None) -> None:
    call_command("play_demo", stdout=StringIO())
    theirs = Run.objects.latest("started_at")
    Run.objects.filter(pk=theirs.pk).update(is_simulated=False)

    call_command("play_demo", stdout=StringIO())

    assert Run.objects.filter(pk=theirs.pk).exists()


def test_its_weak_spot_comes_first_on_the_educators_page(seeded: None) -> None:
    """The bag that moved, looked for where it was: with counts, an interval and a place."""
    browser = Client()
    browser.force_login(Person.objects.get(employee_number="SB0041"))

    content = words(browser)

    weakest = content.partition('class="weakest">')[2].partition("</p>")[0]
    assert "<b>Paediatric bag</b> is missed most surely" in weakest
    assert "It moved in revision 2." in weakest
    assert re.search(r"<b>\d{2,3} % look in the old place.</b>", weakest)
    assert "simulated answers among them" in content


def test_half_a_year_lies_behind_it(seeded: None) -> None:
    """Of everybody who drills, on both layouts, at the rig as well, and now and then cut off."""
    rows = Evidence.objects.exclude(source__startswith="sheet ")
    first, last = rows.earliest("at").at, rows.latest("at").at

    assert timedelta(days=175) < last - first < timedelta(days=181)
    assert last <= timezone.now()
    assert rows.exclude(person=None).values("person").distinct().count() == 40
    assert rows.values("revision__layout").distinct().count() == 2
    assert rows.filter(modality="hands-on").exists()
    assert rows.filter(time_verdict="cut off").exists()
    assert rows.filter(time_verdict="late").exists()


def test_what_comes_from_no_run_says_that_it_is_simulated(seeded: None) -> None:
    tokens = {f"answer {each}" for each in Presentation.objects.values_list("token", flat=True)}
    rows = Evidence.objects.exclude(source__startswith="sheet ").values_list("source", flat=True)
    without = {source for source in rows if source not in tokens}

    assert len(without) > 10_000
    assert all(source.startswith("simulated history ") for source in without)


def test_nobody_answers_before_they_came(seeded: None) -> None:
    for person in Person.objects.filter(evidence__isnull=False).distinct():
        came = person.postings.get().starts_on
        assert timezone.localdate(person.evidence.earliest("at").at) >= came


def test_of_experienced_peoples_must_haves_sixty_in_100_carry_a_number(seeded: None) -> None:
    """As the page *Thing by thing* has it; and seeding ends with saying so."""
    now = timezone.now()
    people = experienced(now)

    found = musts_numbered(people, now=now)

    assert found.people == len(people) == 22
    assert found.things > 22 * 90
    assert found.in_100 >= 60
    assert f"{found.in_100} in 100 carry a number" in told_share(now)


def test_the_new_hire_is_new_and_nobody_is_like_another(seeded: None) -> None:
    """Of most of what the hire rides with there is not enough evidence; experienced people carry
    more numbers, miss things still, and not the same ones."""
    now = timezone.now()
    people = [Person.objects.get(employee_number="SB0001"), *experienced(now)[:5]]
    rigs = [todays_rig(each) for each in people]
    hire, *boards = [
        known_board(each, rig, now=now, ahead=())
        for each, rig in zip(people, rigs, strict=True)
        if rig is not None
    ]

    assert 0 < hire.numbered < len(hire.rows) / 3
    assert all(board.numbered > hire.numbered for board in boards)
    weak = [
        frozenset(
            each.thing.key
            for each in sorted(
                (row.thought for _, row in board.rows if row.thought.is_enough),
                key=lambda thought: thought.chance,
            )[:3]
        )
        for board in boards
    ]
    assert len(set(weak)) == len(weak)


@pytest.mark.parametrize(
    ("number", "address"),
    [
        ("SB0001", "/"),
        ("SB0001", "/boards/people/SB0001/"),
        ("SB0001", "/boards/people/SB0001/known/"),
        ("SB0001", "/boards/people/SB0001/calls/"),
        ("SB0037", "/"),
        ("SB0041", "/"),
        ("SB0041", "/boards/model/"),
        ("SB0041", "/boards/people/SB0020/"),
        ("SB0041", "/boards/people/SB0020/known/"),
        ("SB0041", "/boards/people/SB0020/calls/"),
        ("SB0041", "/boards/people/SB0001/with/SB0013/"),
    ],
)
def test_every_page_that_shows_it_says_that_it_is_simulated(
    number: str, address: str, seeded: None
) -> None:
    browser = Client()
    browser.force_login(Person.objects.get(employee_number=number))

    content = browser.get(address, follow=True).content.decode()

    assert "simulated" in content
    assert "measured" not in content


def test_no_simulated_hour_at_the_rig_checks_the_model(seeded: None) -> None:
    browser = Client()
    browser.force_login(Person.objects.get(employee_number="SB0041"))

    content = browser.get("/boards/model/").content.decode()

    assert "Not yet checked against your crews:</b> 0 of 200 outcomes seen at a rig." in content
    assert "Simulated ones and past records are not counted there" in content


def test_something_is_missed_more_than_expected(seeded: None) -> None:
    browser = Client()
    browser.force_login(Person.objects.get(employee_number="SB0041"))

    flagged = words(browser).partition("<h2>Missed more than expected")[2]

    assert flagged.partition("</table>")[0].count("<tr>") > 1


def test_a_simulated_person_is_given_out_and_erased_whole(seeded: None) -> None:
    person, now = Person.objects.get(employee_number="SB0020"), timezone.now()
    answers = person.evidence.count()

    given = record_of(person, now=now)
    erased = erase_person("SB0020", confirm="SB0020", now=now)

    assert answers == len(given["evidence"]) > 500
    assert all(each["simulated"] for each in given["evidence"])
    assert erased.stays["evidence, unlinked"] == answers
    assert Evidence.objects.filter(person=None).count() == answers
    assert not Evidence.objects.filter(person=None, source__startswith="simulated").exists()
