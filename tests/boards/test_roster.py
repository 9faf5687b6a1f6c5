"""The roster: a file is checked, shown, and stored whole or not at all."""

import re
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import CommandError, call_command
from django.db import connection
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.boards.roster.planning import Choices, Plan, plan_roster
from drills.boards.roster.present import as_file, present
from drills.boards.roster.taking import NotTakenError, take_roster
from drills.demo.factories import (
    CertificationLevelFactory,
    CohortFactory,
    PairingFactory,
    PersonFactory,
    StationFactory,
)
from drills.engine.roster import COLUMNS
from drills.people.access import may_see
from drills.people.models import AuditEntry, Cohort, Pairing, Person, Role, RoleGrant
from drills.rigs.models import Posting, Station
from drills.rigs.postings import add_station
from tests.runs.conftest import ClientOf

URL, TAKE = reverse("boards:roster"), reverse("boards:take_file")
HEADER = "employee number,name,roles,certification,station,cohort,FTO"
HTMX = {"HX-Request": "true"}

pytestmark = pytest.mark.django_db


@pytest.fixture
def service(hire: Person, fto: Person, admin: Person) -> Station:
    """Stations, levels and cohorts that a file may name; the hire is posted to one of them."""
    CertificationLevelFactory.create(key="emt")
    CohortFactory.create(slug="winter", name="Winter intake")
    StationFactory.create(slug="low-bench", name="Low Bench")
    station = StationFactory.create(slug="kettle", name="Kettle Station")
    Posting.objects.create(person=hire, station=station, starts_on="2026-01-01")
    return station


def text(*rows: str, header: str = HEADER) -> bytes:
    return "\n".join([header, *rows, ""]).encode()


def plan_of(data: bytes, *, by: Person | None = None, **choices: bool) -> Plan:
    return plan_roster(data, choices=Choices(**choices), by=by, now=timezone.now())


def take(data: bytes, *, by: Person | None = None, **choices: bool) -> Plan:
    plan = plan_of(data, by=by, **choices)
    assert plan.problems == ()
    return take_roster(
        data, choices=Choices(**choices), seen=plan.fingerprint, by=by, now=timezone.now()
    )


def problems(data: bytes, *, by: Person | None = None, **choices: bool) -> list[tuple[Any, ...]]:
    found = plan_of(data, by=by, **choices).problems
    return [(each.row, each.column, each.got, each.accepted) for each in found]


def differences(plan: Plan) -> dict[str, list[tuple[str, str, str]]]:
    return {
        each.number: [(one.what, one.before, one.after) for one in each.differences]
        for each in plan.changed
    }


def person(number: str) -> Person:
    return Person.objects.get(employee_number=number)


HIRE = "HIRE,Noor Hire,crew,paramedic,Kettle Station,First intake,FTO"
FTO_ROW = "FTO,Ola Field,fto,paramedic,,,"
ADMIN = "ADMIN,Ada Min,admin,paramedic,,,"


