"""What one rig carries elsewhere than its layout says: told by hand, ended, and shown."""

from dataclasses import replace

import pytest
from django.db import IntegrityError
from django.urls import reverse

from drills.demo.factories import rig_on
from drills.engine.elsewhere import MOST_OF_A_RIG, Elsewhere, on_rig
from drills.people.models import AuditEntry, Person
from drills.rigs.actions import (
    DifferenceError,
    held_pairs,
    import_layout,
    pick_rig,
    publish_revision,
    refit_rig,
    tell_difference,
)
from drills.rigs.models import Rig, RigDifference
from drills.rigs.own import layout_on
from drills.rigs.reading import layout_of
from tests.layouts import practice_rig
from tests.rigs.conftest import FRAGMENT, NOW, ClientOf

FIRST = "practice-rig 1"
URL = reverse("rigs:own", args=["11"])


def tell(rig: Rig, thing: str, here: str, *, by: Person, place: str = "") -> RigDifference:
    return tell_difference(rig, thing=thing, place=place, here=here, by=by, now=NOW)


def end_url(told: RigDifference) -> str:
    return reverse("rigs:end_difference", args=["11", told.pk])


def test_a_keeper_tells_one_by_hand_and_sees_it(
    client_of: ClientOf, keeper: Person, rig: Rig
) -> None:
    given = {"thing": " SPLINT ", "here": "I1A", "revision": FIRST, "word": "no room"}

    page = client_of(keeper).post(URL, given, follow=True).content.decode()

    for said in (
        *("<b>Splint</b>: I1 Wall cabinet › Upper drawer", "“no room”", "1 of 12"),
        "the layout says S1 Street cabinet › Lower shelf",
    ):
        assert said in page
    assert layout_on(rig).things["splint"].places == ("I1A",)
    assert "differs in 1" in client_of(keeper).get(reverse("rigs:index")).content.decode()
    assert AuditEntry.objects.get(action="tell difference").subject == "11: splint"


def test_says_that_what_is_not_aboard_is_not_drilled(
    client_of: ClientOf, keeper: Person, rig: Rig
) -> None:
    given = {"thing": "splint", "here": "not aboard", "revision": FIRST}

    page = client_of(keeper).post(URL, given, follow=True).content.decode()

    assert "Told. It is not aboard 11, and not drilled there." in page
    assert "Drills on 11 ask" not in page


@pytest.mark.parametrize("chosen_on", [{"revision": FIRST}, {"revision": "another 2"}, {}])
def test_places_chosen_on_another_revision_are_refused(
    client_of: ClientOf, keeper: Person, rig: Rig, chosen_on: dict[str, str]
) -> None:
    import_layout(replace(practice_rig(), notes="Refitted."), by=keeper, now=NOW, publish=True)

    response = client_of(keeper).post(URL, {"thing": "splint", "here": "I1A", **chosen_on})

    page = response.content.decode()
    assert response.status_code == 422
    assert "rides Practice rig, rev. 2 by now, and the places were chosen on another" in page
    assert '<option value="I1A" selected>' not in page
    assert 'name="thing" list="things"' in page
    assert 'value="splint"' in page
    assert not RigDifference.objects.exists()


def test_a_rig_without_any_is_as_its_layout(client_of: ClientOf, keeper: Person, rig: Rig) -> None:
    assert "This rig is as its layout says." in client_of(keeper).get(URL).content.decode()
    assert layout_on(rig) is layout_of(rig.revision)


def test_ended_it_is_as_the_layout_again_and_stays_as_it_ended_first(
    client_of: ClientOf, keeper: Person, admin: Person, rig: Rig
) -> None:
    told = tell(rig, "splint", "I1A", by=keeper)

    client_of(keeper).post(end_url(told))
    client_of(admin).post(end_url(told))

    told.refresh_from_db()
    assert told.ended_by == keeper
    assert layout_on(rig).things["splint"].places == ("S1A",)
    assert AuditEntry.objects.filter(action="end difference").count() == 1
    assert "Ended" in client_of(keeper).get(URL).content.decode()


