"""Past records: a file is checked row by row, and stored whole or not at all."""

import csv
import json
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from io import StringIO
from pathlib import Path
from time import monotonic
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test import override_settings
from django.test.utils import CaptureQueriesContext

from drills.competency.alone import UnderWayError
from drills.competency.gathering import Numbering, columns_of, seen_rows
from drills.competency.models import Evidence, Fit, PersonOffset, Refit
from drills.competency.past.planning import Plan, plan_records
from drills.competency.past.taking import NotTakenError, take_records
from drills.competency.refitting import refit
from drills.competency.reports import knowledge_of, observed_outcomes
from drills.engine.editing import remove_line
from drills.engine.knowing.times import fit_times
from drills.engine.past_records import COLUMNS, EXAMPLE, MAX_RECORDS, write_records
from drills.people.models import AuditEntry, Person
from drills.rigs.actions import import_layout
from drills.rigs.models import ItemTerms, Need, Revision, Rig
from tests.boards.conftest import with_bag_moved
from tests.competency.others import another_refit
from tests.competency.test_actions import NOW
from tests.competency.test_actions import rig as rig
from tests.competency.test_refit import FACTS, say
from tests.competency.test_refit import answered as answered
from tests.layouts import practice_rig

DATA = Path(__file__).resolve().parent.parent / "data"
HEADER = ",".join(COLUMNS)
FIRST, SECOND = date(2026, 1, 1), date(2026, 7, 1)
GOOD = "HIRE,2026-02-01,practice-rig,Splint,,right,4.2,hands-on,FTO,no,walk 1"

pytestmark = pytest.mark.django_db


@pytest.fixture
def service(hire: Person, fto: Person, outsider: Person, educator: Person, rig: Rig) -> Rig:
    """Two revisions: in July the bag moved into the cabinet, and the splint went."""
    Revision.objects.update(effective_on=FIRST)
    for key, items in (
        ("neck-collar-need", ["neck collar"]),
        ("two-things-need", ["suction tip", "oral airway set"]),
    ):
        need = Need.objects.create(key=key, name_us=key, category="x")
        ItemTerms.objects.filter(item__key__in=items).update(need=need)
    later = remove_line(with_bag_moved(practice_rig()), "splint", "S1A")
    import_layout(later, by=None, now=NOW - timedelta(days=100), publish=True)
    Revision.objects.filter(number=2).update(effective_on=SECOND)
    rig.refresh_from_db()
    return rig