@pytest.mark.usefixtures("service")
class TestPlan:
    def test_what_says_what_is_so_changes_nothing(self) -> None:
        plan = plan_of(text(HIRE, FTO_ROW, ADMIN), leavers=True)

        assert (plan.people, plan.unchanged) == ((), 3)

    def test_each_change_is_told_with_before_and_after(self) -> None:
        row = "HIRE,Noor B. Hire,crew;keeper,EMT,low bench,Winter intake,"

        assert differences(plan_of(text(row))) == {
            "HIRE": [
                ("name", "Noor Hire", "Noor B. Hire"),
                ("roles", "crew", "crew, keeper"),
                ("certification", "Paramedic", "EMT"),
                ("station", "Kettle Station", "Low Bench"),
                ("cohort", "First intake", "Winter intake"),
                ("FTO", "FTO Ola Field", "none"),
            ]
        }

    def test_a_column_that_is_not_there_changes_nothing(self) -> None:
        plan = plan_of(text("HIRE,Noor Hire", header="employee number,name"))

        assert plan.people == ()

    def test_who_is_new_is_crew_unless_the_file_says_otherwise(self) -> None:
        (added,) = plan_of(text("N1,Nia New", header="employee number,name")).added

        assert (added.becomes.roles, added.becomes.ftos) == (("crew",), ())

    def test_nobody_leaves_for_not_being_in_the_file_unless_that_is_chosen(self) -> None:
        data = text(ADMIN)

        assert plan_of(data).leavers == ()
        assert [each.number for each in plan_of(data, leavers=True).leavers] == ["FTO", "HIRE"]

    def test_a_row_that_says_so_leaves(self) -> None:
        plan = plan_of(text("HIRE,Noor Hire,yes", header="employee number,name,leaves"))

        assert [each.number for each in plan.leavers] == ["HIRE"]

    def test_people_of_an_fto_who_leaves_are_among_the_changed(self) -> None:
        plan = plan_of(text("FTO,Ola Field,yes", header="employee number,name,leaves"))

        assert differences(plan) == {"HIRE": [("FTO", "FTO Ola Field", "none")]}

    def test_looking_stores_nothing(self) -> None:
        before = list(Person.objects.values()), Cohort.objects.count()

        plan_of(text("N1,Nia,crew,,New Station,New intake,FTO"), adds_new=True, leavers=True)

        assert (list(Person.objects.values()), Cohort.objects.count()) == before
        assert not AuditEntry.objects.exists()

    def test_the_present_roster_sent_in_again_changes_nothing(self) -> None:
        PersonFactory.create(
            employee_number="E9",
            name='=Odd, "Name"; a|b',
            roles=[Role.CREW, Role.KEEPER],
            certification=None,
            cohorts=list(Cohort.objects.all()),
        )
        data = as_file(present(now=timezone.now()))

        plan = plan_of(data, leavers=True)

        assert (plan.problems, plan.people, plan.unchanged) == ((), (), 4)
        assert data.startswith(b"\xef\xbb\xbf" + ",".join(COLUMNS).encode())


@pytest.mark.usefixtures("service")
class TestProblems:
    def test_every_one_is_told_at_once(self) -> None:
        found = problems(
            text(
                "N 1,,boss,medic,Kettel,Spring,FTO",
                "hire,Noor Hire,crew,,,,HIRE",
                "N2,Two,crew,,,,NOBODY;N2;ADMIN",
                "N3,Three,keeper,,,,FTO",
            )
        )

        fto = "the number of a field training officer who is here, or comes with this file"
        letters = "1 to 20 of the letters A to Z, digits, hyphen, dot and underscore"
        new = "; or let the import add new ones"
        assert found == [
            (2, "employee number", '"N 1"', f"{letters}, the first a letter or a digit"),
            (2, "name", "no value", "a value in this column"),
            (2, "roles", '"boss"', "one or more of crew, fto, educator, keeper, director, admin"),
            (2, "certification", '"medic"', "one of EMT, Paramedic"),
            (2, "station", '"Kettel"', f"one of Kettle Station, Low Bench{new}"),
            (2, "cohort", '"Spring"', f"one of First intake, Winter intake{new}"),
            (3, "employee number", '"hire"', "HIRE, as it is written here"),
            (3, "FTO", 'the person\'s own number "hire"', fto),
            (4, "FTO", 'the number "NOBODY" of nobody', fto),
            (4, "FTO", 'the person\'s own number "N2"', fto),
            (4, "FTO", '"ADMIN" of somebody who is no field training officer', fto),
            (5, "FTO", '"FTO", and no crew role', "an FTO for a crew member alone"),
        ]

    def test_an_fto_who_leaves_with_the_same_file_is_none(self) -> None:
        header = "employee number,name,FTO,leaves"
        found = problems(text("HIRE,Noor Hire,FTO,", "FTO,Ola Field,,yes", header=header))

        assert [each[:3] for each in found] == [
            (2, "FTO", '"FTO" of somebody who has left or leaves')
        ]

    def test_an_fto_who_comes_with_the_same_file_is_one(self) -> None:
        data = text("N1,Nia New,crew,,,,N2", "N2,Nat New,fto,,,,")

        assert problems(data) == []

    def test_stations_and_cohorts_are_added_when_that_is_chosen_and_shown_first(self) -> None:
        plan = plan_of(text("N1,Nia,crew,,Dry Ledger,Spring; spring,"), adds_new=True)

        assert plan.problems == ()
        assert (plan.stations, plan.cohorts) == (
            {"dry-ledger": "Dry Ledger"},
            {"spring": "Spring"},
        )

    def test_a_name_that_has_no_letters_of_an_address_is_refused(self) -> None:
        (found,) = problems(text("N1,Nia,crew,,駅,,"), adds_new=True)

        assert found[1:] == (
            "station",
            '"駅"',
            "a name with 1 to 50 of the letters A to Z and digits",
        )

    def test_a_file_with_a_problem_stores_nothing(self) -> None:
        data = text("N1,Nia,crew,,,,", "N2,,crew,,,,")
        plan = plan_of(data)

        with pytest.raises(NotTakenError):
            take_roster(data, choices=Choices(), seen=plan.fingerprint, by=None, now=timezone.now())

        assert not Person.objects.filter(employee_number="N1").exists()


