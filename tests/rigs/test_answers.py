"""What a keeper does about a report: put back, differs on this rig, or the layout is wrong."""

from dataclasses import replace
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.timezone import localdate, now

from drills.engine.elsewhere import Elsewhere, on_rig
from drills.people.models import AuditEntry, Person
from drills.rigs.actions import (
    held_pairs,
    import_layout,
    publish_revision,
    refit_rig,
    report_absence,
)
from drills.rigs.actions import tell_difference as tell
from drills.rigs.models import Absence, Answer, Revision, Rig, RigDifference
from drills.rigs.own import layout_on
from drills.rigs.reading import layout_of
from tests.layouts import practice_rig
from tests.rigs.conftest import NOW, ClientOf

FIRST = "practice-rig 1"
URL = reverse("rigs:absences")


@pytest.fixture
def splint(rig: Rig, hire: Person) -> Absence:
    (made,) = report_absence(
        ["S1A"], thing="splint", rig=rig, revision=rig.revision, by=hire, now=NOW
    )
    return made


@pytest.fixture
def contents(rig: Rig, hire: Person) -> Absence:
    (made,) = report_absence(["I1A"], thing="", rig=rig, revision=rig.revision, by=hire, now=NOW)
    return made


def url_of(report: Absence) -> str:
    return reverse("rigs:absence", args=[report.pk])


def post_url(report: Absence) -> str:
    return reverse("rigs:answer_absence", args=[report.pk])


def places(rig: Rig, thing: str) -> tuple[str, ...]:
    known = layout_on(Rig.objects.get(pk=rig.pk)).things.get(thing)
    return known.places if known else ()


def test_put_back_leaves_the_rig_as_the_layout_and_drills_it_again(
    client_of: ClientOf, keeper: Person, rig: Rig, splint: Absence
) -> None:
    given = {"answer": Answer.PUT_BACK, "word": "was in the wash"}

    response = client_of(keeper).post(post_url(splint), given, follow=True)

    splint.refresh_from_db()
    assert (splint.answer, splint.word, splint.answered_by) == (*given.values(), keeper)
    assert held_pairs(rig) == frozenset()
    assert not RigDifference.objects.exists()
    assert "Put back: “was in the wash”" in response.content.decode()


def test_differs_makes_the_rig_its_own_and_drills_it_again(
    client_of: ClientOf, keeper: Person, rig: Rig, splint: Absence
) -> None:
    given = {"answer": Answer.DIFFERS, "here": "I1A", "revision": FIRST, "word": "no room"}

    client_of(keeper).post(post_url(splint), given)

    told = RigDifference.objects.get()
    assert (told.report, told.note, told.by) == (splint, "no room", keeper)
    assert places(rig, "splint") == ("I1A",)
    assert held_pairs(rig) == frozenset()
    assert not Revision.objects.filter(state="draft").exists()


def test_what_is_not_aboard_is_nowhere_on_this_rig_alone(
    client_of: ClientOf, keeper: Person, rig: Rig, splint: Absence
) -> None:
    given = {"answer": Answer.DIFFERS, "here": "not aboard", "revision": FIRST}

    client_of(keeper).post(post_url(splint), given)

    assert places(rig, "splint") == ()
    assert "splint" in layout_of(rig.revision).things
    assert held_pairs(rig) == frozenset()


def test_layout_is_wrong_opens_a_draft_with_the_change_and_drills_it_again(
    client_of: ClientOf, keeper: Person, rig: Rig, splint: Absence
) -> None:
    """Until it is published and the rig refitted the rig is drilled as it is."""
    client_of(keeper).post(
        post_url(splint), {"answer": Answer.LAYOUT_WRONG, "here": "I1A", "revision": FIRST}
    )

    draft = rig.layout.draft
    assert draft is not None
    assert layout_of(draft).things["splint"].places == ("I1A",)
    assert layout_of(rig.revision).things["splint"].places == ("S1A",)
    assert places(rig, "splint") == ("I1A",)
    assert held_pairs(rig) == frozenset()
    assert AuditEntry.objects.get(action="answer absence").after == {"answer": "layout is wrong"}


