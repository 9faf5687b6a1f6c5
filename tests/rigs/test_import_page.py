"""The page that takes workbooks, and their drafts."""

import re
from dataclasses import replace
from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from drills.engine.editing import remove_place
from drills.engine.layout import Layout as EngineLayout
from drills.engine.workbook import to_xlsx, to_zip
from drills.people.models import AuditEntry, Person
from drills.rigs.actions import edit_draft, import_layout
from drills.rigs.forms import BIGGEST_UPLOAD
from drills.rigs.models import Layout, Revision, RevisionState, Rig
from tests.layouts import practice_rig
from tests.rigs.conftest import FRAGMENT, NOW, ClientOf

URL = reverse("rigs:import")
LATER = NOW + timedelta(minutes=1)


def changed() -> EngineLayout:
    """The practice rig with one more cone."""
    first, *others = practice_rig().stock
    return replace(practice_rig(), stock=(replace(first, par=first.par + 1), *others))


def sent(content: bytes, name: str = "layout.xlsx") -> dict[str, SimpleUploadedFile]:
    return {"workbook": SimpleUploadedFile(name, content)}


@pytest.fixture
def draft(rig: Rig, keeper: Person) -> Revision:
    return import_layout(changed(), by=keeper, now=NOW)


def test_asks_for_a_workbook(client_of: ClientOf, keeper: Person) -> None:
    found = client_of(keeper).get(URL).content.decode()

    assert 'type="file"' in found
    assert "No draft is waiting" in found


@pytest.mark.parametrize(("write", "name"), [(to_xlsx, "a.xlsx"), (to_zip, "a.ZIP")])
def test_stores_a_draft_and_shows_its_changes(
    client_of: ClientOf, keeper: Person, rig: Rig, write: object, name: str
) -> None:
    assert callable(write)

    response = client_of(keeper).post(URL, sent(write(changed()), name), follow=True)

    found = response.content.decode()
    assert response.redirect_chain == [(URL, 302)]
    assert "draft rev. 2" in found
    assert "par changed" in found
    assert "Traffic cone" in found
    assert rig.layout.draft is not None


def said_before_publishing(client: Client, workbook: EngineLayout) -> str:
    page = client.post(URL, sent(to_xlsx(workbook)), follow=True).content.decode()
    return " ".join(re.sub(r"<[^>]*>", "", page).split())


class TestSaysWhatPublishingMakes:
    def test_a_layout_that_is_new(self, client_of: ClientOf, keeper: Person) -> None:
        said = said_before_publishing(client_of(keeper), practice_rig())

        assert "New layout Practice rig (practice-rig)." in said
        assert "Next revision" not in said

    def test_the_next_revision_of_one(self, client_of: ClientOf, keeper: Person, rig: Rig) -> None:
        said = said_before_publishing(client_of(keeper), changed())

        assert "Next revision 2 of Practice rig (practice-rig)." in said
        assert "New layout" not in said

    def test_a_new_name_which_publishing_gives(
        self, client_of: ClientOf, keeper: Person, rig: Rig
    ) -> None:
        client = client_of(keeper)

        said = said_before_publishing(client, replace(practice_rig(), name="Training rig"))
        named_before = Layout.objects.get().name
        client.post(reverse("rigs:publish", args=["practice-rig", 2]))

        assert "Next revision 2 of Practice rig (practice-rig), now called Training rig." in said
        assert named_before == "Practice rig"
        assert Layout.objects.get().name == "Training rig"


def test_says_every_problem_and_stores_nothing(client_of: ClientOf, keeper: Person) -> None:
    first, *others = practice_rig().compartments
    bad = replace(practice_rig(), compartments=(replace(first, face="roof"), *others))

    response = client_of(keeper).post(URL, sent(to_xlsx(bad)))

    found = response.content.decode()
    assert response.status_code == 422
    assert "roof" in found
    assert "What would be accepted" in found
    assert Layout.objects.count() == 0


@pytest.mark.parametrize(
    ("content", "name", "said"),
    [
        (b"x", "layout.pdf", "layout.pdf came in."),
        (b"", "layout.xlsx", "The file is empty."),
        (b"not a workbook", "layout.xlsx", "1 problem in layout.xlsx"),
        (b"x" * (BIGGEST_UPLOAD + 1), "layout.zip", "At most 5 MB is read."),
    ],
)
def test_refuses_what_is_no_workbook(
    client_of: ClientOf, keeper: Person, content: bytes, name: str, said: str
) -> None:
    response = client_of(keeper).post(URL, sent(content, name))

    assert response.status_code == 422
    assert said in response.content.decode()


def test_asks_again_when_nothing_was_chosen(client_of: ClientOf, keeper: Person) -> None:
    response = client_of(keeper).post(URL)

    assert response.status_code == 422
    assert "No file came in." in response.content.decode()


def test_the_same_workbook_again_changes_nothing(
    client_of: ClientOf, keeper: Person, rig: Rig
) -> None:
    response = client_of(keeper).post(URL, sent(to_xlsx(practice_rig())), follow=True)

    assert "Nothing is changed." in response.content.decode()
    assert Revision.objects.count() == 1