@pytest.mark.usefixtures("service")
class TestNames:
    """A word of a file leads to one station, cohort or level, or it is told."""

    @pytest.fixture
    def twins(self, service: Station, hire: Person) -> None:
        """Two cohorts and two stations of one name, and the hire in the later of each."""
        hire.cohorts.set([CohortFactory.create(slug="b2", name="winter Intake")])
        second = StationFactory.create(slug="second", name="Kettle Station")
        Posting.objects.update(station=second)

    @pytest.mark.usefixtures("twins")
    def test_a_name_that_two_have_is_a_problem_and_no_guess(self) -> None:
        assert problems(text("HIRE,Noor Hire,crew,,Kettle Station,Winter intake,")) == [
            *[
                (
                    2,
                    "station",
                    '"Kettle Station", which 2 have,',
                    "one of their keys: kettle, second",
                )
            ],
            *[(2, "cohort", '"Winter intake", which 2 have,', "one of their keys: b2, winter")],
        ]

    def test_a_level_whose_name_two_have_is_a_problem(self) -> None:
        CertificationLevelFactory.create(key="old-emt", name="emt")

        (found,) = problems(text("HIRE,Noor Hire,crew,EMT,,,"))

        assert found[2:] == ('"EMT", which 2 have,', "one of their keys: old-emt")

    @pytest.mark.usefixtures("twins")
    def test_the_present_roster_leads_back_to_each_of_them(self, hire: Person) -> None:
        hire.cohorts.add(CohortFactory.create(slug="a-b", name="A; B"))

        plan = plan_of(as_file(present(now=timezone.now())), leavers=True)

        assert (plan.problems, plan.people) == ((), ())

    @pytest.mark.usefixtures("twins")
    def test_where_no_word_leads_back_the_present_roster_says_so(self) -> None:
        CohortFactory.create(slug="summer", name="b2")

        (found,) = problems(as_file(present(now=timezone.now())))

        assert found[1:] == (
            "cohort",
            '"winter Intake", which 2 have,',
            "one of their keys: winter",
        )

    @pytest.mark.usefixtures("twins")
    def test_moving_between_them_is_told_as_a_change(self) -> None:
        assert differences(plan_of(text("HIRE,Noor Hire,crew,paramedic,kettle,winter,FTO"))) == {
            "HIRE": [
                ("station", "Kettle Station (second)", "Kettle Station (kettle)"),
                ("cohort", "winter Intake (b2)", "Winter intake (winter)"),
            ]
        }

    @pytest.mark.parametrize("names", [("C", "C++"), ("C++", "C")])
    def test_names_that_are_written_alike_stay_apart(self, names: tuple[str, str]) -> None:
        data = text(*(f"N{at},Nia,crew,,{name},{name}," for at, name in enumerate(names)))

        plan = take(data, adds_new=True)

        assert plan.stations == plan.cohorts == {"c": names[0], "c-2": names[1]}
        assert [(each.row, each.column, each.text) for each in plan.remarks] == [
            (3, column, f'"{names[1]}" is new beside "{names[0]}", which is written alike')
            for column in ("station", "cohort")
        ]
        for at, name in enumerate(names):
            assert person(f"N{at}").postings.get().station.name == name
            assert person(f"N{at}").cohorts.get().name == name
        assert plan_of(data).people == ()

    def test_a_key_that_is_no_name_is_remarked_once(self) -> None:
        StationFactory.create(slug="c", name="C++")

        plan = plan_of(text("N1,Nia,crew,,C,,", "N2,Nat,crew,,c,,", "N3,Non,crew,,C,,"))

        assert {each.becomes.station for each in plan.added} == {"c"}
        assert [(each.row, each.text) for each in plan.remarks] == [
            (2, '"C" is the key of "C++"'),
            (3, '"c" is the key of "C++"'),
        ]

    @pytest.mark.parametrize("column", ["A;B", "A|B"])
    def test_a_new_station_has_no_sign_that_parts_names(self, column: str) -> None:
        (found,) = problems(text(f"N1,Nia,crew,,{column},,"), adds_new=True)

        assert found[1:] == ("station", f'"{column}"', "a name without ; and |")

    def test_no_station_is_added_under_a_name_that_is_taken(self) -> None:
        for slug, name, said in (
            ("b2", "low  BENCH", "There is a station named 'Low Bench' already, 'low-bench'."),
            ("Low-Bench", "Other", "There is a station 'low-bench' already."),
            ("a-b", "A|B", "it takes one without ; and |"),
        ):
            with pytest.raises(ValueError, match=re.escape(said)):
                add_station(slug, name, by=None, now=timezone.now())
        assert Station.objects.count() == 2


