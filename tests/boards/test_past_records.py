"""The page of past records: a file is shown and stored, and marked wherever it is told of."""

import re
from datetime import UTC, datetime, timedelta
from io import StringIO
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.boards.known import known_board
from drills.boards.past.views import FILES_SHOWN
from drills.boards.person_records import erase_person, record_of
from drills.competency.actions import void_evidence
from drills.competency.models import Evidence
from drills.competency.past.taking import take_records
from drills.competency.past.taking_back import files_taken_in
from drills.competency.refitting import refit
from drills.competency.reports import knowledge_of
from drills.engine.past_records import EXAMPLE, write_records
from drills.people.audit import record
from drills.people.models import AuditEntry, Person
from drills.rigs.actions import pick_rig
from drills.rigs.models import Layout, Revision, Rig
from drills.runs.models import Sheet, SignOff
from drills.runs.signed import on_layouts
from tests.competency.others import another_refit
from tests.competency.test_past_records import FIRST, GOOD, text
from tests.runs.conftest import ClientOf
from tests.runs.conftest import client_of as client_of
from tests.runs.conftest import rig as rig

URL, TAKE = reverse("boards:past_records"), reverse("boards:take_past_records")
HTMX = {"HX-Request": "true"}
MISSED = GOOD.replace("right", "wrong").replace("walk 1", "walk 2")
OTHER = GOOD.replace("2026-02-01", "2026-02-09")
ROWS = (GOOD, MISSED, GOOD.replace("2026-02-01", "2026-02-03"))

pytestmark = pytest.mark.django_db


@pytest.fixture
def page(educator: Person, hire: Person, fto: Person, rig: Rig, client_of: ClientOf) -> Client:
    """The browser of an educator, of a service whose layout has been in force all year."""
    Revision.objects.update(effective_on=FIRST)
    return client_of(educator)


def sent(page: Client, data: bytes, **more: Any) -> Any:
    return page.post(URL, {"records": SimpleUploadedFile("records.csv", data)}, **more)


def again(response: Any) -> dict[str, str]:
    """What the page sends back to store what it shows."""
    found = re.findall(r'name="(content|seen|name)" value="([^"]*)"', response.content.decode())
    return dict(found)


def test_the_boards_lead_whoever_may_open_it_here(
    page: Client, fto: Person, client_of: ClientOf
) -> None:
    link = f'href="{URL}"'
    for name in ("educator", "model"):
        assert link in page.get(reverse(f"boards:{name}")).content.decode()

    officer = client_of(fto)
    assert officer.get(URL).status_code == 403
    for name in ("fto", "model"):
        assert link not in officer.get(reverse(f"boards:{name}")).content.decode()


def test_a_file_is_shown_first_and_stored_once_somebody_says_so(page: Client) -> None:
    shown = sent(page, text(*ROWS))

    assert shown.status_code == 200
    assert "<b>3 records</b> of 1 person" in shown.content.decode()
    assert "Lower shelf" in shown.content.decode()
    assert not Evidence.objects.exists()

    stored = page.post(TAKE, again(shown), follow=True)

    assert "Past records are stored: 3 of 1 people." in stored.content.decode()
    assert Evidence.objects.count() == 3
    assert "Nothing to add" in sent(page, text(*ROWS)).content.decode()


def test_with_scripts_the_part_alone_is_sent(page: Client) -> None:
    shown = sent(page, text(*ROWS), headers=HTMX)
    stored = page.post(TAKE, again(shown), headers=HTMX)

    assert "<html" not in shown.content.decode()
    assert stored.headers["HX-Redirect"] == URL


def test_problems_stand_with_their_rows_and_nothing_can_be_stored(page: Client) -> None:
    shown = sent(page, text(GOOD, GOOD.replace("HIRE", "NOBODY"), "HIRE,,,,,,,,,,"))
    told = shown.content.decode()

    assert shown.status_code == 422
    assert "6 problems in the file" in told
    assert "of somebody who was erased, &quot;NOBODY&quot;" in told
    assert TAKE not in told