def test_is_for_keepers_alone(
    client_of: ClientOf, hire: Person, educator: Person, admin: Person
) -> None:
    asked = [client_of(person).get(URL).status_code for person in (hire, educator, admin)]

    assert asked == [403, 403, 200]


def test_is_nothing_for_a_stranger(db: None) -> None:
    assert Client().post(URL)["Location"].startswith(reverse("people:sign_in"))


def shown_in(client: Client) -> str:
    """The mark of the draft that the page shows."""
    found = re.search(r'name="shown" value="([^"]+)"', client.get(URL).content.decode())
    assert found is not None
    return found[1]


class TestPublish:
    url = reverse("rigs:publish", args=["practice-rig", 2])

    def test_puts_the_draft_in_force(
        self, client_of: ClientOf, keeper: Person, rig: Rig, draft: Revision
    ) -> None:
        response = client_of(keeper).post(self.url)

        rig.refresh_from_db()
        assert response["Location"] == reverse("rigs:difference", args=["practice-rig", 2])
        assert rig.revision == draft

    @pytest.mark.parametrize("headers", [{}, FRAGMENT])
    def test_what_was_changed_after_it_was_shown_is_shown_again_and_not_published(
        self, client_of: ClientOf, keeper: Person, draft: Revision, headers: dict[str, str]
    ) -> None:
        client = client_of(keeper)
        seen = shown_in(client)
        edit_draft(draft.layout, lambda said: remove_place(said, "BAG"), by=keeper, now=LATER)

        response = client.post(self.url, {"shown": seen}, headers=headers)

        draft.refresh_from_db()
        content = response.content.decode()
        assert response.status_code == 422
        assert "Practice rig, rev. 2 was changed meanwhile." in content
        assert "Response bag" in content.split("was changed meanwhile")[1]
        assert draft.state == RevisionState.DRAFT

        client.post(self.url, {"shown": shown_in(client)})

        draft.refresh_from_db()
        assert draft.state == RevisionState.PUBLISHED

    def test_why_it_is_refused_is_said_once_and_belongs_to_the_day(
        self, client_of: ClientOf, keeper: Person, draft: Revision
    ) -> None:
        response = client_of(keeper).post(self.url, {"effective_on": "2020-01-01"})

        content = response.content.decode()
        assert response.status_code == 422
        assert content.count("2020-01-01 came in.") == 1
        assert content.count('id="fault"') == 1
        assert 'aria-invalid="true" aria-describedby="fault"' in content

    def test_a_second_time_changes_nothing(
        self, client_of: ClientOf, keeper: Person, draft: Revision
    ) -> None:
        client = client_of(keeper)
        client.post(self.url)
        told = AuditEntry.objects.count()

        response = client.post(self.url, follow=True)

        assert "published already" in response.content.decode()
        assert AuditEntry.objects.count() == told

    def test_tells_htmx_where_to_go(
        self, client_of: ClientOf, keeper: Person, draft: Revision
    ) -> None:
        response = client_of(keeper).post(self.url, headers=FRAGMENT)

        assert response["HX-Redirect"] == reverse("rigs:difference", args=["practice-rig", 2])

    def test_is_for_keepers_alone(self, client_of: ClientOf, hire: Person, draft: Revision) -> None:
        assert client_of(hire).post(self.url).status_code == 403

    def test_is_no_link(self, client_of: ClientOf, keeper: Person, draft: Revision) -> None:
        assert client_of(keeper).get(self.url).status_code == 405


class TestDiscard:
    url = reverse("rigs:discard", args=["practice-rig", 2])

    def test_throws_the_draft_away(
        self, client_of: ClientOf, keeper: Person, rig: Rig, draft: Revision
    ) -> None:
        response = client_of(keeper).post(self.url)

        assert response["Location"] == URL
        assert list(rig.layout.revisions.all()) == [rig.revision]
        assert AuditEntry.objects.latest("pk").action == "discard draft"

    def test_a_layout_that_was_only_a_draft_goes_with_it(
        self, client_of: ClientOf, keeper: Person
    ) -> None:
        import_layout(practice_rig(), by=keeper, now=NOW)

        client_of(keeper).post(reverse("rigs:discard", args=["practice-rig", 1]))

        assert Layout.objects.count() == 0

    def test_what_is_in_force_stays(self, client_of: ClientOf, keeper: Person, rig: Rig) -> None:
        url = reverse("rigs:discard", args=["practice-rig", 1])

        response = client_of(keeper).post(url, follow=True)

        assert "is no draft, so it stays" in response.content.decode()
        assert Revision.objects.count() == 1

    def test_is_for_keepers_alone(self, client_of: ClientOf, hire: Person, draft: Revision) -> None:
        assert client_of(hire).post(self.url).status_code == 403
        assert Revision.objects.count() == 2

    def test_is_no_link(self, client_of: ClientOf, keeper: Person, draft: Revision) -> None:
        assert client_of(keeper).get(self.url).status_code == 405