@pytest.mark.usefixtures("service")
class TestGuards:
    NONE_LEFT = (
        *(0, "", "a file after which there would be no administrator"),
        "one that leaves at least one of them here",
    )

    def test_no_file_takes_the_last_administrator(self) -> None:
        demoted = text("ADMIN,Ada Min,crew,,,,")

        assert problems(demoted) == [self.NONE_LEFT]
        assert problems(text(HIRE, FTO_ROW), leavers=True) == [self.NONE_LEFT]
        left = text("ADMIN,Ada Min,yes", header="employee number,name,leaves")
        assert problems(left) == [self.NONE_LEFT]

    def test_an_administrator_may_go_when_another_comes(self) -> None:
        assert problems(text("N1,Nia,admin,,,,", HIRE, FTO_ROW), leavers=True) == []

    @pytest.mark.parametrize(
        ("row", "column"), [("ADMIN,Ada Min,crew,,,,", "roles"), ("", "leaves")]
    )
    def test_nobody_removes_themselves(self, admin: Person, row: str, column: str) -> None:
        RoleGrant.objects.create(person=person("FTO"), role=Role.ADMIN)
        data = text(row) if row else text(HIRE, FTO_ROW.replace(",fto,", ",fto;admin,"))

        (found,) = problems(data, by=admin, leavers=not row)

        assert found[:3] == (
            *(2 if row else 0, column),
            "yourself, to leave or to be no administrator",
        )


