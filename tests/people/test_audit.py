"""The audit is written once."""

import pytest
from django.utils import timezone

from drills.people.audit import record
from drills.people.models import AuditEntry, AuditIsKeptError, Person

WAS, IS = {"unit": "11"}, {"unit": "12"}


@pytest.fixture
def entry(admin: Person) -> AuditEntry:
    return record("add rig", "11", by=admin, now=timezone.now(), before=WAS, after=IS)


def test_a_line_holds_what_was_before_and_after(entry: AuditEntry) -> None:
    found = AuditEntry.objects.get()

    assert (found.before, found.after) == (WAS, IS)


def test_a_line_is_never_changed(entry: AuditEntry) -> None:
    entry.subject = "another"
    copied = AuditEntry(pk=entry.pk, at=entry.at, action="another", subject="another")

    for change in (
        entry.save,
        copied.save,
        lambda: AuditEntry.objects.update(subject="another"),
        lambda: AuditEntry.objects.filter(pk=entry.pk).update(subject="another"),
        lambda: AuditEntry.objects.bulk_update([entry], ["subject"]),
    ):
        with pytest.raises(AuditIsKeptError, match="written once"):
            change()

    assert AuditEntry.objects.get().subject == "11"


def test_a_line_is_never_removed(entry: AuditEntry) -> None:
    for removal in (entry.delete, AuditEntry.objects.all().delete):
        with pytest.raises(AuditIsKeptError):
            removal()

    assert AuditEntry.objects.count() == 1


def test_a_line_outlives_the_person_and_loses_the_name_alone(
    entry: AuditEntry, admin: Person
) -> None:
    admin.delete()

    found = AuditEntry.objects.get()
    assert (found.actor, found.subject, found.after) == (None, "11", IS)