def test_the_difference_ends_when_the_layout_says_the_same(
    client_of: ClientOf, keeper: Person, rig: Rig, splint: Absence
) -> None:
    client = client_of(keeper)
    client.post(post_url(splint), {"answer": Answer.LAYOUT_WRONG, "here": "I1A", "revision": FIRST})
    draft = rig.layout.draft
    assert draft is not None

    client.post(reverse("rigs:publish", args=[rig.layout.slug, draft.number]), {"each": "1"})
    refit_rig(rig, by=keeper, now=NOW)

    ended = RigDifference.objects.get()
    assert ended.ended_at == NOW
    assert ended.ended_by == keeper
    assert places(rig, "splint") == ("I1A",)


def test_a_line_the_rig_does_not_carry_leaves_the_draft(
    client_of: ClientOf, keeper: Person, rig: Rig, splint: Absence
) -> None:
    client_of(keeper).post(
        post_url(splint), {"answer": Answer.LAYOUT_WRONG, "here": "not aboard", "revision": FIRST}
    )

    draft = rig.layout.draft
    assert draft is not None
    assert "splint" not in layout_of(draft).things


def test_what_the_layout_says_by_now_makes_no_draft(
    client_of: ClientOf, keeper: Person, rig: Rig, splint: Absence
) -> None:
    """The rig that was reported is only not refitted yet."""
    new = on_rig(practice_rig(), [Elsewhere("splint", "S1A", "I1A")])
    draft = import_layout(new, by=keeper, now=NOW)
    publish_revision(draft, by=keeper, now=NOW, refitted=[])

    client_of(keeper).post(
        post_url(splint), {"answer": Answer.LAYOUT_WRONG, "here": "I1A", "revision": FIRST}
    )

    assert rig.layout.draft is None
    assert places(rig, "splint") == ("I1A",)


def test_a_draft_that_says_something_third_refuses_and_nothing_is_stored(
    client_of: ClientOf, keeper: Person, rig: Rig, splint: Absence
) -> None:
    """The keeper moved it in the draft already, to yet another place."""
    moved = on_rig(practice_rig(), [Elsewhere("splint", "S1A", "S1")])
    import_layout(moved, by=keeper, now=NOW, publish=False)

    response = client_of(keeper).post(
        post_url(splint), {"answer": Answer.LAYOUT_WRONG, "here": "I1A", "revision": FIRST}
    )

    splint.refresh_from_db()
    assert response.status_code == 422
    assert "neither where it was nor where it is now" in response.content.decode()
    assert splint.answered_at is None
    assert not RigDifference.objects.exists()


def test_of_the_contents_of_a_place_the_thing_is_named(
    client_of: ClientOf, keeper: Person, rig: Rig, contents: Absence
) -> None:
    client = client_of(keeper)
    assert '<option value="gauze roll">Gauze roll</option>' in (
        client.get(url_of(contents)).content.decode()
    )

    client.post(
        post_url(contents),
        {"answer": Answer.DIFFERS, "thing": "tourniquet", "here": "S1", "revision": FIRST},
    )

    assert places(rig, "tourniquet") == ("BAG-M", "S1")
    assert held_pairs(rig) == frozenset()


def test_of_the_contents_no_answer_goes_without_a_thing(
    client_of: ClientOf, keeper: Person, contents: Absence
) -> None:
    response = client_of(keeper).post(
        post_url(contents), {"answer": Answer.DIFFERS, "here": "S1", "revision": FIRST}
    )

    contents.refresh_from_db()
    assert response.status_code == 422
    assert "No thing was chosen. A thing that Practice rig carries" in response.content.decode()
    assert contents.answered_at is None


