"""A draft on its way to the medical director, back, and to an approval on paper."""

from datetime import timedelta
from hashlib import sha256
from typing import Any

import pytest
from django.core.exceptions import PermissionDenied

from drills.demo.factories import PersonFactory
from drills.formulary.actions import (
    ApprovalRefusedError,
    approve,
    draft_from,
    record_signed,
    send_back,
    submit,
)
from drills.formulary.differences import differences
from drills.formulary.models import FormularyRevision, FormularyState
from drills.formulary.papers import PaperRefusedError, Signature, paper_of
from drills.formulary.readiness import fault_of
from drills.formulary.reports import rules_in_force, rules_of
from drills.people.models import AuditEntry, Person, Role
from tests.formulary.conftest import DOCUMENT, NOW, TODAY, hand_in, make_rule, put_in_force

PDF = b"%PDF-1.7 signed"
SIGNED: dict[str, Any] = {"name": "Dr Paper", "on": TODAY, "document": DOCUMENT}


@pytest.fixture
def teacher(db: None) -> Person:
    return PersonFactory.create(employee_number="TEACHER", name="Ed Ucator", roles=[Role.EDUCATOR])


def signature(**fields: Any) -> Signature:
    return Signature(**(SIGNED | {"paper": paper_of("signed.pdf", PDF)} | fields))


class TestSubmitting:
    def test_says_who_and_when(self, own: FormularyRevision, teacher: Person) -> None:
        submit(own, by=teacher, now=NOW)

        own.refresh_from_db()
        assert (own.state, own.submitted_by, own.submitted_at) == ("submitted", teacher, NOW)
        line = AuditEntry.objects.get()
        assert (line.actor, line.action, line.subject) == (
            teacher,
            "submit formulary",
            "revision 1",
        )

    @pytest.mark.parametrize("role", sorted(set(Role) - {Role.EDUCATOR}))
    def test_is_the_educators(self, own: FormularyRevision, role: Role) -> None:
        with pytest.raises(PermissionDenied):
            submit(own, by=PersonFactory.create(roles=[role]), now=NOW)

        own.refresh_from_db()
        assert own.state == FormularyState.DRAFT

    def test_happens_once(self, own: FormularyRevision, teacher: Person) -> None:
        hand_in(own)

        with pytest.raises(ApprovalRefusedError, match="is submitted already"):
            submit(own, by=teacher, now=NOW)

    def test_refuses_what_is_older_than_the_approved_one(
        self, own: FormularyRevision, director: Person, teacher: Person
    ) -> None:
        second = FormularyRevision.objects.create(number=2)
        make_rule(second)
        put_in_force(second, by=director)

        with pytest.raises(ApprovalRefusedError, match="is older than Formulary, revision 2"):
            submit(own, by=teacher, now=NOW)


class TestACopyOfTheDemonstration:
    """Under a name of its own, with what is from memory called confirmed or left out."""

    @pytest.fixture
    def copy(self, demo: FormularyRevision, teacher: Person) -> FormularyRevision:
        draft = draft_from(demo, by=teacher, now=NOW)
        FormularyRevision.objects.filter(pk=draft.pk).update(name="Ours")
        unfit = [rule.code for rule in rules_of(draft) if fault_of(rule)]
        draft.rules.filter(code__in=unfit[1:]).delete()
        said = {"status": "confirmed", "version": "1", "page": "1", "date": TODAY}
        draft.rules.filter(code=unfit[0]).update(code="OURS-1", **said)
        draft.refresh_from_db()
        return draft

    def test_needs_the_document_it_was_written_from(
        self, copy: FormularyRevision, teacher: Person
    ) -> None:
        with pytest.raises(ApprovalRefusedError, match="34 of its rules say what the demonstr"):
            submit(copy, by=teacher, now=NOW)

        FormularyRevision.objects.filter(pk=copy.pk).update(written_from="Our protocols")
        submit(copy, by=teacher, now=NOW)
        copy.refresh_from_db()
        assert copy.state == FormularyState.SUBMITTED

    def test_is_none_where_each_dose_is_its_own(
        self, copy: FormularyRevision, teacher: Person
    ) -> None:
        copy.rules.update(dose="9 mg")

        submit(copy, by=teacher, now=NOW)