@pytest.mark.usefixtures("service")
class TestTaking:
    def test_people_come_with_all_that_the_file_says(self, admin: Person) -> None:
        take(
            text("N1,Nia New,crew;keeper,EMT,Dry Ledger,Spring|Winter intake,FTO"),
            by=admin,
            adds_new=True,
        )

        new = person("N1")
        assert (new.name, str(new.certification)) == ("Nia New", "EMT")
        assert new.roles == {Role.CREW, Role.KEEPER}
        assert {cohort.name for cohort in new.cohorts.all()} == {"Spring", "Winter intake"}
        assert new.postings.get().station.name == "Dry Ledger"
        assert may_see(person("FTO"), new)
        assert not new.has_password

    def test_people_change_and_keep_what_is_not_named(self, hire: Person) -> None:
        Person.objects.filter(pk=hire.pk).update(time_allowance=2)

        take(text("HIRE,Noor B. Hire,crew,EMT,Low Bench,Winter intake,"))

        changed = person("HIRE")
        assert (changed.name, str(changed.certification)) == ("Noor B. Hire", "EMT")
        assert [cohort.slug for cohort in changed.cohorts.all()] == ["winter"]
        assert not may_see(person("FTO"), changed)
        assert changed.time_allowance == 2
        assert changed.has_password
        today = timezone.localdate()
        old, new = changed.postings.order_by("starts_on")
        assert (old.station.slug, old.ends_on) == ("kettle", today)
        assert (new.station.slug, new.starts_on, new.ends_on) == ("low-bench", today, None)

    def test_a_pairing_that_stays_keeps_its_beginning_and_its_end(self, hire: Person) -> None:
        end = timezone.now() + timedelta(days=9)
        Pairing.objects.update(ends_at=end)
        before = Pairing.objects.get()

        take(text("HIRE,Noor B. Hire,crew,EMT,,,fto"))

        kept = Pairing.objects.get()
        assert (kept.starts_at, kept.ends_at) == (before.starts_at, end)

    def test_leavers_are_out_at_once_in_every_browser(
        self, client_of: ClientOf, hire: Person
    ) -> None:
        browsers = [client_of(hire), client_of(hire)]

        take(text(ADMIN, FTO_ROW), leavers=True)

        for client in browsers:
            assert client.get("/rigs/").status_code == 302
        take(text(HIRE))
        assert browsers[0].get("/rigs/").status_code == 302

    def test_leavers_keep_their_record(self, hire: Person) -> None:
        take(text(ADMIN, FTO_ROW), leavers=True)

        left = person("HIRE")
        assert (left.is_active, left.name) == (False, "Noor Hire")
        assert left.roles == {Role.CREW}
        assert [cohort.slug for cohort in left.cohorts.all()] == ["first-intake"]
        assert left.postings.get().ends_on == timezone.localdate()
        assert not Pairing.objects.running(timezone.now()).exists()

    def test_coming_back_is_a_change(self, hire: Person) -> None:
        take(text(ADMIN, FTO_ROW), leavers=True)

        plan = take(text(HIRE))

        assert [one[0] for one in differences(plan)["HIRE"]] == ["here", "station", "FTO"]
        assert person("HIRE").is_active
        assert may_see(person("FTO"), person("HIRE"))

    def test_one_line_of_the_audit_for_the_file_and_one_for_each_person(
        self, admin: Person
    ) -> None:
        take(
            text("HIRE,Noor Hire,crew,EMT,Low Bench,First intake,", "N1,Nia,crew,,,,", ADMIN),
            by=admin,
            leavers=True,
        )

        lines = AuditEntry.objects.values_list("action", "subject", "before", "after")
        assert lines[0] == (
            *("import roster", "3 people", None),
            {"added": 1, "changed": 1, "left": 1},
        )
        told = {subject: (action, before, after) for action, subject, before, after in lines[1:]}
        assert told["HIRE"] == (
            "change person",
            {"certification": "paramedic", "station": "kettle", "ftos": ["FTO"]},
            {"certification": "emt", "station": "low-bench", "ftos": []},
        )
        assert told["FTO"] == ("change person", {"is_active": True}, {"is_active": False})
        assert told["N1"][0] == "add person"
        assert {line.actor for line in AuditEntry.objects.all()} == {admin}

    def test_what_is_so_already_writes_nothing(self) -> None:
        take(text(HIRE, FTO_ROW, ADMIN))

        assert not AuditEntry.objects.exists()

    def test_a_plan_that_is_no_more_what_was_looked_at_is_not_stored(self, hire: Person) -> None:
        data = text("HIRE,Noor B. Hire,crew,EMT,,,")
        seen = plan_of(data).fingerprint
        Person.objects.filter(pk=hire.pk).update(name="Noor C. Hire")

        with pytest.raises(NotTakenError) as refused:
            take_roster(data, choices=Choices(), seen=seen, by=None, now=timezone.now())

        assert differences(refused.value.plan)["HIRE"][0] == (
            "name",
            "Noor C. Hire",
            "Noor B. Hire",
        )
        assert person("HIRE").name == "Noor C. Hire"

    def test_three_hundred_people_take_a_bounded_number_of_queries(
        self, django_assert_max_num_queries: Any
    ) -> None:
        rows = [f"N{n},Name {n},crew,EMT,Station {n % 3},Intake {n % 2},FTO" for n in range(300)]
        data = text(*rows)

        with django_assert_max_num_queries(90):
            take(data, adds_new=True)
        with django_assert_max_num_queries(90):
            take(data.replace(b"Name", b"Other").replace(b"EMT", b"Paramedic"))
        with django_assert_max_num_queries(60):
            take(text(ADMIN, FTO_ROW), leavers=True)

        assert Person.objects.filter(is_active=False).count() == 301