def table(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def text(*rows: str, header: str = HEADER) -> bytes:
    return "\n".join([header, *rows, ""]).encode()


def plan_of(data: bytes, *, by: Person | None = None) -> Plan:
    return plan_records(data, by=by, now=NOW)


def take(data: bytes, *, by: Person | None = None, now: datetime = NOW) -> Plan:
    return take_records(data, seen=None, by=by, now=now)


def problems(data: bytes, *, by: Person | None = None) -> list[tuple[Any, ...]]:
    return [
        (each.row, each.column, each.got, each.accepted) for each in plan_of(data, by=by).problems
    ]


def imported() -> Iterator[Evidence]:
    rows = Evidence.objects.filter(is_imported=True).select_related("fact__item", "fact__bag")
    yield from rows.select_related("fact__place", "person", "observed_by", "revision")


def told(*arguments: str) -> tuple[dict[str, Any], str]:
    out, err = StringIO(), StringIO()
    call_command("import_records", *arguments, stdout=out, stderr=err)
    found: dict[str, Any] = json.loads(out.getvalue())
    return found, err.getvalue()


@pytest.mark.usefixtures("service")
class TestReading:
    def test_each_row_tells_of_its_facts_as_on_the_revision_then(self) -> None:
        """Of the table each row becomes the facts, whether it is a first answer, and its verdict
        that stand beside it."""
        cases = table("past_records.csv")
        plan = plan_of((DATA / "past_records.csv").read_bytes())
        found = [
            "; ".join(f"{each.fact} {each.outcome}" for each in record.findings)
            for record in plan.records
        ]
        take((DATA / "past_records.csv").read_bytes())
        firsts = {row.source: row.is_first for row in imported()}
        verdicts = {row.source: row.time_verdict for row in imported()}

        assert plan.problems == ()
        assert found == [case["tells"] for case in cases]
        assert [firsts[each.source] for each in plan.records] == [
            case["first"] == "yes" for case in cases
        ]
        assert [verdicts[each.source] for each in plan.records] == [
            case["verdict"] for case in cases
        ]

    def test_what_is_not_known_of_a_row_is_not_made_up(self, fto: Person) -> None:
        take(text(GOOD))
        (row,) = imported()

        assert (row.choices_offered, row.limit_seconds, row.prediction) == (0, None, None)
        assert (row.depth_asked, row.device_class, row.rig, row.predicted_by) == ("", "", None, "")
        assert (row.seconds, row.time_state, row.chosen_by) == (4.2, "unverified", "past")
        assert (row.observed_by, row.reference, row.modality) == (fto, "walk 1", "hands-on")
        assert not row.is_simulated

    @pytest.mark.parametrize("case", table("past_records_refused.csv"), ids=lambda e: e["got"][:30])
    def test_a_bad_row_is_told_with_what_came_in_and_what_would_be_accepted(
        self, case: dict[str, str], educator: Person
    ) -> None:
        told = problems(text(GOOD, case["row"]), by=educator)

        assert told == [(3, case["column"], case["got"], case["accepted"])]

    def test_every_problem_is_told_at_once_and_nothing_is_stored(self) -> None:
        bad = text(GOOD, "NOBODY,2027-01-01,other,Splint,,lost,x,paper,,,", "HIRE,,,,,,,,,,")
        with pytest.raises(NotTakenError) as refused:
            take(bad)

        assert [each.row for each in refused.value.plan.problems] == [3] * 6 + [4] * 5
        assert not Evidence.objects.exists()
        assert not AuditEntry.objects.filter(action__startswith="import past").exists()
        assert not Refit.objects.exists()

    @override_settings(TIME_ZONE="America/Denver")
    def test_moments_without_a_zone_are_by_the_agencys_clock(self) -> None:
        """A date alone is the start of that day there; a moment that names its zone stays."""
        rows = ("2026-02-01", "2026-02-01T09:30", "2026-02-01T09:30Z")
        take(text(*(GOOD.replace("2026-02-01", each) for each in rows)))

        assert [row.at for row in imported()] == [
            datetime(2026, 2, 1, 7, tzinfo=UTC),
            datetime(2026, 2, 1, 9, 30, tzinfo=UTC),
            datetime(2026, 2, 1, 16, 30, tzinfo=UTC),
        ]

    @override_settings(TIME_ZONE="America/Denver")
    def test_the_revision_is_that_of_the_day_there(self) -> None:
        """Three in the morning of July by the world's clock is the last evening of June."""
        take(text(GOOD.replace("2026-02-01", "2026-07-01T03:00Z")))

        assert [row.revision.number for row in imported()] == [1]


@pytest.mark.usefixtures("service")
class TestHostile:
    @pytest.mark.parametrize(
        "data",
        [
            b"\xef\xbb\xbf" + text(GOOD),
            text(GOOD).replace(b"\n", b"\r\n"),
            text(GOOD).replace(b",", b";"),
            text(GOOD).replace(b",", b"\t"),
            text(GOOD, header=HEADER.upper().replace("_", " ")),
            text(*[GOOD.replace("Splint", '"Splint"').replace("walk 1", '"walk 1"')]),
            text("", GOOD, ",,,,,,,,,,"),
            text(GOOD.replace("practice-rig,Splint", " practice-rig , Splint ")),
        ],
        ids=["bom", "crlf", "semicolons", "tabs", "capitals", "quotes", "blank rows", "spaces"],
    )
    def test_the_same_record_however_the_file_is_written(self, data: bytes) -> None:
        take(text(GOOD))

        plan = plan_of(data)

        assert (plan.problems, plan.records, plan.known) == ((), (), 1)

    @pytest.mark.parametrize(
        ("data", "got"),
        [
            (b"", "an empty file"),
            (b"\n\n", "an empty file"),
            (HEADER.encode(), "a header without rows"),
            (text(GOOD).decode().encode("utf-16"), "the byte 0xff, which is not UTF-8,"),
            (
                text(GOOD.replace("walk", "Gänge")).decode().encode("latin-1"),
                "the byte 0xe4, which is not UTF-8,",
            ),
            (text(GOOD.replace("walk", '"walk')), "text that cannot be split into cells"),
            (b"PK\x03\x04\x14\x00\x00\x00\x08\x00\xff\xfe", "the byte 0xff, which is not UTF-8,"),
        ],
    )
    def test_what_is_no_such_file_is_refused_in_words(self, data: bytes, got: str) -> None:
        assert problems(data)[0][2] == got

    def test_a_column_that_is_needed_and_missing_is_named(self) -> None:
        told = problems(text("HIRE,2026-02-01", header="employee_number,at"))

        assert [each[1] for each in told] == ["layout", "item", "outcome", "modality"]

    def test_a_formula_stays_text_and_control_characters_are_refused(self) -> None:
        take(text(GOOD.replace("walk 1", '"=HYPERLINK(""x"")"')))
        (row,) = imported()

        assert row.reference == '=HYPERLINK("x")'
        assert problems(text(GOOD.replace("walk 1", "walk\x001")))[0][1] == "source_reference"

    def test_more_rows_than_are_read_are_refused(self) -> None:
        assert problems(text(*[GOOD] * (MAX_RECORDS + 1)))[0][2:] == (
            "20001 rows",
            "at most 20000 records",
        )

    def test_the_example_of_the_blank_file_is_no_record(self) -> None:
        assert {each[1] for each in problems(write_records([EXAMPLE]))} >= {"employee_number"}

    def test_ten_thousand_rows_are_taken_in_reasonable_time(self) -> None:
        """Ten thousand in less than a minute on a crowded machine, and with no query for each."""
        rows = [
            GOOD.replace(
                "2026-02-01", f"{FIRST + timedelta(days=number % 180)}T10:00:{number % 60:02}"
            ).replace("walk 1", f"walk {number}")
            for number in range(10_000)
        ]
        began = monotonic()
        with CaptureQueriesContext(connection) as asked:
            take(text(*rows))

        assert Evidence.objects.count() == 10_000
        assert monotonic() - began < 60
        assert len(asked) < 10_000 / 25


@pytest.mark.usefixtures("service")
class TestTaking:
    def test_the_same_file_twice_adds_nothing(self) -> None:
        data = (DATA / "past_records.csv").read_bytes()
        first = take(data)
        before = list(Evidence.objects.values())
        again = take(data, now=NOW + timedelta(days=1))

        assert (len(first.records), first.known) == (13, 0)
        assert (len(again.records), again.known) == (0, 13)
        assert list(Evidence.objects.values()) == before
        assert AuditEntry.objects.filter(action="import past records").count() == 1

    def test_a_file_that_grew_adds_what_is_new_alone(self) -> None:
        take(text(GOOD))
        plan = take(text(GOOD, GOOD.replace("2026-02-01", "2026-02-02")))

        assert (len(plan.records), plan.known) == (1, 1)
        assert Evidence.objects.count() == 2

    def test_what_was_voided_does_not_come_back(self) -> None:
        take(text(GOOD))
        Evidence.objects.update(voided_at=NOW, voided_by="EDUCATOR")

        assert take(text(GOOD)).known == 1
        assert not Evidence.objects.standing().exists()

    def test_one_record_twice_in_a_file_is_refused(self) -> None:
        """Written another way it is the same; with a reference of its own it is another one."""
        other = GOOD.replace("Splint,,", "splint,S1A,").replace("2026-02-01", "2026-02-01T00:00")

        assert problems(text(GOOD, other))[0][:3] == (3, "at", "the same record as in row 2")
        assert problems(text(GOOD, GOOD.replace("walk 1", "walk 2"))) == []

    def test_it_is_written_down_who_sent_in_of_whom_how_many(self, educator: Person) -> None:
        take((DATA / "past_records.csv").read_bytes(), by=educator)
        lines = AuditEntry.objects.filter(action__startswith="import past").order_by("subject")

        assert [(each.subject, (each.after or {}).get("records")) for each in lines] == [
            ("13 records of 2 people", 13),
            ("HIRE", 10),
            ("OUTSIDER", 3),
        ]
        assert {each.actor for each in lines} == {educator}

    def test_what_was_shown_is_stored_or_nothing(self) -> None:
        seen = plan_of(text(GOOD)).fingerprint
        take(text(GOOD))
        with pytest.raises(NotTakenError):
            take_records(text(GOOD), seen=seen, by=None, now=NOW)

    def test_nothing_comes_in_while_a_refit_reads(self) -> None:
        with (
            another_refit(NOW, stage="reading the evidence"),
            pytest.raises(UnderWayError, match="reading the evidence"),
        ):
            take(text(GOOD))

        assert not Evidence.objects.exists()

    def test_who_left_has_a_past_as_well(self, hire: Person) -> None:
        Person.objects.filter(pk=hire.pk).update(is_active=False)

        assert len(take(text(GOOD)).records) == 1


class TestKnowing:
    """What past records change of what is thought, and when."""

    ROWS = tuple(
        f"HIRE,2026-{month:02}-{day:02},practice-rig,{thing},,{outcome},5,screen,,,"
        for month in (8, 9)
        for day, thing, outcome in (
            (1, "Splint", "wrong"),
            (2, "Traffic cone", "wrong"),
            (3, "Suction tip", "timed out"),
        )
    )

    @pytest.fixture(autouse=True)
    def long_ago(self, rig: Rig) -> None:
        Revision.objects.update(effective_on=FIRST)

    def fitted(self, at: datetime = NOW) -> Fit:
        made = refit(now=lambda: at, say=say)
        assert made is not None
        return made

    def check(self) -> str:
        out = StringIO()
        call_command("recompute", "--check", stdout=out, stderr=StringIO())
        return out.getvalue()

    @pytest.mark.usefixtures("answered")
    def test_until_the_refit_the_past_is_known_and_nobody_has_moved(
        self, hire: Person, rig: Rig
    ) -> None:
        """The rows are a part of what came before at once, however old beside the newest answers.
        The person's own offset stays as it was fitted, and replaying agrees."""
        self.fitted()
        own = PersonOffset.objects.values().get(person=hire)
        before = knowledge_of(hire, layout=rig.layout, now=NOW)
        take(text(*self.ROWS))
        after = knowledge_of(hire, layout=rig.layout, now=NOW)
        missed = [fact for fact in FACTS if fact.thing in ("splint", "traffic cone")]

        assert PersonOffset.objects.values().get(person=hire) == own
        assert after.of(missed).chance != before.of(missed).chance
        assert after.of(missed).first_answers == before.of(missed).first_answers + 4
        assert "is what its 240 first answers lead to" in self.check()

    @pytest.mark.usefixtures("answered")
    def test_the_next_refit_is_fitted_to_them_and_replays_the_same(self, hire: Person) -> None:
        """Rows that came in after newer ones stand where they belong in time."""
        first = self.fitted()
        take(text(*self.ROWS))
        second = self.fitted(NOW + timedelta(days=1))
        offset = PersonOffset.objects.get(person=hire)

        assert (first.answers, second.answers) == (240, 246)
        assert offset.fit == second
        assert "is what its 246 first answers lead to" in self.check()

    @pytest.mark.usefixtures("answered")
    def test_the_order_they_came_in_changes_nothing(self, hire: Person) -> None:
        """Sent in before or after newer answers, and in one file or several, it is the same fit."""
        take(text(*self.ROWS))
        one = self.fitted().figures["coefficients"]
        Evidence.objects.filter(is_imported=True).delete()
        for row in reversed(self.ROWS):
            take(text(row))

        assert self.fitted(NOW + timedelta(days=1)).figures["coefficients"] == pytest.approx(one)

    def test_what_ran_out_took_longer_than_it_shows(self, hire: Person) -> None:
        """Timings have those rows alone that tell a time; of what timed out at 30 s more than 30 s
        is expected, and without a time it is in none."""
        row = "HIRE,2026-08-{:02},practice-rig,Splint,,{},{},screen,,,"
        right = [row.format(day, "right", 10 + day) for day in range(1, 9)]
        out = [row.format(day, "timed out", 30) for day in range(10, 14)]
        untold = [row.format(day, "right", "") for day in range(15, 19)]
        usual = []
        for rows in (right, [*right, *untold], [*right, *out], [*right, *row_of_wrong(row)]):
            Evidence.objects.all().delete()
            take(text(*rows))
            answers = columns_of(seen_rows(Evidence.objects.all()), Numbering())
            usual.append(float(fit_times(answers).usual[0]))

        assert usual[0] == usual[1] == usual[3]
        assert usual[2] > usual[0] + 0.2

    def test_no_chance_of_a_lucky_guess_is_taken_off(self, hire: Person) -> None:
        take(text(*self.ROWS))
        answers = columns_of(seen_rows(Evidence.objects.all()), Numbering())

        assert set(answers.guess) == {0.0}

    def test_it_is_no_check_against_the_crews(self, hire: Person, fto: Person) -> None:
        """Nothing had been said of it beforehand."""
        take(text(GOOD))

        assert observed_outcomes() == 0


def row_of_wrong(row: str) -> list[str]:
    return [row.format(day, "wrong", 50) for day in range(20, 24)]


@pytest.mark.usefixtures("service")
class TestCommand:
    def test_a_dry_run_says_what_would_come_in_and_stores_nothing(self, tmp_path: Path) -> None:
        file = tmp_path / "records.csv"
        file.write_bytes((DATA / "past_records.csv").read_bytes())
        looked, remarks = told(str(file), "--dry-run")

        assert not Evidence.objects.exists()
        stored, _ = told(str(file))
        assert (looked.pop("stored"), stored.pop("stored")) == (False, True)
        assert looked == stored
        assert looked == {
            "records": 13,
            "here already": 0,
            "people": 2,
            "revisions": {"Practice rig, rev. 1": 12, "Practice rig, rev. 2": 1},
            "modalities": {"screen": 7, "hands-on": 5, "scan": 1},
            "with a time": 7,
            "from": "2026-02-01",
            "until": "2026-07-01",
        }
        assert 'column "tells": this column is not known and is kept out' in remarks

    def test_problems_are_lines_with_their_numbers(self, tmp_path: Path) -> None:
        file = tmp_path / "records.csv"
        file.write_bytes(text(GOOD, GOOD.replace("HIRE", "NOBODY"), GOOD.replace("Splint", "Saw")))
        with pytest.raises(CommandError) as refused:
            told(str(file))

        lines = str(refused.value).splitlines()
        assert [line.partition(",")[2].split(":")[0] for line in lines[:2]] == [
            " row 3, column employee_number",
            " row 4, column item",
        ]
        assert lines[-1] == "Nothing is stored."

    def test_a_file_that_is_not_there(self, tmp_path: Path) -> None:
        with pytest.raises(CommandError, match="cannot be read"):
            told(str(tmp_path / "none.csv"))
