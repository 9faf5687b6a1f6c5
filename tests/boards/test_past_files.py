"""The files of past records by name, why one was taken back, and the names a file may use."""

import csv
import re
from io import StringIO

import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.competency.past.planning import plan_records
from drills.competency.past.taking_back import files_taken_in
from drills.people.models import Person
from drills.rigs.models import Rig
from tests.boards.test_past_records import ROWS, TAKE, URL, again, sent
from tests.boards.test_past_records import page as page
from tests.competency.test_past_records import GOOD, text
from tests.runs.conftest import client_of as client_of
from tests.runs.conftest import rig as rig

pytestmark = pytest.mark.django_db
NAMES = reverse("boards:accepted_names")


def listed(page: Client) -> str:
    (file,) = re.findall(r'<li class="rowline taken".*?</li>', page.get(URL).content.decode(), re.S)
    return " ".join(re.sub("<[^>]+>", " ", file).split())


def test_a_file_is_known_by_its_name_with_who_and_when(page: Client, educator: Person) -> None:
    shown = sent(page, text(*ROWS))
    assert "<b>records.csv</b>" in shown.content.decode()
    page.post(TAKE, again(shown))

    (file,) = files_taken_in()
    assert file.name == "records.csv"
    assert listed(page).startswith(f"records.csv {file.reference} in the audit taken in ")
    assert educator.name in listed(page)


def test_the_command_keeps_the_name_as_well(page: Client, tmp_path: object) -> None:
    path = f"{tmp_path}/walk-rounds.csv"
    with open(path, "wb") as file:
        file.write(text(GOOD))
    call_command("import_records", path, stdout=StringIO())

    assert files_taken_in()[0].name == "walk-rounds.csv"


def test_once_taken_back_it_says_when_by_whom_and_why(page: Client, educator: Person) -> None:
    page.post(TAKE, again(sent(page, text(*ROWS))))
    (file,) = files_taken_in()
    assert "Taken back" not in listed(page)

    url = reverse("boards:take_back_past_records", args=[file.line.pk])
    page.post(url, {"because": "the day was wrong <b>"})

    today = timezone.localtime()
    told = listed(page)
    assert f"Taken back {today.day} {today:%b %Y}, " in told
    assert f"{educator.name}: the day was wrong &lt;b&gt;" in told
    assert "3 records came in" in told


def test_the_layouts_stand_on_the_page_and_every_name_in_a_file_that_is_accepted(
    page: Client, rig: Rig, hire: Person
) -> None:
    """Each name of the file, put in a row, is understood; what is behind a lock has no place."""
    assert f"<b>{rig.layout.slug}</b> for {rig.layout.name}" in page.get(URL).content.decode()
    content = page.get(NAMES).content.decode("utf-8-sig")
    header, *rows = csv.reader(StringIO(content))

    assert header[:2] == ["layout", "item"]
    assert {"Splint", "Tourniquet", "BAG"} <= {row[1] for row in rows}
    assert "Locked drawer" not in content
    for layout, item, _, _, places in rows:
        place = places.partition(";")[0]
        row = GOOD.split(",")
        row[2:5] = layout, f'"{item}"', place
        plan = plan_records(text(",".join(row)), by=None, now=timezone.now())
        assert not plan.problems, (item, plan.problems)
