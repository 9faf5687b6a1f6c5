"""After a new revision the drill of what moved is offered, to the right people and no longer."""

from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from drills.boards.offers import OFFERED_FOR, Offer, accept, dismiss, offers_to
from drills.demo.factories import PairingFactory, PersonFactory, RigFactory, StationFactory, rig_on
from drills.people.models import AuditEntry, Person
from drills.rigs.actions import import_layout, pick_rig, publish_revision, refit_rig
from drills.rigs.models import Posting, Revision, Rig, Station
from drills.runs.actions import assign, start_run, withdraw
from drills.runs.models import Assigned, Assignment, Run
from drills.scenarios.models import Recipe
from tests.boards.conftest import with_bag_moved
from tests.layouts import practice_rig
from tests.runs.conftest import FRAGMENT, ClientOf


def post_to(station: Station, *people: Person) -> None:
    for person in people:
        Posting.objects.create(person=person, station=station, starts_on=date(2026, 1, 1))


def at_station(rig: Rig) -> Station:
    station: Station = StationFactory.create()
    rig.station = station
    rig.save()
    return station


@pytest.fixture
def peer(hire: Person, rig: Rig) -> Person:
    """Crew at the station of the rig, as the hire is; nobody's pair."""
    found: Person = PersonFactory.create(employee_number="PEER", name="Pat Peer")
    post_to(at_station(rig), hire, found)
    return found


@pytest.fixture
def far(rig: Rig) -> Person:
    """Crew at a station whose one rig of the layout is not refitted."""
    found: Person = PersonFactory.create(employee_number="FAR", name="Fay Far")
    other = RigFactory.create(unit="12", revision=rig.revision, station=None)
    post_to(at_station(other), found)
    return found


@pytest.fixture
def recipe(db: None) -> Recipe:
    return Recipe.objects.create(
        slug="what-moved", name="What moved", kinds="moved:auto;locate:6", order="x", minutes=5
    )


@pytest.fixture
def moved(peer: Person, far: Person, recipe: Recipe, keeper: Person) -> Revision:
    """The second revision moved a bag; rig 11 is refitted, rig 12 is not."""
    draft = import_layout(with_bag_moved(practice_rig()), by=keeper, now=timezone.now())
    return publish_revision(draft, by=keeper, now=timezone.now(), refitted=["11"])


def offer(viewer: Person, *, now: datetime | None = None) -> Offer | None:
    found = offers_to(viewer, now=now or timezone.now())
    assert len(found) <= 1
    return found[0] if found else None


def give(recipe: Recipe, people: list[Person], *, by: Person, now: datetime) -> None:
    """A recipe given by hand, and not by an offer."""
    day = timezone.localdate() + timedelta(days=30)
    assign(recipe, to=people, due_on=day, standard=recipe.standard, minutes=5, by=by, now=now)


def ridden_and_started(person: Person, rig: Rig, recipe: Recipe) -> Run:
    now = timezone.now()
    pick_rig(person, rig, now=now)
    return start_run(person, recipe=recipe, revision=rig.revision, rig=rig, now=now)


def url(what: str) -> str:
    return reverse(f"boards:{what}", args=["practice-rig", 2])


def due(days: int = 7) -> dict[str, str]:
    return {"due_on": f"{timezone.localdate() + timedelta(days=days):%F}"}


class TestWhom:
    def test_an_educator_is_offered_all_who_ride_it(
        self, educator: Person, hire: Person, peer: Person, moved: Revision
    ) -> None:
        found = offer(educator)

        assert found is not None
        assert set(found.people) == {hire, peer}
        assert (found.facts, found.waiting, found.have_it) == (1, 1, 0)
        assert found.due_on == timezone.localdate() + timedelta(days=7)

    def test_an_fto_is_offered_their_own(self, fto: Person, hire: Person, moved: Revision) -> None:
        found = offer(fto)

        assert found is not None
        assert found.people == (hire,)
        assert found.waiting == 0

    def test_others_are_offered_nothing(
        self, hire: Person, keeper: Person, moved: Revision
    ) -> None:
        assert offer(hire) is None
        assert offer(keeper) is None

    def test_who_is_refitted_later_comes_in(
        self, educator: Person, far: Person, keeper: Person, moved: Revision
    ) -> None:
        refit_rig(Rig.objects.get(unit="12"), by=keeper, now=timezone.now())

        found = offer(educator)
        assert found is not None
        assert far in found.people
        assert found.waiting == 0

    def test_who_rides_nothing_is_left_out(
        self, educator: Person, keeper: Person, peer: Person, moved: Revision
    ) -> None:
        """A keeper may be posted to a station as well."""
        post_to(Station.objects.get(rigs__unit="11"), keeper)

        found = offer(educator)
        assert found is not None
        assert keeper not in found.people

    def test_who_has_left_is_left_out(
        self, educator: Person, peer: Person, hire: Person, moved: Revision
    ) -> None:
        Person.objects.filter(pk=peer.pk).update(is_active=False)

        found = offer(educator)
        assert found is not None
        assert found.people == (hire,)