class TestSendingBack:
    def test_makes_it_a_draft_again_with_the_reason(
        self, own: FormularyRevision, director: Person, teacher: Person
    ) -> None:
        hand_in(own)

        send_back(own, by=director, because=" A1 is for children alone. ", now=NOW)

        own.refresh_from_db()
        assert (own.state, own.sent_back_by) == (FormularyState.DRAFT, director)
        assert own.sent_back_because == "A1 is for children alone."
        make_rule(own, "A2", indication="pain")
        submit(own, by=teacher, now=NOW)
        own.refresh_from_db()
        assert (own.sent_back_by, own.sent_back_because) == (None, "")
        line = AuditEntry.objects.get(action="send formulary back")
        assert line.after == {"because": "A1 is for children alone."}

    @pytest.mark.parametrize(
        ("because", "told"), [(" ", "Say what has to change"), ("x" * 201, "it takes 200")]
    )
    def test_takes_a_reason_that_fits(
        self, own: FormularyRevision, director: Person, because: str, told: str
    ) -> None:
        hand_in(own)

        with pytest.raises(ApprovalRefusedError, match=told):
            send_back(own, by=director, because=because, now=NOW)

        own.refresh_from_db()
        assert own.state == FormularyState.SUBMITTED

    def test_is_the_directors_and_of_what_is_submitted(
        self, own: FormularyRevision, director: Person, teacher: Person
    ) -> None:
        with pytest.raises(ApprovalRefusedError, match="is a draft"):
            send_back(own, by=director, because="x", now=NOW)
        hand_in(own)
        with pytest.raises(PermissionDenied):
            send_back(own, by=teacher, because="x", now=NOW)


class TestApproving:
    def test_is_by_somebody_else_than_who_submitted_it(
        self, own: FormularyRevision, director: Person
    ) -> None:
        """Who holds both roles as well."""
        both = PersonFactory.create(name="Bo Th", roles=[Role.EDUCATOR, Role.DIRECTOR])
        submit(own, by=both, now=NOW)

        with pytest.raises(ApprovalRefusedError, match="Bo Th submitted it, and nobody approves"):
            approve(own, by=both, document=DOCUMENT, now=NOW)
        own.refresh_from_db()
        assert own.state == FormularyState.SUBMITTED

        approve(own, by=director, document=DOCUMENT, now=NOW)
        own.refresh_from_db()
        assert (own.state, own.approved_by) == ("approved", director)

    def test_waits_for_another_where_one_sent_back_is_submitted_anew(
        self, own: FormularyRevision, director: Person, teacher: Person
    ) -> None:
        both = PersonFactory.create(roles=[Role.EDUCATOR, Role.DIRECTOR])
        submit(own, by=both, now=NOW)
        send_back(own, by=both, because="Another educator submits it.", now=NOW)
        submit(own, by=teacher, now=NOW)

        approve(own, by=both, document=DOCUMENT, now=NOW)

        own.refresh_from_db()
        assert (own.state, own.approved_by) == ("approved", both)


