"""A revision published for a later day waits for it, and nothing changes for crews until then."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from io import StringIO
from threading import Barrier

import pytest
from django.conf import settings
from django.core.management import call_command
from django.db import OperationalError, connection
from django.http import HttpRequest, HttpResponse
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from drills.demo.factories import RigFactory
from drills.engine.layout import Layout as Drawn
from drills.people.models import AuditEntry, Person
from drills.rigs import middleware
from drills.rigs.actions import (
    add_rig,
    bring_in_force,
    call_off_revision,
    import_layout,
    open_draft,
    publish_revision,
)
from drills.rigs.models import Layout, Revision, RevisionState, Rig
from drills.rigs.reading import layout_of
from tests.layouts import practice_rig
from tests.rigs.conftest import FRAGMENT, ClientOf

# Pages go by the clock of the machine: what is to come has to be so for them.
NOW = timezone.now()
TODAY = timezone.localdate(NOW)
LATER = TODAY + timedelta(days=8)


def renamed(name: str) -> Drawn:
    """The practice rig with its upper drawer under another name."""
    changed = tuple(
        replace(each, name=name) if each.code == "I1A" else each
        for each in practice_rig().compartments
    )
    return replace(practice_rig(), compartments=changed)


@pytest.fixture
def other(rig: Rig) -> Rig:
    """A second rig on the layout."""
    found: Rig = RigFactory.create(unit="12", revision=rig.revision, station=None)
    return found


@pytest.fixture
def draft(rig: Rig, keeper: Person) -> Revision:
    return import_layout(renamed("Top drawer"), by=keeper, now=NOW)


@pytest.fixture
def coming(other: Rig, draft: Revision, keeper: Person) -> Revision:
    """The draft published for eight days later; rig 12 alone is refitted by then."""
    return publish_revision(draft, by=keeper, now=NOW, refitted=["12"], effective_on=LATER)


def ridden() -> dict[str, int]:
    return dict(Rig.objects.values_list("unit", "revision__number"))


def states() -> dict[int, str]:
    return dict(Revision.objects.values_list("number", "state"))


def at(day: date, hour: int = 12) -> datetime:
    return datetime(day.year, day.month, day.day, hour, tzinfo=timezone.get_default_timezone())


class TestUntilTheDay:
    def test_the_one_before_stays_in_force_and_rigs_ride_on(self, coming: Revision) -> None:
        assert states() == {1: RevisionState.PUBLISHED, 2: RevisionState.COMING}
        assert ridden() == {"11": 1, "12": 1}
        assert bring_in_force(now=at(LATER - timedelta(days=1), 23)) == ()
        assert ridden() == {"11": 1, "12": 1}

    def test_crews_are_shown_the_one_in_force(
        self, client_of: ClientOf, hire: Person, coming: Revision
    ) -> None:
        client = client_of(hire)
        content = client.get(reverse("rigs:layout", args=["practice-rig"])).content.decode()

        assert "Top drawer" not in content
        assert "<b>Rev. 2</b> comes in force on" in content
        coming_page = reverse("rigs:revision", args=["practice-rig", 2])
        shown = client.get(coming_page, {"open": "I1"}).content.decode()
        assert "Top drawer" in shown
        assert '<span class="tag">in force from ' in shown

    def test_a_workbook_that_says_the_same_makes_no_draft(
        self, coming: Revision, keeper: Person
    ) -> None:
        assert import_layout(renamed("Top drawer"), by=keeper, now=NOW) == coming
        assert Layout.objects.get().draft is None

    def test_a_draft_on_top_is_compared_with_it(self, coming: Revision, keeper: Person) -> None:
        draft = import_layout(renamed("High drawer"), by=keeper, now=NOW)

        assert draft.before == coming

    def test_a_draft_that_is_opened_is_a_copy_of_it(self, coming: Revision, keeper: Person) -> None:
        draft = open_draft(coming.layout, by=keeper, now=NOW)

        assert layout_of(draft).by_code["I1A"].name == "Top drawer"

    def test_a_draft_on_top_waits_for_it(self, coming: Revision, keeper: Person) -> None:
        draft = import_layout(renamed("High drawer"), by=keeper, now=NOW)

        with pytest.raises(ValueError, match=r"Rev\. 2 is to come on .* and goes first"):
            publish_revision(draft, by=keeper, now=NOW)
        assert states()[3] == RevisionState.DRAFT

    def test_another_day_and_other_rigs_can_be_named(
        self, coming: Revision, keeper: Person
    ) -> None:
        day = LATER + timedelta(days=1)
        publish_revision(coming, by=keeper, now=NOW, refitted=["11"], effective_on=day)

        assert bring_in_force(now=at(LATER)) == ()
        assert bring_in_force(now=at(day)) == (coming,)
        assert ridden() == {"11": 2, "12": 1}
        entry = AuditEntry.objects.filter(action="publish revision").latest("pk")
        assert entry.before == {"in_force_from": LATER.isoformat()}

    def test_another_day_leaves_the_moment_it_was_published(
        self, coming: Revision, keeper: Person
    ) -> None:
        later = NOW + timedelta(days=2)
        again = publish_revision(coming, by=keeper, now=later, effective_on=LATER)

        assert again.published_at == NOW

    def test_it_can_come_in_force_today_after_all(self, coming: Revision, keeper: Person) -> None:
        publish_revision(coming, by=keeper, now=NOW, refitted=["12"], effective_on=TODAY)

        assert states() == {1: RevisionState.RETIRED, 2: RevisionState.PUBLISHED}
        assert ridden() == {"11": 1, "12": 2}


class TestOnTheDay:
    def test_a_rig_that_was_added_meanwhile_rides_it_too(
        self, coming: Revision, keeper: Person
    ) -> None:
        added = add_rig("77", layout=coming.layout, by=keeper, now=NOW)
        assert added.revision.number == 1

        bring_in_force(now=at(LATER))

        assert ridden() == {"11": 1, "12": 2, "77": 2}

    def test_it_is_in_force_and_the_ticked_rigs_ride_it(self, coming: Revision) -> None:
        assert bring_in_force(now=at(LATER, 0)) == (coming,)

        assert states() == {1: RevisionState.RETIRED, 2: RevisionState.PUBLISHED}
        assert ridden() == {"11": 1, "12": 2}
        entry = AuditEntry.objects.get(action="bring in force")
        assert (entry.actor, entry.subject) == (None, "practice-rig 2")
        assert entry.after == {"refitted": ["12"]}

    def test_the_day_begins_by_the_clock_of_the_agency(self, coming: Revision) -> None:
        """Half past four in UTC on the day is the evening before in Denver."""
        early = datetime(LATER.year, LATER.month, LATER.day, 4, 30, tzinfo=UTC)
        with timezone.override("America/Denver"):
            assert bring_in_force(now=early) == ()
        with timezone.override("UTC"):
            assert bring_in_force(now=early) == (coming,)

    def test_done_twice_it_is_done_once(self, coming: Revision) -> None:
        bring_in_force(now=at(LATER))

        assert bring_in_force(now=at(LATER)) == ()
        assert AuditEntry.objects.filter(action="bring in force").count() == 1

    def test_the_command_says_what_it_brought(self, coming: Revision) -> None:
        Revision.objects.filter(pk=coming.pk).update(effective_on=timezone.localdate())
        out = StringIO()

        call_command("bring_in_force", stdout=out)
        call_command("bring_in_force", stdout=out)

        assert out.getvalue() == "practice-rig 2\n"

    def test_the_first_page_that_anybody_with_a_session_opens_does_it_as_well(
        self, coming: Revision, hire: Person
    ) -> None:
        Revision.objects.filter(pk=coming.pk).update(effective_on=timezone.localdate())

        Client().get(reverse("people:sign_in"))
        assert states()[2] == RevisionState.COMING
        client = Client()
        client.force_login(hire)
        client.get(reverse("rigs:index"))

        assert states()[2] == RevisionState.PUBLISHED

    def test_pages_look_again_after_a_minute_and_not_before(
        self, coming: Revision, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        seconds = [100.0]
        monkeypatch.setattr("drills.rigs.middleware.time.monotonic", lambda: seconds[0])
        page = middleware.ComeInForce(lambda request: HttpResponse())
        request = HttpRequest()
        request.COOKIES[settings.SESSION_COOKIE_NAME] = "somebody's"
        page(request)
        Revision.objects.filter(pk=coming.pk).update(effective_on=timezone.localdate())

        seconds[0] = 159.0
        page(request)
        assert states()[2] == RevisionState.COMING
        seconds[0] = 160.0
        page(request)
        assert states()[2] == RevisionState.PUBLISHED

    def test_a_page_comes_though_the_database_is_busy(
        self, coming: Revision, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def busy(**_: object) -> None:
            raise OperationalError("database is locked")

        Revision.objects.filter(pk=coming.pk).update(effective_on=timezone.localdate())
        monkeypatch.setattr(middleware, "bring_in_force", busy)

        client = Client()
        client.cookies[settings.SESSION_COOKIE_NAME] = "somebody's"
        assert client.get(reverse("people:sign_in")).status_code == 200

    @pytest.mark.django_db(transaction=True)
    def test_two_processes_at_once_do_it_once(self, coming: Revision) -> None:
        start = Barrier(2, timeout=20)

        def bring(_: int) -> int:
            start.wait()
            try:
                return len(bring_in_force(now=at(LATER)))
            finally:
                connection.close()

        with ThreadPoolExecutor(2) as pool:
            brought = list(pool.map(bring, range(2)))

        assert sorted(brought) == [0, 1]
        assert AuditEntry.objects.filter(action="bring in force").count() == 1
        assert states() == {1: RevisionState.RETIRED, 2: RevisionState.PUBLISHED}


class TestTheDayThatIsNamed:
    def test_a_past_day_is_kept_as_said(self, rig: Rig, draft: Revision, keeper: Person) -> None:
        day = rig.revision.effective_on
        assert day is not None
        publish_revision(draft, by=keeper, now=NOW, effective_on=day)

        draft.refresh_from_db()
        assert (draft.state, draft.effective_on) == (RevisionState.PUBLISHED, day)

    def test_a_day_before_the_one_in_force_is_refused(
        self, rig: Rig, draft: Revision, keeper: Person
    ) -> None:
        assert rig.revision.effective_on is not None
        day = rig.revision.effective_on - timedelta(days=1)

        with pytest.raises(ValueError, match=f"{day:%F} came in. Rev. 1 is in force since"):
            publish_revision(draft, by=keeper, now=NOW, effective_on=day)
        assert states()[2] == RevisionState.DRAFT

    @pytest.mark.parametrize(("days", "is_taken"), [(366, True), (367, False)])
    def test_a_year_ahead_is_the_longest(
        self, draft: Revision, keeper: Person, days: int, is_taken: bool
    ) -> None:
        day = TODAY + timedelta(days=days)
        if is_taken:
            publish_revision(draft, by=keeper, now=NOW, effective_on=day)
            return
        with pytest.raises(ValueError, match=f"{day:%F} came in. A day until"):
            publish_revision(draft, by=keeper, now=NOW, effective_on=day)


class TestCalledOff:
    def test_it_is_a_draft_again(self, coming: Revision, keeper: Person) -> None:
        call_off_revision(coming, by=keeper, now=NOW)

        coming.refresh_from_db()
        assert (coming.state, coming.effective_on) == (RevisionState.DRAFT, None)
        assert (coming.published_at, coming.refits) == (None, [])
        assert bring_in_force(now=at(LATER)) == ()
        entry = AuditEntry.objects.get(action="call off revision")
        assert entry.before == {"in_force_from": LATER.isoformat()}

    def test_what_it_says_is_read_anew(self, coming: Revision, keeper: Person) -> None:
        """It may change as a draft, so nothing of it is kept in memory."""
        assert layout_of(coming).by_code["I1A"].name == "Top drawer"
        coming.compartments.filter(code="I1A").update(name="High drawer")

        assert layout_of(coming).by_code["I1A"].name == "High drawer"

    def test_a_draft_on_top_of_it_stops_that(self, coming: Revision, keeper: Person) -> None:
        import_layout(renamed("High drawer"), by=keeper, now=NOW)

        with pytest.raises(ValueError, match=r"Draft rev\. 3 was made on top of rev\. 2"):
            call_off_revision(coming, by=keeper, now=NOW)
        assert states()[2] == RevisionState.COMING

    def test_what_is_in_force_stays_so(self, rig: Rig, keeper: Person) -> None:
        call_off_revision(rig.revision, by=keeper, now=NOW)

        assert states() == {1: RevisionState.PUBLISHED}

    @pytest.mark.parametrize("headers", [{}, FRAGMENT])
    def test_from_its_page(
        self, client_of: ClientOf, keeper: Person, coming: Revision, headers: dict[str, str]
    ) -> None:
        url = reverse("rigs:call_off", args=["practice-rig", 2])
        response = client_of(keeper).post(url, headers=headers)

        where = response.get("HX-Redirect") or response.get("Location")
        assert where == reverse("rigs:import")
        assert states()[2] == RevisionState.DRAFT


class TestThePages:
    def publish(self, client: Client, **posted: object) -> str:
        url = reverse("rigs:publish", args=["practice-rig", 2])
        return client.post(url, posted, follow=True).content.decode()

    def test_a_day_is_asked_for_and_today_stands_there(
        self, client_of: ClientOf, keeper: Person, draft: Revision
    ) -> None:
        content = client_of(keeper).get(reverse("rigs:import")).content.decode()

        assert f'name="effective_on" value="{timezone.localdate():%F}"' in content

    def test_a_later_day_is_said_and_shown_on_every_page(
        self, client_of: ClientOf, keeper: Person, other: Rig, draft: Revision
    ) -> None:
        day, client = timezone.localdate() + timedelta(days=3), client_of(keeper)
        said = self.publish(client, effective_on=f"{day:%F}", each="1", refitted="12")

        written = f"{day.day} {day:%b %Y}"
        assert f"It comes in force on {written}: then 1 of 2 rigs ride it." in said
        assert f"Comes in force on {written}." in said
        rigs = client.get(reverse("rigs:index")).content.decode()
        assert f"rev. 2, in force from {written}" in rigs
        assert rigs.count(f"rev. 2 from {written}") == 1
        waiting = client.get(reverse("rigs:import")).content.decode()
        assert f"<b>In force from {written}</b>" in waiting
        assert 'value="12" checked' in waiting
        assert 'value="11" checked' not in waiting

    @pytest.mark.parametrize(
        ("day", "said"),
        [
            ("3 Dec", "That is no day. Write it as 2026-12-03."),
            ("1999-01-01", "1999-01-01 came in. Rev. 1 is in force since"),
        ],
    )
    def test_a_day_that_is_refused_stands_there_with_the_reason(
        self, client_of: ClientOf, keeper: Person, draft: Revision, day: str, said: str
    ) -> None:
        content = self.publish(client_of(keeper), effective_on=day)

        assert said in content
        assert f'name="effective_on" value="{day}" aria-invalid="true"' in content
        assert states()[2] == RevisionState.DRAFT