class TestHowLong:
    def test_it_is_offered_for_two_weeks(self, educator: Person, moved: Revision) -> None:
        last = timezone.now() + OFFERED_FOR - timedelta(days=1)

        assert offer(educator, now=last) is not None
        assert offer(educator, now=last + timedelta(days=1)) is None

    def test_it_is_for_two_weeks_after_a_rig_was_refitted_as_well(
        self, educator: Person, far: Person, keeper: Person, moved: Revision
    ) -> None:
        later = timezone.now() + timedelta(days=20)
        assert offer(educator, now=later) is None

        refit_rig(Rig.objects.get(unit="12"), by=keeper, now=later)

        last = later + OFFERED_FOR - timedelta(hours=1)
        for moment in (later, last):
            found = offer(educator, now=moment)
            assert found is not None
            assert far in found.people
        assert offer(educator, now=last + timedelta(hours=2)) is None

    def test_it_is_not_before_the_day(
        self, educator: Person, keeper: Person, peer: Person, recipe: Recipe
    ) -> None:
        draft = import_layout(with_bag_moved(practice_rig()), by=keeper, now=timezone.now())
        day = timezone.localdate() + timedelta(days=3)
        publish_revision(draft, by=keeper, now=timezone.now(), effective_on=day)

        assert offer(educator) is None

    def test_a_revision_that_moved_nothing_is_not_offered(
        self, educator: Person, keeper: Person, peer: Person, recipe: Recipe
    ) -> None:
        layout = replace(practice_rig(), notes="numbers alone")
        import_layout(layout, by=keeper, now=timezone.now(), publish=True)

        assert offer(educator) is None

    def test_who_dismissed_it_is_not_asked_again_and_others_are(
        self, educator: Person, fto: Person, moved: Revision
    ) -> None:
        dismiss(moved, by=educator, now=timezone.now())
        dismiss(moved, by=educator, now=timezone.now())

        assert offer(educator) is None
        assert offer(fto) is not None
        assert AuditEntry.objects.filter(action="dismiss offer").count() == 1

    def test_what_is_done_is_offered_no_more(
        self, client_of: ClientOf, educator: Person, moved: Revision
    ) -> None:
        client_of(educator).post(url("assign_moved"), due())

        assert offer(educator) is None

    def test_what_is_withdrawn_is_offered_again(
        self, client_of: ClientOf, educator: Person, moved: Revision
    ) -> None:
        client_of(educator).post(url("assign_moved"), due())
        withdraw(Assignment.objects.get(), by=educator, now=timezone.now())

        assert offer(educator) is not None

    def test_what_was_given_for_an_earlier_revision_does_not_count(
        self, client_of: ClientOf, educator: Person, keeper: Person, moved: Revision
    ) -> None:
        client_of(educator).post(url("assign_moved"), due())
        import_layout(practice_rig(), by=keeper, now=timezone.now(), publish=True)

        found = offer(educator)
        assert found is not None
        assert found.revision.number == 3

    @pytest.mark.parametrize(
        ("published", "effective", "given"), [(0, 3, 1), (3, 0, 2)], ids=["named late", "waited"]
    )
    def test_what_was_given_before_it_was_published_and_in_force_does_not_count(
        self,
        educator: Person,
        hire: Person,
        peer: Person,
        recipe: Recipe,
        moved: Revision,
        published: int,
        effective: int,
        given: int,
    ) -> None:
        """Each so many days ago."""
        now = timezone.now()
        Revision.objects.filter(pk=moved.pk).update(
            published_at=now - timedelta(days=published),
            effective_on=timezone.localdate() - timedelta(days=effective),
        )
        give(recipe, [hire, peer], by=educator, now=now - timedelta(days=given))

        found = offer(educator)
        assert found is not None
        assert set(found.people) == {hire, peer}

    def test_of_two_layouts_at_one_station_each_is_offered_and_done_by_itself(
        self,
        educator: Person,
        hire: Person,
        peer: Person,
        recipe: Recipe,
        rig: Rig,
        moved: Revision,
        keeper: Person,
    ) -> None:
        van = rig_on(practice_rig("other-van"), unit="21")
        Rig.objects.filter(pk=van.pk).update(station=Station.objects.get(rigs__unit="11"))
        changed = with_bag_moved(practice_rig("other-van"))
        import_layout(changed, by=keeper, now=timezone.now(), publish=True)

        for waiting in (2, 1):
            found = offers_to(educator, now=timezone.now())
            assert [set(each.people) for each in found] == [{hire, peer}] * waiting
            accept(found[0], due_on=found[0].due_on, by=educator, now=timezone.now())
        assert offers_to(educator, now=timezone.now()) == []

        for unit in ("21", "11"):
            run = ridden_and_started(hire, Rig.objects.get(unit=unit), recipe)
            assert run.assigned is not None
            assert run.assigned.assignment.layout == run.drill.revision.layout

    def test_a_run_on_another_layout_counts_not_and_says_so(
        self,
        client_of: ClientOf,
        educator: Person,
        hire: Person,
        recipe: Recipe,
        moved: Revision,
        keeper: Person,
    ) -> None:
        found = offer(educator)
        assert found is not None
        accept(found, due_on=found.due_on, by=educator, now=timezone.now())
        rig_on(practice_rig("other-van"), unit="21")
        changed = with_bag_moved(practice_rig("other-van"))
        import_layout(changed, by=keeper, now=timezone.now(), publish=True)
        pick_rig(hire, Rig.objects.get(unit="21"), now=timezone.now())

        page = client_of(hire).post(reverse("runs:start"), {"recipe": recipe.slug}, follow=True)

        assert "that was given for another layout" in page.content.decode()
        assert Run.objects.get().assigned is None


