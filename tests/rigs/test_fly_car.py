"""A body that nobody thought of, named as crews talk: from its workbook to a drill, by the pages.

The car, its names and the keeper's decisions are invented; they were written down from the guide
alone.
"""

import re
from io import BytesIO
from zipfile import ZipFile

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.people.models import Person
from drills.rigs.models import Layout, Rig
from drills.rigs.ties import need_ties, open_revisions, terms_of
from drills.rigs.tying import CHOICE, NONE, OTHER, WORDS
from drills.runs.models import Run
from tests.reference import DATA, load_reference, table
from tests.rigs.conftest import ClientOf
from tests.runs.player import Player, right

# What the keeper is asked a second time: naloxone, salbutamol and ketamine come otherwise there.
ACROSS_STRENGTHS = [
    "0.4 mg/mL here, 1 mg/mL there",
    "1 mg/mL here, 0.833333 mg/mL there",
    "10 mg/mL here, 100 mg/mL there",
]
SLUG, SHEETS = "fly-car", ("layout", "compartments", "stock", "points")


def workbook() -> BytesIO:
    data = BytesIO()
    with ZipFile(data, "w") as archive:
        for sheet in SHEETS:
            archive.write(DATA / "fly_car" / f"{sheet}.csv", f"{sheet}.csv")
    data.seek(0)
    data.name = "fly-car.zip"
    return data


def decisions() -> dict[str, str]:
    """What the keeper says each item is, by its name."""
    return {row["item"]: row["need"] for row in table("fly_car_decisions.csv")}


def tie_all(keeper: Client) -> None:
    """Decide on every item that waits, as many at once as the page asks for."""
    layout, said = Layout.objects.get(slug=SLUG), decisions()
    posted = {}
    for row in terms_of(*open_revisions(layout)):
        if row.need_id is None:
            need = said[row.name]
            posted[f"{CHOICE}{row.item_id}"] = NONE if need == "none" else OTHER
            posted[f"{WORDS}{row.item_id}"] = "" if need == "none" else need
    page = keeper.post(reverse("rigs:ties", args=[SLUG]), posted)
    assert page.status_code == 422
    asked = dict(re.findall(r'name="(across-\d+)" value="([^"]+)"', page.content.decode()))
    assert sorted(asked.values()) == ACROSS_STRENGTHS
    answer = keeper.post(reverse("rigs:ties", args=[SLUG]), posted | asked)
    assert answer.status_code == 302


@pytest.mark.django_db
def test_is_imported_tied_published_and_drilled(
    keeper: Person, hire: Person, client_of: ClientOf
) -> None:
    load_reference(without=["people"])
    desk, phone = client_of(keeper), client_of(hire)

    desk.post(reverse("rigs:import"), {"workbook": workbook()})
    tie_all(desk)
    desk.post(reverse("rigs:publish", args=[SLUG, 1]))
    desk.post(reverse("rigs:add_rig", args=[SLUG]), {"unit": "F-1"})
    phone.post(reverse("rigs:pick", args=["F-1"]))
    assert "Drawer unit" in phone.get(reverse("rigs:walk", args=[SLUG])).content.decode()
    phone.post(reverse("runs:start"), {"recipe": "find-ten"})

    layout = Layout.objects.get(slug=SLUG)
    assert not layout.published.untied.exists()  # type: ignore[union-attr]  # it is published
    ties = need_ties(layout.published)  # type: ignore[arg-type]  # it is published
    assert len(ties) >= sum(need != "none" for need in decisions().values())
    assert all(tie.is_confirmed for tie in ties.values())
    run = Run.objects.get(person=hire)
    assert run.rig == Rig.objects.get(unit="F-1")
    done = Player(run, now=timezone.now()).finish(right)
    assert len(done) >= 10
    debrief = phone.get(reverse("runs:take", args=[run.pk]), follow=True)
    assert "Debrief" in debrief.content.decode()
    assert "every first answer was right" in debrief.content.decode()