def test_a_bag_as_a_whole_has_nothing_to_choose(
    client_of: ClientOf, keeper: Person, hire: Person, rig: Rig
) -> None:
    """What lies in its pockets is where the layout says: in the bag."""
    (bag,) = report_absence(["BAG"], thing="", rig=rig, revision=rig.revision, by=hire, now=NOW)

    page = client_of(keeper).get(url_of(bag)).content.decode()

    assert "Nothing lies in it directly." in page
    assert "Put back" in page
    assert "Differs on this rig" not in page


def test_of_a_double_the_place_that_is_wrong_may_be_chosen(
    client_of: ClientOf, keeper: Person, rig: Rig, hire: Person
) -> None:
    (report,) = report_absence(
        ["BAG-M", "I1A"], thing="tourniquet", rig=rig, revision=rig.revision, by=hire, now=NOW
    )
    given = {"answer": Answer.DIFFERS, "place": "I1A", "here": "not aboard", "revision": FIRST}

    client_of(keeper).post(post_url(report), given)

    assert places(rig, "tourniquet") == ("BAG-M",)


def test_what_the_own_list_says_wrongly_is_told_anew_of_the_same_line(
    client_of: ClientOf, keeper: Person, rig: Rig, hire: Person
) -> None:
    """The crew looked where the rig's own list sent them."""
    tell(rig, thing="tourniquet", place="I1A", here="S1", by=keeper, now=NOW)
    (report,) = report_absence(
        ["S1"], thing="tourniquet", rig=rig, revision=rig.revision, by=hire, now=NOW
    )
    page = client_of(keeper).get(url_of(report)).content.decode()
    assert '<option value="I1A" selected>I1 Wall cabinet › Upper drawer</option>' in page
    assert "This rig’s own list" in page

    client_of(keeper).post(
        post_url(report),
        {"answer": Answer.DIFFERS, "place": "I1A", "here": "S1A", "revision": FIRST},
    )

    assert places(rig, "tourniquet") == ("BAG-M", "S1A")
    assert rig.differences.open().count() == 1


def said_after(browser: Client, report: Absence, given: dict[str, str]) -> str:
    page = browser.post(post_url(report), given, follow=True).content.decode()
    return page[page.index("Answered. ") :].partition("<")[0]


def test_says_whether_it_is_drilled_again(
    client_of: ClientOf, keeper: Person, rig: Rig, splint: Absence, contents: Absence
) -> None:
    given = {"answer": Answer.DIFFERS, "here": "I1A", "revision": FIRST}

    said = said_after(client_of(keeper), splint, given)

    assert said == "Answered. It stays out of drills on 11: something else about it waits for you."
    said = said_after(client_of(keeper), contents, {"answer": Answer.PUT_BACK})
    assert said == "Answered. It is drilled on 11 again."


def test_says_that_what_is_not_aboard_is_not_drilled(
    client_of: ClientOf, keeper: Person, splint: Absence
) -> None:
    given = {"answer": Answer.DIFFERS, "here": "not aboard", "revision": FIRST}

    said = said_after(client_of(keeper), splint, given)

    assert said == "Answered. It is not aboard 11, and not drilled there."


@pytest.mark.parametrize(
    ("comes", "said"),
    [
        (None, "The draft of Practice rig has the change; publish it on Rigs."),
        (1, "Practice rig, rev. 2, which is to come, says so already."),
        (0, "Practice rig, rev. 2 says so already; refit this rig on Rigs."),
    ],
)
def test_says_where_the_change_of_the_layout_is(
    client_of: ClientOf, keeper: Person, rig: Rig, splint: Absence, comes: int | None, said: str
) -> None:
    """What is to come or in force already needs no draft."""
    if comes is not None:
        new = on_rig(practice_rig(), [Elsewhere("splint", "S1A", "I1A")])
        draft = import_layout(new, by=keeper, now=NOW)
        day = localdate() + timedelta(days=comes) if comes else None
        publish_revision(draft, by=keeper, now=now(), refitted=[], effective_on=day)

    told = said_after(
        client_of(keeper), splint, {"answer": Answer.LAYOUT_WRONG, "here": "I1A", "revision": FIRST}
    )

    assert told == f"Answered. It is drilled on 11 again. {said}"
    assert (rig.layout.draft is None) == (comes is not None)