class TestThePages:
    @pytest.mark.parametrize("headers", [{}, FRAGMENT])
    def test_one_press_assigns_it(
        self,
        client_of: ClientOf,
        educator: Person,
        hire: Person,
        peer: Person,
        moved: Revision,
        headers: dict[str, str],
    ) -> None:
        response = client_of(educator).post(url("assign_moved"), due(), headers=headers)

        assignment = Assignment.objects.get()
        to = reverse("runs:assignment", args=[assignment.pk])
        assert (response.get("HX-Redirect") or response.get("Location")) == to
        rows = Assigned.objects.filter(assignment=assignment)
        assert {row.person for row in rows} == {hire, peer}
        assert assignment.note == "Practice rig, rev. 2"
        assert assignment.due_on == timezone.localdate() + timedelta(days=7)

    def test_an_fto_gives_it_to_their_own_alone(
        self, client_of: ClientOf, fto: Person, hire: Person, moved: Revision
    ) -> None:
        client_of(fto).post(url("assign_moved"), due())

        assert [row.person for row in Assigned.objects.all()] == [hire]

    def test_pressed_twice_it_is_one(
        self, client_of: ClientOf, educator: Person, moved: Revision
    ) -> None:
        client = client_of(educator)
        client.post(url("assign_moved"), due())
        said = client.post(url("assign_moved"), due(), follow=True).content.decode()

        assert "Everybody has What moved already" in said
        assert Assignment.objects.count() == 1

    @pytest.mark.parametrize(
        ("day", "said"),
        [
            ("", "Choose the day it is due."),
            ("soon", "That is no day. Write it as 2026-12-03."),
            ("2020-01-01", "2020-01-01 came in, which is past."),
        ],
    )
    def test_a_day_that_is_refused_assigns_nothing(
        self, client_of: ClientOf, educator: Person, moved: Revision, day: str, said: str
    ) -> None:
        response = client_of(educator).post(url("assign_moved"), {"due_on": day})

        assert response.status_code == 422
        assert said in response.content.decode()
        assert not Assignment.objects.exists()

    def test_it_stands_on_the_first_page_until_dismissed(
        self, client_of: ClientOf, educator: Person, fto: Person, moved: Revision
    ) -> None:
        for person, page in ((educator, "boards:educator"), (fto, "boards:fto")):
            client = client_of(person)
            content = client.get(reverse(page)).content.decode()
            assert "<b>1 fact to learn anew</b>" in content
            assert "to 2, due" in content if person == educator else "to 1, due" in content

            client.post(url("dismiss_moved"))
            assert "to learn anew" not in client.get(reverse(page)).content.decode()

    def test_the_page_names_who_gets_it_and_counts_who_is_left_out(
        self, client_of: ClientOf, educator: Person, moved: Revision
    ) -> None:
        content = client_of(educator).get(url("what_moved")).content.decode()

        assert "Pat Peer" in content
        assert "Fay Far" not in content
        assert "<b>1</b> posted where no rig is refitted yet" in content

    def test_an_fto_reads_no_name_of_others(
        self, client_of: ClientOf, fto: Person, moved: Revision
    ) -> None:
        content = client_of(fto).get(url("what_moved")).content.decode()

        assert "Pat Peer" not in content

    def test_the_difference_leads_there_and_tells_keepers_who_is_offered_it(
        self, client_of: ClientOf, educator: Person, keeper: Person, hire: Person, moved: Revision
    ) -> None:
        page = reverse("rigs:difference", args=["practice-rig", 2])

        assert f'href="{url("what_moved")}"' in client_of(educator).get(page).content.decode()
        assert "Educators are offered" in client_of(keeper).get(page).content.decode()
        own = client_of(hire).get(page).content.decode()
        assert url("what_moved") not in own
        assert "are offered" not in own

    def test_nothing_is_offered_of_a_revision_that_is_not_in_force(
        self, client_of: ClientOf, educator: Person, moved: Revision
    ) -> None:
        first = reverse("boards:what_moved", args=["practice-rig", 1])

        assert client_of(educator).get(first).status_code == 404


def test_who_is_paired_meanwhile_comes_in(fto: Person, peer: Person, moved: Revision) -> None:
    PairingFactory.create(fto=fto, crew=peer)
    found = offer(fto)

    assert found is not None
    assert peer in found.people
