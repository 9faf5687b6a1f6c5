"""Call types out as a workbook and in again: looked at, then stored, each with its line."""

import json
import re
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from drills.engine.calls_workbook import Kept, read_calls, to_xlsx, to_zip
from drills.people.models import AuditEntry, Person
from drills.rigs.reference import CHANGED, EDITED
from drills.scenarios.actions import review_call
from drills.scenarios.ailments import patients_mark
from drills.scenarios.kept import kept_of, known
from drills.scenarios.models import CallType
from tests.layouts import FIXTURES
from tests.rigs.test_reference import update
from tests.scenarios.conftest import NOW, ClientOf
from tests.scenarios.test_call_pages import said, send

pytestmark = pytest.mark.django_db

URL, STORE = reverse("scenarios:import"), reverse("scenarios:store")


@pytest.fixture
def client(bleeding: CallType, educator: Person, client_of: ClientOf) -> Client:
    return client_of(educator)


def sent(content: bytes, name: str = "calls.xlsx") -> dict[str, SimpleUploadedFile]:
    return {"workbook": SimpleUploadedFile(name, content)}


def hidden(page: bytes) -> dict[str, str]:
    """What the page would send back to be stored."""
    found = re.findall(r'<input type="hidden" name="(content|seen)" value="([^"]*)"', page.decode())
    return {name: unescape(value) for name, value in found}


def other(call: CallType, **changes: Any) -> dict[str, Kept]:
    return {call.slug: kept_of(call) | changes}


@pytest.mark.parametrize(("kind", "name"), [("xlsx", "c.xlsx"), ("zip", "c.zip")])
def test_what_is_given_out_is_read_back_the_same(
    client: Client, bleeding: CallType, kind: str, name: str
) -> None:
    response = client.get(reverse("scenarios:export", args=[kind]))

    read = read_calls(response.content, known(), name=name)
    assert dict(read.calls) == {"bleeding": kept_of(bleeding)}
    assert response["Content-Disposition"] == f'attachment; filename="calls.{kind}"'
    assert client.get(reverse("scenarios:export", args=["pdf"])).status_code == 404
    one = reverse("scenarios:export", args=["zip"])
    assert client.get(one, {"call": "none-such"}).status_code == 404
    assert client.get(one, {"call": "bleeding"}).content == to_zip(other(bleeding))


def test_looking_at_a_workbook_stores_nothing(client: Client, bleeding: CallType) -> None:
    calls = other(bleeding, owner="The office") | {
        "deep-cut": kept_of(bleeding) | {"name": "Deep cut"}
    }
    calls["bleeding"]["needs"] = calls["bleeding"]["needs"][1:]

    response = client.post(URL, sent(to_xlsx(calls)))

    assert response.status_code == 200
    words = said(response.content)
    assert "calls changed – owner: test owner: The office" in words
    assert "needs gone tourniquet-limb problem: bleed" in words
    assert "grade: must quantity: 1" in words
    assert "taken out" in words
    assert "Deep cut new" in words
    assert CallType.objects.get() == bleeding
    bleeding.refresh_from_db()
    assert bleeding.version == 1


def test_what_was_looked_at_is_stored_and_the_rest_stays(
    client: Client, bleeding: CallType, educator: Person
) -> None:
    bleeding.reviewed_by = "Dr Example"
    bleeding.save()
    new = {"deep-cut": kept_of(bleeding) | {"name": "Deep cut"}}

    response = client.post(STORE, hidden(client.post(URL, sent(to_xlsx(new))).content))

    assert response.status_code == 302
    assert kept_of(CallType.objects.get(slug="deep-cut")) == new["deep-cut"]
    bleeding.refresh_from_db()
    assert (bleeding.version, bleeding.reviewed_by) == (1, "Dr Example")
    line = AuditEntry.objects.get(action="import call type")
    assert (line.actor, line.subject, line.after) == (educator, "deep-cut", "new")


def test_a_changed_call_type_loses_its_review_and_an_unchanged_one_keeps_it(
    client: Client, bleeding: CallType
) -> None:
    bleeding.reviewed_by = "Dr Example"
    bleeding.save()
    page = client.post(URL, sent(to_xlsx(other(bleeding)))).content
    assert hidden(page) == {}
    assert "1 stays as it is" in said(page)

    client.post(STORE, hidden(client.post(URL, sent(to_xlsx(other(bleeding, scene="x")))).content))

    bleeding.refresh_from_db()
    assert (bleeding.scene, bleeding.version, bleeding.reviewed_by) == ("x", 2, "")


def test_every_mistake_of_a_file_is_listed_and_nothing_is_stored(
    client: Client, bleeding: CallType
) -> None:
    bad = [need | {"grade": "maybe"} for need in bleeding.needs]

    response = client.post(URL, sent(to_xlsx(other(bleeding, needs=bad, scene=""))))

    assert response.status_code == 422
    words = said(response.content)
    assert "4 problems in calls.xlsx nothing is stored" in words
    assert words.count('"maybe" one of must, useful, needless') == 3
    assert hidden(response.content) == {}


def test_a_call_type_that_would_not_be_whole_is_refused(client: Client, bleeding: CallType) -> None:
    page = client.post(URL, sent(to_zip(other(bleeding, phrases=[])), "calls.zip"))

    assert page.status_code == 422
    assert "bleeding: It has no phrases." in said(page.content)
    assert hidden(page.content) == {}


def test_what_somebody_changed_since_is_shown_once_more(client: Client, bleeding: CallType) -> None:
    seen = hidden(client.post(URL, sent(to_xlsx(other(bleeding, scene="x")))).content)
    send(client, reverse("scenarios:add_row", args=["bleeding", "calls"]), {"scene": "y"})

    response = client.post(STORE, seen)

    assert response.status_code == 422
    assert "Somebody changed one of these call types since you looked." in said(response.content)
    assert client.post(STORE, hidden(response.content)).status_code == 302
    bleeding.refresh_from_db()
    assert bleeding.scene == "x"


def test_a_release_leaves_what_was_edited_or_reviewed_here(
    educator: Person, client_of: ClientOf, tmp_path: Path
) -> None:
    """The next release says other words of three call types; one is edited, one reviewed."""
    update()
    client = client_of(educator)
    send(client, reverse("scenarios:add_row", args=["burns", "calls"]), {"scene": "a yard"})
    fall = CallType.objects.get(slug="fall")
    mark = patients_mark(fall)
    review_call(
        fall, reviewer="Dr Example", version=fall.version, patients=mark, by=educator, now=NOW
    )
    next_release = tmp_path / "call_types.json"
    rows = json.loads((FIXTURES / "call_types.json").read_text())
    for row in rows:
        row["fields"]["size_up"] = "New words"
    next_release.write_text(json.dumps(rows))

    told = update(next_release)

    assert f"scenarios.calltype:burns: {EDITED}" in told
    assert f"scenarios.calltype:fall: {EDITED}" in told
    assert f"scenarios.calltype:stroke: {CHANGED}" in told
    said_now = dict(CallType.objects.values_list("slug", "size_up"))
    assert said_now["stroke"] == "New words"
    assert "New words" not in (said_now["burns"], said_now["fall"])
    assert CallType.objects.get(slug="burns").scene == "a yard"