def upload(client: Client, data: bytes, *, name: str = "roster.csv", **more: Any) -> Any:
    sent = {"roster": SimpleUploadedFile(name, data), **more.pop("ticked", {})}
    return client.post(URL, sent, **more)


def hidden(page: str) -> dict[str, str]:
    """What the form sends that stores what was shown."""
    form = page.partition(f'action="{TAKE}"')[2].partition("</form>")[0]
    return dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', form))


@pytest.mark.usefixtures("service")
class TestPage:
    NEW = text("N1,Nia New,crew,,,,FTO")

    @pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
    def test_a_file_is_shown_and_then_stored(
        self, client_of: ClientOf, admin: Person, headers: dict[str, str]
    ) -> None:
        client = client_of(admin)

        shown = upload(client, self.NEW, headers=headers)

        assert shown.status_code == 200
        assert ("<html" in shown.text) is not bool(headers)
        assert "1 added, 0 changed, 3 unchanged. Nothing is stored yet." in shown.text
        assert not Person.objects.filter(employee_number="N1").exists()
        stored = client.post(TAKE, hidden(shown.text), headers=headers)
        assert URL in (stored.get("Location", ""), stored.get("HX-Redirect", ""))
        assert "1 added, 0 changed, 0 left" in client.get(URL).text
        assert person("N1").name == "Nia New"

    @pytest.mark.parametrize("headers", [{}, HTMX], ids=["plain", "htmx"])
    def test_problems_are_listed_and_cannot_be_stored(
        self, client_of: ClientOf, admin: Person, headers: dict[str, str]
    ) -> None:
        shown = upload(client_of(admin), text("N1,,boss,,,,"), headers=headers)

        assert shown.status_code == 422
        assert "2 problems in the file" in shown.text
        assert hidden(shown.text) == {}

    def test_leavers_are_shown_by_name_before_all_else(
        self, client_of: ClientOf, admin: Person
    ) -> None:
        client = client_of(admin)
        assert 'id="leavers">' in client.get(URL).text  # a box that is not ticked

        page = upload(client, text(ADMIN, "N1,Nia New,crew,,,,"), ticked={"leavers": "on"}).text

        assert page.index("Noor Hire") < page.index("Nia New")
        assert hidden(page)["leavers"] == "on"
        client.post(TAKE, hidden(page))
        assert not person("HIRE").is_active

    def test_when_somebody_changed_it_meanwhile_it_is_shown_anew(
        self, client_of: ClientOf, admin: Person, hire: Person
    ) -> None:
        client = client_of(admin)
        page = upload(client, text("HIRE,Noor B. Hire,crew,EMT,,,")).text
        Person.objects.filter(pk=hire.pk).update(name="Noor C. Hire")

        again = client.post(TAKE, hidden(page))

        assert again.status_code == 422
        assert "Somebody changed who is here since this was shown" in again.text
        assert "Noor C. Hire" in again.text
        client.post(TAKE, hidden(again.text))
        assert person("HIRE").name == "Noor B. Hire"

    def test_sent_twice_it_is_stored_once(self, client_of: ClientOf, admin: Person) -> None:
        client = client_of(admin)
        sent = hidden(upload(client, self.NEW).text)
        client.post(TAKE, sent)

        assert "so already" in client.post(TAKE, sent, follow=True).text
        assert AuditEntry.objects.filter(action="import roster").count() == 1

    @pytest.mark.parametrize(
        ("name", "data", "said"),
        [
            ("roster.xlsx", b"PK", "roster.xlsx came in. A CSV file is read"),
            ("roster.csv", b"", "The file is empty."),
            ("roster.csv", b"x" * (1024 * 1024 + 1), "At most 1 MB is read."),
        ],
    )
    def test_what_is_no_file_of_people_says_so(
        self, client_of: ClientOf, admin: Person, name: str, data: bytes, said: str
    ) -> None:
        shown = upload(client_of(admin), data, name=name)

        assert shown.status_code == 422
        assert said in shown.text

    @pytest.mark.parametrize("content", ["", "not base64 at all"])
    def test_a_file_that_came_in_pieces_is_not_stored(
        self, client_of: ClientOf, admin: Person, content: str
    ) -> None:
        shown = client_of(admin).post(TAKE, {"content": content, "seen": "x"})

        assert shown.status_code == 422
        assert "The file did not come whole." in shown.text

    def test_everybody_here_is_listed_with_how_they_get_in(
        self, client_of: ClientOf, admin: Person
    ) -> None:
        PersonFactory.create(employee_number="N1", name="Nia New")
        PersonFactory.create(employee_number="GONE", name="Gil Gone", is_active=False)

        page = client_of(admin).get(URL).text

        assert "4 here; 1 left" in page
        assert "no slip yet" in page
        assert "1 without a slip" in page
        assert "Gil Gone" not in page

    def test_one_is_found_by_name_or_number(self, client_of: ClientOf, admin: Person) -> None:
        client = client_of(admin)

        assert "Ola Field</b>" in client.get(URL).text
        assert "Ola Field</b>" not in client.get(URL, {"find": "noor"}).text
        assert "Noor Hire" in client.get(URL, {"find": "hire"}, headers=HTMX).text
        assert "Nobody has" in client.get(URL, {"find": "zzz"}).text

    def test_the_list_takes_a_bounded_number_of_queries(
        self, client_of: ClientOf, admin: Person, django_assert_max_num_queries: Any
    ) -> None:
        for _ in range(40):
            PairingFactory.create(fto=person("FTO"))
        client = client_of(admin)

        with django_assert_max_num_queries(20):
            client.get(URL)

    def test_the_present_roster_and_a_blank_one_are_handed_out(
        self, client_of: ClientOf, admin: Person
    ) -> None:
        client = client_of(admin)
        present_one, blank = (
            client.get(reverse("boards:roster_file", args=[which]))
            for which in ("present", "blank")
        )

        assert "Nothing to change" in upload(client, present_one.content).text
        assert present_one["Content-Disposition"].endswith('filename="roster-present.csv"')
        assert blank.content.decode("utf-8-sig").startswith(",".join(COLUMNS))
        assert "take the row of the example out" in upload(client, blank.content).text

    def test_only_an_administrator_sees_the_sheet(
        self, client_of: ClientOf, admin: Person, hire: Person
    ) -> None:
        assert f'href="{URL}"' in client_of(admin).get("/rigs/").text
        assert f'href="{URL}"' not in client_of(hire).get("/rigs/").text


