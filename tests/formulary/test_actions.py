"""Who approves a formulary, and what stands against it."""

from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.db import IntegrityError

from drills.demo.factories import PersonFactory
from drills.formulary.actions import ApprovalRefusedError, approve
from drills.formulary.models import (
    DoseRule,
    FormularyRevision,
    FormularyState,
    RuleIsKeptError,
)
from drills.people.models import AuditEntry, Person, Role
from tests.formulary.conftest import (
    DOCUMENT,
    NOW,
    TODAY,
    hand_in,
    make_rule,
    put_in_force,
)


def test_an_approval_says_who_when_and_by_which_document(
    own: FormularyRevision, director: Person
) -> None:
    put_in_force(own, by=director, document=f" {DOCUMENT} ")

    own.refresh_from_db()
    assert own.state == FormularyState.APPROVED
    assert (own.approved_by, own.approved_by_name) == (director, "Di Rector")
    assert (own.approved_on, own.document) == (TODAY, DOCUMENT)


def test_it_stays_when_who_approved_is_erased(own: FormularyRevision, director: Person) -> None:
    put_in_force(own, by=director)

    director.delete()

    own.refresh_from_db()
    assert (own.state, own.approved_by) == (FormularyState.APPROVED, None)
    assert own.approved_by_name == "Di Rector"


def test_the_next_approval_supersedes_the_one_before(
    own: FormularyRevision, director: Person
) -> None:
    second = FormularyRevision.objects.create(number=2)
    make_rule(second)

    for revision in (own, second):
        put_in_force(revision, by=director)

    states = FormularyRevision.objects.values_list("number", "state")
    assert dict(states) == {1: FormularyState.SUPERSEDED, 2: FormularyState.APPROVED}
    lines = AuditEntry.objects.filter(action="approve formulary").values_list(
        "at", "actor", "action", "subject", "before", "after"
    )
    assert list(lines) == [
        (
            NOW,
            director.pk,
            "approve formulary",
            f"revision {number}",
            {"in force": before},
            {
                "in force": number,
                "document": DOCUMENT,
                "contradictions": 0,
                "changes meant": [],
            },
        )
        for number, before in ((1, None), (2, 1))
    ]


@pytest.mark.parametrize("role", sorted(set(Role) - {Role.DIRECTOR}))
def test_nobody_but_a_medical_director_approves(own: FormularyRevision, role: Role) -> None:
    person = PersonFactory.create(roles=[role])

    hand_in(own)

    with pytest.raises(PermissionDenied, match="medical director"):
        approve(own, by=person, document=DOCUMENT, now=NOW)

    assert_not_approved(own, "submitted")


@pytest.mark.parametrize(
    ("fields", "told"),
    [
        ({"source": " "}, "B7 has no source"),
        ({"version": ""}, "B7 has no version"),
        ({"page": ""}, "B7 has no page"),
        ({"date": None}, "B7 has no date"),
        ({"source": "", "date": None}, "B7 has no source and no date"),
        ({"status": "demonstration value"}, "B7 is a demonstration value"),
        ({"presentations": ["gone"]}, "B7 comes as gone, which this revision has not"),
        ({"is_mixed": True}, "B7 is mixed to a strength that is not given"),
        ({"status": "from memory"}, "B7 is from memory: no document was read"),
    ],
)
def test_a_rule_without_a_source_is_named_and_stops_it(
    own: FormularyRevision, director: Person, fields: dict[str, Any], told: str
) -> None:
    make_rule(own, "B7", **fields)
    make_rule(own, "B8", source="")

    with pytest.raises(ApprovalRefusedError, match=f"{told}; B8 has no source"):
        hand_in(own)
    assert_not_approved(own)
    as_submitted(own)
    with pytest.raises(ApprovalRefusedError, match=f"{told}; B8 has no source"):
        approve(own, by=director, document=DOCUMENT, now=NOW)

    assert_not_approved(own, "submitted")


def test_a_presentation_that_does_not_read_stops_it(
    own: FormularyRevision, director: Person
) -> None:
    own.presentations.update(strength="10 cc")

    with pytest.raises(ApprovalRefusedError, match="10-mg-2-ml-vial: '10 cc' is no strength"):
        hand_in(own)


@pytest.mark.parametrize("document", ["", "   "])
def test_without_a_document_there_is_none(
    own: FormularyRevision, director: Person, document: str
) -> None:
    hand_in(own)

    with pytest.raises(ApprovalRefusedError, match="Name the document"):
        approve(own, by=director, document=document, now=NOW)

    assert_not_approved(own, "submitted")


def test_a_draft_that_nobody_submitted_is_not_approved(
    own: FormularyRevision, director: Person
) -> None:
    with pytest.raises(ApprovalRefusedError, match="is a draft: an educator submits it first"):
        approve(own, by=director, document=DOCUMENT, now=NOW)

    assert_not_approved(own)