def test_what_was_put_in_a_cell_stays_text(page: Client) -> None:
    told = sent(page, text(GOOD.replace("Splint", "<script>x</script>"))).content.decode()

    assert "<script>x" not in told
    assert "&lt;script&gt;x" in told


def test_no_educator_sends_in_their_own(page: Client) -> None:
    told = sent(page, text(GOOD.replace("HIRE", "EDUCATOR")))

    assert "your own number" in told.content.decode()


def test_what_changed_since_it_was_shown_is_shown_again(page: Client) -> None:
    shown = sent(page, text(*ROWS))
    take_records(text(GOOD), seen=None, by=None, now=timezone.now())
    refused = page.post(TAKE, again(shown))

    assert refused.status_code == 422
    assert "What is here has changed since this was shown" in refused.content.decode()
    assert "<b>2 records</b>" in refused.content.decode()
    assert Evidence.objects.count() == 1


def test_while_a_refit_reads_it_says_so(page: Client) -> None:
    shown = sent(page, text(*ROWS))
    with another_refit(timezone.now(), stage="storing it"):
        refused = page.post(TAKE, again(shown))

    assert "Another refit is under way" in refused.content.decode()
    assert "4711" not in refused.content.decode()
    assert not Evidence.objects.exists()


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("records.xlsx", b"PK", "A CSV file is read"),
        ("records.csv", b"", "The file is empty"),
        ("records.csv", b"x" * (1024 * 1024 + 1), "At most 1 MB is read"),
    ],
)
def test_what_is_no_file_of_records_is_refused(
    page: Client, name: str, data: bytes, words: str
) -> None:
    told = page.post(URL, {"records": SimpleUploadedFile(name, data)})

    assert told.status_code == 422
    assert words in told.content.decode()


def test_the_blank_file_has_the_columns_and_an_example(page: Client) -> None:
    blank = page.get(reverse("boards:blank_past_records"))

    assert blank.content == write_records([EXAMPLE])
    assert "EXAMPLE-1" in sent(page, blank.content).content.decode()


