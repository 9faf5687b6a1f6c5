"""Reports of what is not where the layout says."""

from importlib import import_module

import pytest
from django.apps import apps
from django.db import IntegrityError, connection
from django.test import Client
from django.urls import reverse

from drills.demo.factories import rig_on
from drills.people.models import AuditEntry, Person
from drills.rigs.actions import held_pairs, report_absence
from drills.rigs.models import Absence, Answer, Reporting, Rig
from tests.layouts import practice_rig
from tests.rigs.conftest import FRAGMENT, NOW, ClientOf, NumQueries

URL = reverse("rigs:absences")


@pytest.fixture
def report(rig: Rig, hire: Person) -> Absence:
    (made,) = report_absence(
        ["BAG-M"], thing="tourniquet", rig=rig, revision=rig.revision, by=hire, now=NOW
    )
    return made


def report_thing(rig: Rig, thing: str, places: list[str], *, by: Person) -> list[Absence]:
    return report_absence(places, thing=thing, rig=rig, revision=rig.revision, by=by, now=NOW)


PUT_BACK = {"answer": Answer.PUT_BACK}


def answer_url(report: Absence) -> str:
    return reverse("rigs:answer_absence", args=[report.pk])


def test_says_rig_thing_place_time_and_who(
    client_of: ClientOf, keeper: Person, report: Absence
) -> None:
    found = client_of(keeper).get(URL).content.decode()

    for said in (
        *("Rig 11 <span>1 waits", "<b>Tourniquet</b>", "Response bag › Main pocket"),
        *("Noor Hire, 25 Nov 2026, 05:40", "Practice rig, rev. 1"),
    ):
        assert said in found


def test_says_when_nothing_is_reported(client_of: ClientOf, keeper: Person) -> None:
    assert "Nothing is reported." in client_of(keeper).get(URL).content.decode()


def test_a_report_of_a_whole_place_names_no_thing(
    client_of: ClientOf, keeper: Person, hire: Person, rig: Rig
) -> None:
    report_absence(["BAG-M"], thing="", rig=rig, revision=rig.revision, by=hire, now=NOW)

    assert "<b>Contents of the place</b>" in client_of(keeper).get(URL).content.decode()


def test_answering_lets_it_be_drilled_again(
    client_of: ClientOf, keeper: Person, rig: Rig, report: Absence
) -> None:
    assert held_pairs(rig) != frozenset()

    client_of(keeper).post(answer_url(report), PUT_BACK)

    report.refresh_from_db()
    assert report.answered_by == keeper
    assert held_pairs(rig) == frozenset()


def test_the_first_answer_stands(
    client_of: ClientOf, keeper: Person, admin: Person, report: Absence
) -> None:
    client_of(keeper).post(answer_url(report), PUT_BACK)
    told = AuditEntry.objects.count()

    client_of(admin).post(answer_url(report), PUT_BACK)

    report.refresh_from_db()
    assert report.answered_by == keeper
    assert AuditEntry.objects.count() == told


def test_tells_htmx_where_to_go(client_of: ClientOf, keeper: Person, report: Absence) -> None:
    response = client_of(keeper).post(answer_url(report), PUT_BACK, headers=FRAGMENT)

    assert response["HX-Redirect"] == URL


def test_knows_no_other_report(client_of: ClientOf, keeper: Person) -> None:
    assert client_of(keeper).post(reverse("rigs:answer_absence", args=[1])).status_code == 404


def test_a_thing_with_doubles_is_one_report_of_all_its_places(
    client_of: ClientOf, keeper: Person, hire: Person, rig: Rig
) -> None:
    (report,) = report_thing(rig, "tourniquet", ["BAG-M", "I1A"], by=hire)

    found = client_of(keeper).get(URL).content.decode()

    assert report.place is None
    assert found.count("<b>Tourniquet</b>") == 1
    assert "Any of its 2 places" in found
    assert "Response bag › Main pocket; I1 Wall cabinet › Upper drawer" in found
    assert held_pairs(rig) == {("tourniquet", "")}


def test_a_thing_that_waits_is_not_reported_again(hire: Person, rig: Rig) -> None:
    first = report_thing(rig, "tourniquet", ["BAG-M", "I1A"], by=hire)

    again = report_thing(rig, "tourniquet", ["I1A"], by=hire)

    assert (len(first), again, Absence.objects.count()) == (1, [], 1)


def test_whoever_says_the_same_is_named_and_hears_as_well(
    client_of: ClientOf, keeper: Person, fto: Person, hire: Person, rig: Rig, report: Absence
) -> None:
    report_thing(rig, "tourniquet", ["BAG-M"], by=fto)
    report_thing(rig, "tourniquet", ["BAG-M"], by=hire)

    found = client_of(keeper).get(URL).content.decode()

    assert list(report.reportings.values_list("person", flat=True)) == [hire.pk, fto.pk]
    assert found.index("Noor Hire, 25 Nov") < found.index(f"{fto.name}, 25 Nov")