@pytest.mark.usefixtures("service")
class TestCommand:
    def run(self, path: Path, data: bytes, *options: str) -> str:
        out = StringIO()
        path = path / "roster.csv"
        path.write_bytes(data)
        call_command("import_roster", str(path), *options, stdout=out, stderr=out)
        return out.getvalue()

    def test_tells_what_would_change_and_stores_nothing(self, tmp_path: Path) -> None:
        data = text(ADMIN, "HIRE,Noor Hire,crew,EMT,Kettle Station,Spring,", "N1,Nia,crew,,,,")

        said = self.run(tmp_path, data, "--leavers", "--new").splitlines()

        assert said == [
            "new cohort: Spring",
            "leaves: FTO Ola Field",
            "added: N1 name Nia; roles crew",
            "changed: HIRE Noor Hire; certification: Paramedic -> EMT; cohort: First intake -> "
            "Spring; FTO: FTO Ola Field -> none",
            "1 added, 1 changed, 1 leave, 1 unchanged.",
            "Nothing is stored; --commit stores it.",
        ]
        assert not AuditEntry.objects.exists()

    def test_stores_it_when_asked(self, tmp_path: Path) -> None:
        said = self.run(tmp_path, text("N1,Nia,crew,,,,"), "--commit")

        assert said.endswith("Stored.\n")
        assert person("N1").name == "Nia"

    def test_every_problem_is_a_line_and_nothing_is_stored(self, tmp_path: Path) -> None:
        with pytest.raises(CommandError) as refused:
            self.run(tmp_path, text("N1,,boss,,,,", "N2,Nat,crew,,,,"), "--commit")

        assert [line.partition(":")[0] for line in str(refused.value).splitlines()] == [
            "File, row 2, column name",
            "File, row 2, column roles",
        ]
        assert not Person.objects.filter(employee_number="N2").exists()

    def test_a_file_that_is_not_there_is_named(self) -> None:
        with pytest.raises(CommandError, match=r"nowhere\.csv cannot be read: No such file"):
            call_command("import_roster", "nowhere.csv")