def test_places_chosen_before_a_refit_are_refused_and_are_to_be_chosen_again(
    client_of: ClientOf, keeper: Person, rig: Rig, splint: Absence
) -> None:
    """In the new revision the code I1A is of another drawer."""
    layout = practice_rig()
    codes = {"I1A": "I1B", "I1B": "I1A"}
    swapped = [
        replace(e, code=codes.get(e.code, e.code), place=e.code) for e in layout.compartments
    ]
    stock = [replace(e, compartment=codes.get(e.compartment, e.compartment)) for e in layout.stock]
    import_layout(
        replace(layout, compartments=tuple(swapped), stock=tuple(stock)),
        by=keeper,
        now=NOW,
        publish=True,
    )
    client = client_of(keeper)

    for answer in (Answer.DIFFERS, Answer.LAYOUT_WRONG):
        given = {"answer": answer, "here": "I1A", "revision": FIRST, "word": "no room"}
        response = client.post(post_url(splint), given)
        page = response.content.decode()

        assert response.status_code == 422
        assert "Rig 11 rides Practice rig, rev. 2 by now" in page
        assert '<option value="I1A" selected>' not in page
        assert 'name="revision" value="practice-rig 2"' in page
        assert 'value="no room"' in page
    splint.refresh_from_db()
    assert splint.answered_at is None
    assert not RigDifference.objects.exists()
    client.post(post_url(splint), {"answer": Answer.PUT_BACK})
    assert held_pairs(rig) == frozenset()


AGAIN = "As the layout again"


def test_a_report_of_where_the_rig_has_it_says_so_and_put_back_leaves_it_there(
    client_of: ClientOf, keeper: Person, rig: Rig, hire: Person
) -> None:
    tell(rig, thing="splint", place="", here="I1A", by=keeper, now=NOW)
    (report,) = report_absence(
        ["I1A"], thing="splint", rig=rig, revision=rig.revision, by=hire, now=NOW
    )

    page = client_of(keeper).get(url_of(report)).content.decode()

    assert "Not where this rig has it: I1 Wall cabinet › Upper drawer" in page
    assert AGAIN in page
    client_of(keeper).post(post_url(report), {"answer": Answer.PUT_BACK})
    assert places(rig, "splint") == ("I1A",)
    assert held_pairs(rig) == frozenset()


def test_as_the_layout_again_ends_what_the_own_list_says_and_answers(
    client_of: ClientOf, keeper: Person, rig: Rig, hire: Person
) -> None:
    tell(rig, thing="splint", place="", here="I1A", by=keeper, now=NOW)
    tell(rig, thing="gauze roll", place="", here="S1", by=keeper, now=NOW)
    (report,) = report_absence(
        ["I1A"], thing="splint", rig=rig, revision=rig.revision, by=hire, now=NOW
    )

    client = client_of(keeper)
    client.post(post_url(report), {"answer": Answer.AS_LAYOUT})
    client.post(post_url(report), {"answer": Answer.AS_LAYOUT})

    assert places(rig, "splint") == ("S1A",)
    assert places(rig, "gauze roll") == ("S1",)
    assert held_pairs(rig) == frozenset()
    assert AGAIN in client.get(url_of(report)).content.decode()


def test_of_contents_as_the_layout_again_ends_what_the_list_says_of_that_place(
    client_of: ClientOf, keeper: Person, rig: Rig, contents: Absence
) -> None:
    tell(rig, thing="splint", place="", here="I1A", by=keeper, now=NOW)
    tell(rig, thing="gauze roll", place="", here="S1", by=keeper, now=NOW)
    tell(rig, thing="midazolam", place="", here="S1", by=keeper, now=NOW)

    page = client_of(keeper).get(url_of(contents)).content.decode()

    assert "Not what this rig has in I1 Wall cabinet › Upper drawer" in page
    client_of(keeper).post(post_url(contents), {"answer": Answer.AS_LAYOUT})
    assert [each.item.key for each in rig.differences.open()] == ["midazolam"]