def test_ending_tells_htmx_where_to_go(client_of: ClientOf, keeper: Person, rig: Rig) -> None:
    told = tell(rig, "splint", "I1A", by=keeper)

    assert client_of(keeper).post(end_url(told), headers=FRAGMENT)["HX-Redirect"] == URL


def test_a_difference_is_ended_on_its_own_rig_alone(
    client_of: ClientOf, keeper: Person, rig: Rig
) -> None:
    told = tell(rig_on(practice_rig(), unit="12"), "splint", "I1A", by=keeper)

    assert client_of(keeper).post(end_url(told)).status_code == 404
    assert RigDifference.objects.open().exists()


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"thing": "", "here": "I1A", "revision": FIRST}, "Name the thing that is elsewhere."),
        ({"thing": "splint", "here": "", "revision": FIRST}, "Choose where it is on this rig"),
        (
            {"thing": "whisk", "here": "I1A", "revision": FIRST},
            "“whisk” came in. A thing that Practice rig carries",
        ),
        (
            {"thing": "splint", "here": "Z9", "revision": FIRST},
            "“Z9” came in for the place on this rig.",
        ),
        ({"thing": "splint", "here": "S1A", "revision": FIRST}, "is where the layout says it is"),
        (
            {"thing": "tourniquet", "place": "S1", "here": "I1", "revision": FIRST},
            "Tourniquet is in: S1 Street",
        ),
    ],
)
def test_what_cannot_be_told_is_refused_and_nothing_is_stored(
    client_of: ClientOf, keeper: Person, rig: Rig, given: dict[str, str], said: str
) -> None:
    response = client_of(keeper).post(URL, given)

    assert response.status_code == 422
    assert said in response.content.decode()
    assert not RigDifference.objects.exists()


def test_a_thirteenth_is_refused_since_the_rig_is_another_layout(
    client_of: ClientOf, keeper: Person, rig: Rig
) -> None:
    layout = practice_rig()
    more = [f"Spare {number}" for number in range(MOST_OF_A_RIG)]
    line = layout.stock[0]
    stock = [replace(line, item=name, compartment="I1A") for name in more]
    rig = rig_on(replace(layout, slug="another", stock=(*layout.stock, *stock)), unit="13")
    for name in more:
        tell(rig, name.casefold(), "S1", by=keeper)

    response = client_of(keeper).post(
        reverse("rigs:own", args=["13"]),
        {"thing": "Splint", "here": "I1A", "revision": "another 1"},
    )

    assert response.status_code == 422
    assert "differs in 12 things already, and at most 12 are kept" in response.content.decode()
    assert rig.differences.open().count() == MOST_OF_A_RIG
    tell(rig, "spare 3", "S1A", by=keeper)
    assert rig.differences.open().count() == MOST_OF_A_RIG


def test_what_is_told_anew_of_a_line_ends_what_was_told_before(keeper: Person, rig: Rig) -> None:
    tell(rig, "tourniquet", "S1", place="I1A", by=keeper)
    tell(rig, "tourniquet", "S1A", place="BAG-M", by=keeper)
    assert rig.differences.open().count() == 2

    tell(rig, "tourniquet", "", by=keeper)

    assert rig.differences.open().count() == 1
    assert "tourniquet" not in layout_on(rig).things


def test_the_database_holds_one_open_difference_of_a_line(keeper: Person, rig: Rig) -> None:
    told = tell(rig, "splint", "I1A", by=keeper)
    told.pk = None

    with pytest.raises(IntegrityError):
        told.save(force_insert=True)


def test_another_rig_of_the_layout_is_as_it_says(keeper: Person, rig: Rig) -> None:
    other = rig_on(practice_rig(), unit="12")
    tell(rig, "splint", "I1A", by=keeper)

    assert layout_on(other) is layout_of(other.revision)


def test_a_refit_ends_what_the_new_revision_says_as_well_and_keeps_the_rest(
    keeper: Person, rig: Rig
) -> None:
    for thing in ("splint", "gauze roll"):
        tell(rig, thing, "S1", by=keeper)
    new = on_rig(practice_rig(), [Elsewhere("splint", "S1A", "S1")])
    draft = import_layout(new, by=keeper, now=NOW)
    publish_revision(draft, by=keeper, now=NOW, refitted=[])
    assert rig.differences.open().count() == 2

    refitted = refit_rig(rig, by=keeper, now=NOW)

    assert [each.item.key for each in rig.differences.open()] == ["gauze roll"]
    assert layout_on(refitted).things["splint"].places == ("S1",)
    assert layout_on(refitted).things["gauze roll"].places == ("S1",)