class TestRecording:
    def test_names_both_and_keeps_the_paper(self, own: FormularyRevision, teacher: Person) -> None:
        hand_in(own)

        record_signed(own, by=teacher, signature=signature(), now=NOW)

        own.refresh_from_db()
        assert (own.state, own.approved_by, own.approved_by_name) == ("approved", None, "Dr Paper")
        assert (own.recorded_by, own.recorded_by_name) == (teacher, "Ed Ucator")
        assert (own.approved_on, own.document) == (SIGNED["on"], DOCUMENT)
        assert bytes(own.signed.content) == PDF
        assert own.signed.sha256 == sha256(PDF).hexdigest()
        assert (own.signed.name, own.signed.content_type) == ("signed.pdf", "application/pdf")
        assert rules_in_force(NOW).approved_by == "Dr Paper"
        line = AuditEntry.objects.get(action="record signed formulary")
        assert line.after == {
            "in force": 1,
            "document": DOCUMENT,
            "contradictions": 0,
            "changes meant": [],
            "signed on": "2026-11-25",
            "sha256": own.signed.sha256,
        }

    def test_supersedes_the_one_before(
        self, own: FormularyRevision, director: Person, teacher: Person
    ) -> None:
        put_in_force(own, by=director)
        second = hand_in(draft_from(own, by=teacher, now=NOW))

        record_signed(second, by=teacher, signature=signature(), now=NOW)

        own.refresh_from_db()
        assert own.state == FormularyState.SUPERSEDED

    @pytest.mark.parametrize(
        ("fields", "told"),
        [
            ({"name": " "}, "Name the medical director"),
            ({"document": " "}, "Name the document"),
            ({"on": TODAY + timedelta(days=1)}, "is still to come"),
            (
                {"on": TODAY - timedelta(days=1)},
                "2026-11-24, before it was submitted; 2026-11-25 to 2026-11-25 is accepted",
            ),
            ({"name": "Ed Ucator"}, "Ed Ucator came in .* Ed Ucator is who records it: it takes"),
            ({"name": " ed   UCATOR "}, "is who records it"),
            ({"name": "Dr. Ucator, Ed, MD"}, "is who records it"),
            ({"name": "teacher"}, "is who records it"),
            ({"name": "Sub Mitter"}, "Sub Mitter is who submitted it"),
        ],
    )
    def test_takes_who_signed_what_and_when(
        self, own: FormularyRevision, teacher: Person, fields: dict[str, Any], told: str
    ) -> None:
        submit(own, by=PersonFactory.create(name="Sub Mitter", roles=[Role.EDUCATOR]), now=NOW)

        with pytest.raises(ApprovalRefusedError, match=told):
            record_signed(own, by=teacher, signature=signature(**fields), now=NOW)

        own.refresh_from_db()
        assert own.state == FormularyState.SUBMITTED
        assert not hasattr(own, "signed")

    def test_takes_a_name_that_shares_a_word(self, own: FormularyRevision, teacher: Person) -> None:
        """A director of the same family is somebody else; one word is no whole name."""
        teacher.name = "Ed"
        teacher.save()
        hand_in(own)

        record_signed(own, by=teacher, signature=signature(name="Dr Ed Lee"), now=NOW)

        own.refresh_from_db()
        assert own.approved_by_name == "Dr Ed Lee"

    def test_is_the_educators_and_of_what_is_submitted(
        self, own: FormularyRevision, director: Person, teacher: Person
    ) -> None:
        with pytest.raises(ApprovalRefusedError, match="is a draft"):
            record_signed(own, by=teacher, signature=signature(), now=NOW)
        hand_in(own)
        with pytest.raises(PermissionDenied):
            record_signed(own, by=director, signature=signature(), now=NOW)

    def test_looks_at_contradictions_as_an_approval_does(
        self, own: FormularyRevision, teacher: Person
    ) -> None:
        make_rule(own, "A2", dose="0.1 mg/kg")
        hand_in(own)

        with pytest.raises(ApprovalRefusedError, match="1 contradiction is in it"):
            record_signed(own, by=teacher, signature=signature(), now=NOW)
        record_signed(own, by=teacher, signature=signature(), contradictions=1, now=NOW)

        own.refresh_from_db()
        assert own.contradictions_shown == 1


class TestPapers:
    @pytest.mark.parametrize(
        ("content", "kind"),
        [
            (PDF, "application/pdf"),
            (b"\xff\xd8\xff\xe0 x", "image/jpeg"),
            (b"\x89PNG\r\n", "image/png"),
        ],
    )
    def test_are_known_by_their_bytes(self, content: bytes, kind: str) -> None:
        assert paper_of("C:\\papers\\a.html", content).content_type == kind
        assert paper_of("C:\\papers\\a.html", content).name == "a.html"

    @pytest.mark.parametrize(
        ("content", "told"),
        [
            (b"", "a.pdf is neither; it takes a PDF"),
            (b"<html>%PDF-", "is neither"),
            (PDF + b"x" * 5_000_000, "a.pdf has 5.0 MB; it takes"),
        ],
    )
    def test_of_another_kind_or_too_large_are_refused(self, content: bytes, told: str) -> None:
        with pytest.raises(PaperRefusedError, match=told):
            paper_of("a.pdf", content)


class TestDrafting:
    def test_takes_over_all_that_the_revision_says(
        self, own: FormularyRevision, director: Person, teacher: Person
    ) -> None:
        make_rule(own, "A2", indication="pain", presentation="5 mg / 1 mL syringe")
        put_in_force(own, by=director)

        draft = draft_from(own, by=teacher, now=NOW)

        assert (draft.number, draft.state, draft.is_demo) == (2, "draft", False)
        assert differences(rules_of(own), rules_of(draft)).changes == ()
        assert [each.printed for each in rules_of(draft)[1].comes_as] == ["5 mg / 1 mL syringe"]
        assert rules_of(draft)[1].comes_as[0].revision == draft
        assert own.presentations.count() == draft.presentations.count() == 2

    def test_of_the_demonstration_is_none_and_cannot_be_submitted(
        self, demo: FormularyRevision, teacher: Person
    ) -> None:
        """What is from memory stays from memory, whoever copies it."""
        draft = draft_from(demo, by=teacher, now=NOW)

        assert (draft.is_demo, draft.notice, draft.rules.count()) == (False, "", 76)
        with pytest.raises(ApprovalRefusedError, match=r"D004 is from memory.*D030 is a demon"):
            submit(draft, by=teacher, now=NOW)

    def test_is_the_educators(self, own: FormularyRevision, director: Person) -> None:
        with pytest.raises(PermissionDenied):
            draft_from(own, by=director, now=NOW)

        assert FormularyRevision.objects.count() == 1