def test_of_a_double_the_places_that_the_rig_has_are_named(
    client_of: ClientOf, keeper: Person, rig: Rig, hire: Person
) -> None:
    tell(rig, thing="tourniquet", place="I1A", here="S1", by=keeper, now=NOW)
    (report,) = report_absence(
        ["BAG-M", "S1"], thing="tourniquet", rig=rig, revision=rig.revision, by=hire, now=NOW
    )

    page = client_of(keeper).get(url_of(report)).content.decode()

    assert "Not where this rig has it: Any of its 2 places: " in page
    assert "Main pocket; S1 Street cabinet<" in page


def test_where_the_layout_says_is_said_of_a_rig_that_differs_since(
    client_of: ClientOf, keeper: Person, rig: Rig, splint: Absence
) -> None:
    assert AGAIN not in client_of(keeper).get(url_of(splint)).content.decode()

    tell(rig, thing="splint", place="", here="I1A", by=keeper, now=NOW)

    page = client_of(keeper).get(url_of(splint)).content.decode()
    assert "Not where the layout says: S1 Street cabinet › Lower shelf" in page


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({}, "No answer came in. Press Put back"),
        ({"answer": "gone"}, "gone came in. Press Put back"),
        (
            {"answer": Answer.PUT_BACK, "here": "I1A", "revision": FIRST},
            "“I1A” was chosen, and Put back pressed.",
        ),
        (
            {"answer": Answer.AS_LAYOUT, "here": "I1A", "revision": FIRST},
            "and As the layout again pressed.",
        ),
        ({"answer": Answer.DIFFERS}, "Choose where it is on this rig"),
        ({"answer": Answer.LAYOUT_WRONG}, "Choose where it is on this rig"),
        (
            {"answer": Answer.DIFFERS, "here": "Z9", "revision": FIRST},
            "“Z9” came in for the place on this rig.",
        ),
        ({"answer": Answer.DIFFERS, "here": "S1A", "revision": FIRST}, "so nothing differs"),
        ({"answer": Answer.LAYOUT_WRONG, "here": "S1A", "revision": FIRST}, "so nothing differs"),
        (
            {"answer": Answer.DIFFERS, "here": "I1A", "place": "S1", "revision": FIRST},
            "Splint is in: S1 Street",
        ),
        ({"answer": Answer.PUT_BACK, "word": "w" * 201}, "201 characters came in. At most 200"),
    ],
)
def test_what_makes_no_answer_is_refused_and_stores_nothing(
    client_of: ClientOf, keeper: Person, splint: Absence, given: dict[str, str], said: str
) -> None:
    before = AuditEntry.objects.count()

    response = client_of(keeper).post(post_url(splint), given)

    splint.refresh_from_db()
    assert response.status_code == 422
    assert said in response.content.decode()
    assert splint.answered_at is None
    assert not RigDifference.objects.exists()
    assert AuditEntry.objects.count() == before


def test_a_second_answer_changes_nothing(
    client_of: ClientOf, keeper: Person, rig: Rig, splint: Absence
) -> None:
    client = client_of(keeper)
    client.post(post_url(splint), {"answer": Answer.PUT_BACK})

    response = client.post(
        post_url(splint), {"answer": Answer.DIFFERS, "here": "I1A", "revision": FIRST}, follow=True
    )

    assert "answered already" in response.content.decode()
    assert places(rig, "splint") == ("S1A",)
    assert "Put back" in client.get(url_of(splint)).content.decode()
    assert '<button class="plainbtn" name="answer"' not in (
        client.get(url_of(splint)).content.decode()
    )


def test_what_was_chosen_stays_chosen_after_a_refusal(
    client_of: ClientOf, keeper: Person, splint: Absence
) -> None:
    given = {"answer": Answer.PUT_BACK, "here": "I1A", "revision": FIRST, "word": "see below"}

    page = client_of(keeper).post(post_url(splint), given).content.decode()

    assert '<option value="I1A" selected>' in page
    assert 'value="see below"' in page