def test_publishing_looks_anew_at_the_rigs_that_it_refits(keeper: Person, rig: Rig) -> None:
    tell(rig, "splint", "S1", by=keeper)
    new = on_rig(practice_rig(), [Elsewhere("splint", "S1A", "S1")])

    import_layout(new, by=keeper, now=NOW, publish=True)

    assert not RigDifference.objects.open().exists()


def test_what_the_new_revision_has_in_a_third_place_is_not_drilled_until_looked_at(
    client_of: ClientOf, keeper: Person, rig: Rig
) -> None:
    """Nobody knows where it is on this rig."""
    told = tell(rig, "splint", "S1", by=keeper)
    new = on_rig(practice_rig(), [Elsewhere("splint", "S1A", "I1A")])

    import_layout(new, by=keeper, now=NOW, publish=True)
    rig.refresh_from_db()

    assert held_pairs(rig) == {("splint", "")}
    assert layout_on(rig) is layout_of(rig.revision)
    assert "nobody knows" in client_of(keeper).get(URL).content.decode()
    client_of(keeper).post(end_url(told))
    assert held_pairs(rig) == frozenset()


def test_who_rides_the_rig_sees_the_list_and_the_rig_as_it_is(
    client_of: ClientOf, keeper: Person, hire: Person, rig: Rig
) -> None:
    tell(rig, "splint", "I1A", by=keeper)
    pick_rig(hire, rig, now=NOW)
    client, slug = client_of(hire), rig.layout.slug

    page = client.get(reverse("rigs:layout", args=[slug]), {"find": "splint"}).content.decode()
    walk = client.get(reverse("rigs:walk", args=[slug])).content.decode()
    door = client.get(reverse("rigs:walk", args=[slug, "I1"])).content.decode()
    panel = client.get(reverse("rigs:walk", args=[slug, "P1"])).content.decode()

    for shown in (page, walk, door):
        assert "This rig differs <span>Rig 11</span>" in shown
    assert "This rig differs" not in panel
    assert "<small>I1 Wall cabinet › Upper drawer</small>" in page
    assert door.count("Splint") == 2


def test_what_differs_is_kept_off_paper(
    client_of: ClientOf, keeper: Person, hire: Person, rig: Rig
) -> None:
    """It may name what is behind a lock, which no print does."""
    tell(rig, "midazolam", "I1A", by=keeper)
    pick_rig(hire, rig, now=NOW)

    walk = client_of(hire).get(reverse("rigs:walk", args=[rig.layout.slug])).content.decode()
    own = client_of(keeper).get(URL).content.decode()

    for page in (walk, own):
        before, _, after = page.partition("Midazolam")
        assert "unprinted" in before[before.rindex("<section") :]
        assert "</section>" in after


def test_who_rides_another_rig_sees_nothing_of_it(
    client_of: ClientOf, keeper: Person, hire: Person, rig: Rig
) -> None:
    tell(rig, "splint", "I1A", by=keeper)
    pick_rig(hire, rig_on(practice_rig(), unit="12"), now=NOW)
    client, slug = client_of(hire), rig.layout.slug

    page = client.get(reverse("rigs:layout", args=[slug]), {"find": "splint"}).content.decode()
    own_revision = client_of(keeper).get(reverse("rigs:revision", args=[slug, 1])).content.decode()

    assert "This rig differs" not in page + own_revision
    assert "<small>S1 Street cabinet › Lower shelf</small>" in page


def test_a_change_that_fails_leaves_the_list_as_it_was(keeper: Person, rig: Rig) -> None:
    tell(rig, "splint", "I1A", by=keeper)

    with pytest.raises(DifferenceError):
        tell(rig, "splint", "S1A", by=keeper)

    assert layout_on(rig).things["splint"].places == ("I1A",)