def test_whoever_says_the_same_of_a_place_hears_as_well(
    hire: Person, fto: Person, rig: Rig
) -> None:
    (first,) = report_thing(rig, "", ["I1A"], by=hire)

    (second,) = report_thing(rig, "", ["I1A", "S1"], by=fto)

    assert set(Reporting.objects.values_list("absence", "person")) == {
        *((first.pk, hire.pk), (first.pk, fto.pk), (second.pk, fto.pk))
    }


def test_the_list_goes_by_rig_and_thing(
    client_of: ClientOf, keeper: Person, hire: Person, rig: Rig
) -> None:
    other = rig_on(practice_rig(), unit="09")
    for thing, on in (("tourniquet", rig), ("splint", other), ("gauze roll", rig)):
        report_thing(on, thing, ["S1A"], by=hire)

    found = client_of(keeper).get(URL).content.decode()

    said = ("Rig 09", "<b>Splint</b>", "Rig 11", "<b>Gauze roll</b>", "<b>Tourniquet</b>")
    assert [found.index(each) for each in said] == sorted(found.index(each) for each in said)


def test_the_database_holds_one_open_report_of_a_thing(
    hire: Person, rig: Rig, report: Absence
) -> None:
    with pytest.raises(IntegrityError):
        Absence.objects.create(
            rig=rig, revision=rig.revision, item=report.item, reported_by=hire, reported_at=NOW
        )


def test_the_database_holds_no_report_of_nothing(hire: Person, rig: Rig) -> None:
    with pytest.raises(IntegrityError):
        Absence.objects.create(rig=rig, revision=rig.revision, reported_by=hire, reported_at=NOW)


def test_open_reports_of_one_thing_are_joined_when_the_tables_change(
    hire: Person, keeper: Person, rig: Rig
) -> None:
    """What waited once for each place waits once; what was answered stays as it was."""
    rows = [*report_thing(rig, "tourniquet", ["I1A"], by=hire)]
    Absence.objects.update(answered_at=NOW, answered_by=keeper)
    rows += report_thing(rig, "tourniquet", ["BAG-M"], by=hire)
    other = report_thing(rig, "gauze roll", ["I1A"], by=hire)
    place = rows[0].place
    changes = import_module("drills.rigs.migrations.0003_one_report_of_a_thing")

    with connection.cursor() as cursor:  # as it was before; the test's end rolls it back
        cursor.execute("DROP INDEX one_open_report_of_a_thing")
    Absence.objects.create(
        rig=rig, revision=rig.revision, item=rows[0].item, place=place, reported_at=NOW
    )
    changes.join_open_reports(apps, None)

    kept = Absence.objects.open().get(item__key="tourniquet")
    assert (kept.pk, kept.place) == (rows[1].pk, None)
    assert Absence.objects.get(pk=rows[0].pk).place == place
    assert Absence.objects.open().filter(pk=other[0].pk, place=place).exists()


def test_who_reported_before_hears_once_the_tables_change(
    hire: Person, keeper: Person, rig: Rig, report: Absence
) -> None:
    """What was answered already is no news."""
    report_thing(rig, "gauze roll", ["I1A"], by=keeper)
    report_thing(rig, "splint", ["S1A"], by=keeper)
    Absence.objects.filter(item__key="splint").update(reported_by=None)
    Absence.objects.filter(item__key="gauze roll").update(answered_at=NOW)
    Reporting.objects.all().delete()
    changes = import_module("drills.rigs.migrations.0010_who_reported")

    changes.tell_who_reported(apps, None)

    assert set(Reporting.objects.values_list("absence__item__key", "person", "seen_at")) == {
        ("tourniquet", hire.pk, None),
        ("gauze roll", keeper.pk, NOW),
    }


def test_asks_no_more_of_the_database_for_more_reports(
    client_of: ClientOf,
    keeper: Person,
    hire: Person,
    rig: Rig,
    django_assert_num_queries: NumQueries,
) -> None:
    for thing in ("tourniquet", "gauze roll", "traffic cone"):
        report_thing(rig, thing, ["I1A"], by=hire)
    report_thing(rig, "", ["BAG-M", "S1"], by=hire)
    report_thing(rig, "tourniquet", ["I1A"], by=keeper)
    client = client_of(keeper)
    client.get(URL)

    with django_assert_num_queries(7):
        client.get(URL)


def test_is_for_keepers_alone(client_of: ClientOf, hire: Person, report: Absence) -> None:
    client = client_of(hire)

    assert client.get(URL).status_code == 403
    assert client.post(answer_url(report)).status_code == 403


def test_reads_with_get_and_answers_with_post(
    client_of: ClientOf, keeper: Person, report: Absence
) -> None:
    client = client_of(keeper)

    assert client.post(URL).status_code == 405
    assert client.get(answer_url(report)).status_code == 405


def test_is_nothing_for_a_stranger(db: None) -> None:
    assert Client().get(URL)["Location"].startswith(reverse("people:sign_in"))
