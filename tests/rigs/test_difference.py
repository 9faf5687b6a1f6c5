"""What tells two revisions apart: on its page, before publishing, and as a command."""

import json
import re
from dataclasses import replace
from datetime import date
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse

from drills.demo.factories import PersonFactory
from drills.people.models import Person
from drills.rigs.actions import import_layout
from drills.rigs.models import Posting, Revision, Rig, Station
from tests.layouts import practice_rig
from tests.rigs.conftest import NOW, ClientOf


@pytest.fixture
def moved(rig: Rig, keeper: Person) -> Revision:
    """The second revision: the response bag hangs in the wall cabinet, with what is in it."""
    bag = replace(practice_rig().by_code["BAG"], inside="I1")
    others = [each for each in practice_rig().compartments if each.code != "BAG"]
    station = Station.objects.create(slug="one", name="One")
    Rig.objects.update(station=station)
    crew = [*PersonFactory.create_batch(2), PersonFactory.create(is_active=False)]
    for person in crew:
        Posting.objects.create(person=person, station=station, starts_on=date(2026, 1, 1))
    changed = replace(practice_rig(), compartments=(*others, bag))
    return import_layout(changed, by=keeper, now=NOW, publish=True)


def page(**named: Any) -> str:
    query: str = named.pop("query", "")
    return reverse("rigs:difference", kwargs={"slug": "practice-rig"} | named) + query


def test_a_bag_that_moved_is_one_line_and_one_fact(
    client_of: ClientOf, hire: Person, moved: Revision
) -> None:
    content = client_of(hire).get(page(number=2)).content.decode()

    assert "against rev. 1" in content
    assert content.count('<td data-label="What">moved</td>') == 1
    assert "with the 4 lines inside" in content
    assert "1 fact to learn anew</b> for each of 2 people posted where 1 rig rides" in content


def test_the_first_revision_is_told_as_the_first(
    client_of: ClientOf, hire: Person, rig: Rig
) -> None:
    content = client_of(hire).get(page(number=1)).content.decode()

    assert "the first of its layout" in content
    assert "to learn anew" not in content


def test_two_revisions_can_be_named(client_of: ClientOf, hire: Person, moved: Revision) -> None:
    content = client_of(hire).get(page(number=1, query="?from=2")).content.decode()

    assert "against rev. 2" in content
    assert "S1 Street cabinet › Lower shelf › Response bag" in content


@pytest.mark.parametrize("named", ["9", "x", "-1", "٣", "1" * 400])
def test_a_revision_that_is_none_is_not_found(
    client_of: ClientOf, hire: Person, moved: Revision, named: str
) -> None:
    assert client_of(hire).get(page(number=2), {"from": named}).status_code == 404


def test_a_draft_is_compared_by_its_keeper_alone(
    client_of: ClientOf, hire: Person, keeper: Person, moved: Revision
) -> None:
    import_layout(practice_rig(), by=keeper, now=NOW)

    assert client_of(hire).get(page(number=2, query="?from=3")).status_code == 403
    assert client_of(keeper).get(page(number=2, query="?from=3")).status_code == 200


def test_before_publishing_it_says_whom_it_touches(
    client_of: ClientOf, keeper: Person, moved: Revision
) -> None:
    import_layout(practice_rig(), by=keeper, now=NOW)

    content = client_of(keeper).get(reverse("rigs:import")).content.decode()

    assert "1 fact to learn anew</b> for each of 2 people" in content


def compared(*arguments: str) -> str:
    out = StringIO()
    call_command("compare_revisions", "--layout", "practice-rig", *arguments, stdout=out)
    return out.getvalue()


def test_the_command_says_the_same(moved: Revision) -> None:
    told = compared()

    assert "moved: Response bag, lines inside: 4 (S1 Street cabinet" in told
    assert told.endswith(
        "Facts to learn anew: 1. People posted where rigs ride practice-rig: 2. Rigs: 1.\n"
    )


def test_the_command_prints_one_document(moved: Revision) -> None:
    told = json.loads(compared("--revision", "1", "--before", "2", "--json"))

    assert (told["revision"], told["before"], told["facts"], told["people"]) == (1, 2, 1, 2)
    assert [each["what"] for each in told["changes"]] == ["moved"]


def test_the_command_names_what_there_is(moved: Revision) -> None:
    with pytest.raises(CommandError, match="No revision 7 of Practice rig; there are: 1, 2"):
        compared("--revision", "7")
    with pytest.raises(CommandError, match="No layout 'x'; there are: practice-rig"):
        call_command("compare_revisions", "--layout", "x")


def test_a_change_behind_a_lock_is_marked_for_paper_and_hidden_there(
    client_of: ClientOf, hire: Person, keeper: Person, rig: Rig
) -> None:
    stock = tuple(replace(line, par=line.par + 1) for line in practice_rig().stock)
    import_layout(replace(practice_rig(), stock=stock), by=keeper, now=NOW, publish=True)

    content = client_of(hire).get(page(number=2)).content.decode()

    rows = re.findall(r'<tr class="behind-lock">(?:(?!</tr>).)*<b>([^<]+)</b>', content)
    assert sorted(rows) == ["Fentanyl", "Midazolam"]
    sheet = Path("drills/static/drills/readiness.css").read_text()
    printed = sheet[sheet.index("@media print {\n  /* Black on white") :]
    assert re.search(r"\.sched\.stacked tr\.behind-lock > \* \{ display: none; \}", printed)