def test_a_code_from_the_command_line_lets_in(admin: Person) -> None:
    out = StringIO()
    call_command("give_code", "ADMIN", stdout=out)
    code = out.getvalue().partition(": ")[2].partition(",")[0]

    sent = {"employee_number": "ADMIN", "password": code}
    response = Client().post(reverse("people:sign_in"), sent)

    assert response["Location"] == reverse("people:choose_password")
    with pytest.raises(CommandError, match="nobody here with number 'X'"):
        call_command("give_code", "X")


@pytest.mark.django_db(transaction=True)
def test_a_file_stored_many_times_at_the_same_moment_is_stored_once() -> None:
    data = text("N1,Nia,crew,,,,N2", "N2,Nat,fto,,,,")
    seen = plan_of(data).fingerprint

    def take_one(_: int) -> bool:
        try:
            plan = take_roster(data, choices=Choices(), seen=seen, by=None, now=timezone.now())
            return bool(plan.people)
        except NotTakenError:
            return False
        finally:
            connection.close()

    with ThreadPoolExecutor(6) as pool:
        taken = list(pool.map(take_one, range(6)))

    assert sum(taken) == 1
    assert AuditEntry.objects.count() == 3
    assert Pairing.objects.count() == 1


@pytest.mark.django_db
@pytest.mark.parametrize("content", ["x", "=", "\u0663", "a b"])
def test_a_file_that_did_not_come_whole_is_refused(
    client_of: ClientOf, admin: Person, content: str
) -> None:
    response = client_of(admin).post(TAKE, {"content": content, "seen": "x"})

    assert response.status_code == 422
    assert "The file did not come whole" in response.content.decode()