class TestTakenBack:
    """What came in with a file goes out with it, and nothing else."""

    @pytest.fixture(autouse=True)
    def taken(self, page: Client, educator: Person) -> None:
        take_records(text(*ROWS), seen=None, by=educator, now=timezone.now())
        take_records(text(OTHER), seen=None, by=None, now=timezone.now())

    def back(self, page: Client, number: int, because: str = "wrong day", **more: Any) -> Any:
        url = reverse("boards:take_back_past_records", args=[number])
        return page.post(url, {"because": because}, **more)

    def test_every_file_is_listed_with_who_sent_it_in(self, page: Client, educator: Person) -> None:
        told = page.get(URL).content.decode()
        files = re.findall(r'<li class="rowline taken".*?</li>', told, re.DOTALL)

        assert [each.line.subject for each in files_taken_in()] == [
            "1 records of 1 people",
            "3 records of 1 people",
        ]
        assert "by the command" in files[0]
        assert educator.name in files[1]
        assert "3 records of 1 person" in files[1]
        assert [each.count("Why, for the audit") for each in files] == [1, 1]

    def test_older_files_are_folded_by_month(self, page: Client) -> None:
        """The newest stand open; of each month before it is said how many, and what stands."""
        after = files_taken_in()[0].line.after
        day = datetime(2026, 1, 31, 12, tzinfo=UTC)
        for at in (day, day, *[timezone.now()] * FILES_SHOWN):
            record("import past records", "1 records of 1 people", by=None, now=at, after=after)

        told = page.get(URL).content.decode()
        shown, *months = told.split('<details class="figures"')

        assert shown.count("rowline taken") == FILES_SHOWN
        assert "January 2026, 2 files, 0 records stand</summary>" in months[0]
        assert "2 files, 4 records stand</summary>" in months[1]
        assert [each.count("rowline taken") for each in months] == [2, 2]

    def test_its_evidence_is_void_and_the_same_file_may_come_in_again(
        self, page: Client, hire: Person
    ) -> None:
        whole = text(*ROWS)
        assert "Nothing to add" in sent(page, whole).content.decode()
        _, file = files_taken_in()

        response = self.back(page, file.line.pk, follow=True)

        assert "Taken back: 3 records of 1 people." in response.content.decode()
        assert Evidence.objects.standing().count() == 1
        assert [each.standing for each in files_taken_in()] == [1, 0]
        assert knowledge_of(hire, layout=file_layout(), now=timezone.now()).has_imported
        again_taken = take_records(whole, seen=None, by=None, now=timezone.now())
        assert len(again_taken.records) == 3
        assert Evidence.objects.standing().count() == 4

    def test_one_from_before_files_were_remembered_says_so(self, page: Client) -> None:
        """Nothing tells its records from others, so it is not said that none are left."""
        file, other = files_taken_in()
        Evidence.objects.filter(taken_in=file.line).update(taken_in=None)

        told = page.get(URL).content.decode()
        refused = self.back(page, file.line.pk)

        assert "came in before files were remembered" in told
        assert "none left to take back" not in told
        assert told.count("Why, for the audit") == 1
        assert refused.status_code == 422
        assert "it came in before that was kept" in refused.content.decode()
        self.back(page, other.line.pk)
        assert Evidence.objects.standing().count() == 1

    def test_what_was_voided_by_itself_does_not_come_back_with_it(self, page: Client) -> None:
        _, file = files_taken_in()
        wrong = Evidence.objects.filter(taken_in=file.line).latest("pk")
        void_evidence(wrong.source, by="EDUCATOR", now=timezone.now())
        self.back(page, file.line.pk)

        take_records(text(*ROWS), seen=None, by=None, now=timezone.now())

        assert not Evidence.objects.standing().filter(source=wrong.source).exists()

    def test_the_numbers_are_of_what_stands_and_replaying_agrees(self, page: Client) -> None:
        refit(now=timezone.now, say=lambda _: None)
        _, file = files_taken_in()
        self.back(page, file.line.pk)
        call_command("recompute", "--check", stderr=StringIO())

        made = refit(now=timezone.now, say=lambda _: None)

        assert made is not None
        assert made.answers == 1
        call_command("recompute", "--check", stderr=StringIO())

    def test_the_audit_has_who_why_and_of_whom(self, page: Client, educator: Person) -> None:
        _, file = files_taken_in()
        self.back(page, file.line.pk, "the day was wrong")
        line = AuditEntry.objects.get(action="take back past records")
        assert line.after is not None

        assert (line.actor, line.subject) == (educator, "3 records of 1 people")
        assert line.after["because"] == "the day was wrong"
        assert line.after["import"] == file.reference
        of_person = AuditEntry.objects.get(action="take back past records of")
        assert (of_person.subject, of_person.after) == ("HIRE", {"records": 3})

    @pytest.mark.parametrize("htmx", [{}, HTMX])
    def test_without_a_reason_nothing_is_taken_back(
        self, page: Client, htmx: dict[str, str]
    ) -> None:
        file = files_taken_in()[0]
        refused = self.back(page, file.line.pk, " ", headers=htmx)

        assert refused.status_code == 422
        assert "Say why it is taken back." in refused.content.decode()
        assert '<details class="more" open>' in refused.content.decode()
        assert Evidence.objects.standing().count() == 4

    def test_twice_says_so(self, page: Client) -> None:
        file = files_taken_in()[0]
        self.back(page, file.line.pk)

        assert "nothing was taken back" in self.back(page, file.line.pk).content.decode()

    def test_whoever_is_in_it_does_not_take_it_back(
        self, page: Client, educator: Person, fto: Person
    ) -> None:
        own = GOOD.replace("HIRE", "EDUCATOR").replace("walk 1", "walk 9")
        take_records(text(own), seen=None, by=None, now=timezone.now())
        file = files_taken_in()[0]

        assert "somebody else takes it back" in self.back(page, file.line.pk).content.decode()
        assert files_taken_in()[0].standing == 1

    def test_of_who_was_erased_nothing_leads_to_the_file(self, page: Client) -> None:
        _, file = files_taken_in()
        erase_person("HIRE", confirm="HIRE", now=timezone.now())

        assert "nothing was taken back" in self.back(page, file.line.pk).content.decode()
        assert not Evidence.objects.filter(taken_in__isnull=False, person=None).exists()

    def test_a_file_that_never_came_is_not_found(self, page: Client) -> None:
        other = AuditEntry.objects.exclude(action="import past records").latest("pk")

        assert self.back(page, other.pk).status_code == 404


