"""The keeper's list of what lapses soon."""

import re
from dataclasses import replace
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from drills.people.models import Person
from drills.rigs.actions import import_layout
from drills.rigs.models import Rig
from tests.layouts import practice_rig
from tests.rigs.conftest import NOW, ClientOf

URL = reverse("rigs:lapses")


@pytest.fixture
def dated(rig: Rig, keeper: Person) -> None:
    """The first line lapsed yesterday, the second lapses today, the others in 30, 31 and more."""
    today = timezone.localdate()
    stock = tuple(
        replace(line, expires=today + timedelta(days=days))
        for line, days in zip(practice_rig().stock, (-1, 0, 30, 31, 400), strict=False)
    )
    stock += practice_rig().stock[len(stock) :]
    import_layout(replace(practice_rig(), stock=stock), by=keeper, now=NOW, publish=True)


@pytest.mark.parametrize(("query", "count"), [("", 3), ("?within=0", 2), ("?within=31", 4)])
def test_lists_what_lapses_within_so_many_days_the_next_first(
    client_of: ClientOf, keeper: Person, dated: None, query: str, count: int
) -> None:
    content = client_of(keeper).get(URL + query).content.decode()

    items = [line.item for line in practice_rig().stock[:count]]
    assert content.count('<td data-label="Lapses">') == count
    assert content.count(">lapsed<") == 1
    places = [content.index(f"<b>{item}</b>") for item in dict.fromkeys(items)]
    assert places == sorted(places)
    assert "5 stock lines name one" in content


@pytest.mark.parametrize(
    ("within", "said"),
    [
        ("", "No number of days came in."),
        ("x", "That is no number of days."),
        ("-1", "from 0 on"),
        ("9" * 40, "At most 3650 days"),
    ],
)
def test_what_is_no_number_of_days_is_refused(
    client_of: ClientOf, keeper: Person, dated: None, within: str, said: str
) -> None:
    response = client_of(keeper).get(URL, {"within": within})

    assert response.status_code == 422
    assert said in response.content.decode()
    assert "Within 30 days" in response.content.decode()


def test_a_draft_and_what_is_retired_are_not_in_it(
    client_of: ClientOf, keeper: Person, dated: None
) -> None:
    import_layout(practice_rig(), by=keeper, now=NOW, publish=True)

    assert "0 stock lines name one" in client_of(keeper).get(URL).content.decode()


def test_what_lapses_behind_a_lock_is_marked_for_paper_and_nothing_else(
    client_of: ClientOf, keeper: Person, rig: Rig
) -> None:
    stock = tuple(replace(line, expires=timezone.localdate()) for line in practice_rig().stock)
    import_layout(replace(practice_rig(), stock=stock), by=keeper, now=NOW, publish=True)

    content = client_of(keeper).get(URL).content.decode()

    rows = re.findall(r'<tr class="behind-lock">(?:(?!</tr>).)*<b>([^<]+)</b>', content)
    assert sorted(rows) == ["Fentanyl", "Midazolam"]