@pytest.mark.parametrize("looked_at", [0, 2])
def test_each_contradiction_is_looked_at_before_an_approval(
    own: FormularyRevision, director: Person, looked_at: int
) -> None:
    make_rule(own, "A2", dose="0.1 mg/kg", source="Another book")
    hand_in(own)

    with pytest.raises(ApprovalRefusedError, match="1 contradiction is in it"):
        approve(own, by=director, document=DOCUMENT, contradictions=looked_at, now=NOW)
    assert_not_approved(own, "submitted")
    approve(own, by=director, document=DOCUMENT, contradictions=1, now=NOW)

    own.refresh_from_db()
    assert (own.state, own.contradictions_shown) == (FormularyState.APPROVED, 1)


def test_a_revision_without_rules_is_not_approved(own: FormularyRevision, director: Person) -> None:
    own.rules.get().delete()

    with pytest.raises(ApprovalRefusedError, match="has no rules"):
        hand_in(own)
    as_submitted(own)
    with pytest.raises(ApprovalRefusedError, match="has no rules"):
        approve(own, by=director, document=DOCUMENT, now=NOW)

    assert_not_approved(own, "submitted")


def test_the_demonstration_is_never_approved(demo: FormularyRevision, director: Person) -> None:
    with pytest.raises(ApprovalRefusedError, match="not for patient care and is never approved"):
        approve(demo, by=director, document=DOCUMENT, now=NOW)
    with pytest.raises(ApprovalRefusedError, match="not for patient care and is never approved"):
        hand_in(demo)

    assert_not_approved(demo)


@pytest.mark.parametrize("state", [FormularyState.APPROVED, FormularyState.SUPERSEDED])
def test_what_was_approved_is_not_approved_again(
    own: FormularyRevision, director: Person, state: FormularyState
) -> None:
    put_in_force(own, by=director)
    FormularyRevision.objects.update(state=state)

    with pytest.raises(ApprovalRefusedError, match=f"revision 1 is {state} already"):
        approve(own, by=director, document="another", now=NOW)

    assert AuditEntry.objects.filter(action="approve formulary").count() == 1


def test_a_rule_that_was_approved_is_never_changed(
    own: FormularyRevision, director: Person
) -> None:
    put_in_force(own, by=director)
    assert_kept()


def test_a_rule_that_is_submitted_is_not_changed_either(own: FormularyRevision) -> None:
    hand_in(own)
    assert_kept()


def assert_kept() -> None:
    rule = DoseRule.objects.get()
    rule.dose = "2 mg/kg"

    with pytest.raises(RuleIsKeptError):
        rule.save()
    with pytest.raises(RuleIsKeptError):
        rule.delete()
    with pytest.raises(RuleIsKeptError):
        make_rule(rule.revision, "A2")
    with pytest.raises(RuleIsKeptError):
        rule.comes_as[0].save()

    assert list(DoseRule.objects.values_list("code", "dose")) == [("A1", "0.2 mg/kg")]


class TestTheDatabaseItself:
    """Whatever writes to it."""

    APPROVED = {
        "state": "approved",
        "approved_by_name": "Di Rector",
        "approved_on": TODAY,
        "document": DOCUMENT,
    }

    @pytest.mark.django_db
    def test_takes_one_approved_revision_alone(self) -> None:
        FormularyRevision.objects.create(number=1, **self.APPROVED)

        with pytest.raises(IntegrityError):
            FormularyRevision.objects.create(number=2, **self.APPROVED)

    @pytest.mark.django_db
    @pytest.mark.parametrize("state", ["approved", "superseded"])
    def test_takes_no_approved_demonstration(self, state: str) -> None:
        with pytest.raises(IntegrityError):
            FormularyRevision.objects.create(
                number=0, is_demo=True, **(self.APPROVED | {"state": state})
            )

    @pytest.mark.django_db
    @pytest.mark.parametrize(
        "lacking", [{"approved_by_name": ""}, {"approved_on": None}, {"document": ""}]
    )
    def test_takes_no_approval_that_lacks_who_when_or_what(self, lacking: dict[str, Any]) -> None:
        with pytest.raises(IntegrityError):
            FormularyRevision.objects.create(number=1, **(self.APPROVED | lacking))


def as_submitted(revision: FormularyRevision) -> None:
    """Past the checks of an educator's own submission, which meet the same faults first."""
    FormularyRevision.objects.filter(pk=revision.pk).update(state=FormularyState.SUBMITTED)


def assert_not_approved(revision: FormularyRevision, state: str = "draft") -> None:
    revision.refresh_from_db()
    assert (revision.state, revision.approved_by_name, revision.document) == (state, "", "")
    assert not AuditEntry.objects.filter(action="approve formulary").exists()