def file_layout() -> Layout:
    return Layout.objects.get(slug="practice-rig")


class TestTold:
    """Wherever it is told of, it is marked; and it goes with its person."""

    @pytest.fixture(autouse=True)
    def taken(self, page: Client, hire: Person, rig: Rig, educator: Person) -> None:
        pick_rig(hire, rig, now=timezone.now())
        take_records(text(*ROWS), seen=None, by=educator, now=timezone.now())

    def test_every_page_that_shows_of_it_marks_it(
        self, page: Client, hire: Person, fto: Person, client_of: ClientOf
    ) -> None:
        refit(now=timezone.now, say=lambda _: None)
        own, officer = client_of(hire), client_of(fto)
        person = reverse("boards:person", args=["HIRE"])
        known = reverse("boards:known", args=["HIRE"])
        told = {
            known: own.get(known).content.decode(),
            person: officer.get(person).content.decode(),
            "hire": own.get(reverse("boards:hire")).content.decode(),
            "fto": officer.get(reverse("boards:fto")).content.decode(),
            "model": page.get(reverse("boards:model")).content.decode(),
        }

        assert [name for name, words in told.items() if "imported" not in words] == []
        assert "0 of 200 outcomes seen at a rig" in told["model"]

    def test_without_any_no_page_says_so(self, page: Client, hire: Person, rig: Rig) -> None:
        Evidence.objects.update(is_imported=False)
        refit(now=timezone.now, say=lambda _: None)

        assert not known_board(hire, rig, now=timezone.now()).has_imported
        assert "imported" not in page.get(reverse("boards:model")).content.decode()

    def test_imported_hands_on_signs_nobody_off(self, hire: Person) -> None:
        """Every row is hands-on and seen by an officer; yet there is no run that could be signed
        for, and nothing is signed."""
        assert set(Evidence.objects.values_list("modality", "observed_by__name")) == {
            ("hands-on", "Ola Field")
        }
        assert not Sheet.objects.exists()
        assert not SignOff.objects.exists()
        assert list(on_layouts(hire, now=timezone.now())) == []

    def test_it_is_given_out_with_the_person(self, hire: Person, fto: Person) -> None:
        told = record_of(hire, now=timezone.now())
        first = told["evidence"][0]

        assert first["imported from past records"] is True
        assert (first["source reference"], first["observed by"]) == ("walk 1", "Ola Field")
        assert record_of(fto, now=timezone.now())["past records of others they saw"] == 3
        assert any(line["action"] == "import past records of" for line in told["audit"])

    def test_it_leads_to_nobody_once_they_are_erased(self, hire: Person) -> None:
        erase_person("HIRE", confirm="HIRE", now=timezone.now())
        left = Evidence.objects.filter(person=None, reference="", observed_by=None)

        assert (left.count(), Evidence.objects.count()) == (3, 3)
        assert not Evidence.objects.filter(source__startswith="past record").exists()
        assert not AuditEntry.objects.filter(subject="HIRE").exists()

    def test_nor_does_the_same_file_bring_them_back(self, page: Client) -> None:
        erase_person("HIRE", confirm="HIRE", now=timezone.now() + timedelta(seconds=1))
        told = sent(page, text(*ROWS)).content.decode()

        assert "of somebody who was erased" in told
        assert "3 problems" in told

    def test_who_watched_and_is_erased_is_named_no_more(self, fto: Person) -> None:
        erase_person("FTO", confirm="FTO", now=timezone.now())

        assert Evidence.objects.filter(observed_by=None, person__isnull=False).count() == 3
