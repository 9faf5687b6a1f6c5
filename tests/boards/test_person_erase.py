"""A person erased: what goes, and what stays as counts that lead to nobody."""

from collections import Counter
from datetime import time, timedelta
from io import StringIO
from typing import Any

import pytest
from django.contrib.sessions.models import Session
from django.core.management import CommandError, call_command
from django.utils import timezone

from drills.competency.actions import void_evidence
from drills.competency.models import Evidence
from drills.demo.factories import PersonFactory
from drills.formulary.models import FormularyRevision
from drills.people.actions import add_person
from drills.people.actions.signing_in import look, tries_of
from drills.people.audit import record
from drills.people.models import AuditEntry, Pairing, Person, Role
from drills.rigs.models import Posting, Rig
from drills.runs.actions import excuse, start_run
from drills.runs.models import Assigned, Presentation, Run, TappingBaseline
from drills.scenarios.models import Drill, Recipe
from tests.boards.persons import export, keys_to_people, said_anywhere
from tests.boards.persons import history as history
from tests.formulary.conftest import director as director
from tests.formulary.conftest import own as own
from tests.formulary.conftest import put_in_force
from tests.runs.assignments import given
from tests.runs.conftest import NOW
from tests.runs.player import Player, right

pytestmark = pytest.mark.django_db

# Every key to a person that the export tells of and that erasing empties or takes away. Whoever
# adds one says in the room's records.py what is given out and what goes, and writes it here.
KEYS = {
    "competency.Evidence.observed_by",
    "competency.Evidence.person",
    "competency.PersonOffset.person",
    "formulary.FormularyRevision.approved_by",
    "formulary.FormularyRevision.recorded_by",
    "formulary.FormularyRevision.sent_back_by",
    "formulary.FormularyRevision.submitted_by",
    "people.AuditEntry.actor",
    "people.Pairing.crew",
    "people.Pairing.fto",
    "people.Person_cohorts.person",
    "people.RoleGrant.person",
    "people.PersonalCode.person",
    "people.SignInCode.person",
    "rigs.Absence.answered_by",
    "rigs.Absence.reported_by",
    "rigs.DraftStep.changed_by",
    "rigs.PackFactor.decided_by",
    "rigs.PlacePhoto.uploaded_by",
    "rigs.PlaceLabel.ended_by",
    "rigs.PlaceLabel.made_by",
    "rigs.Posting.person",
    "rigs.Reporting.person",
    "rigs.RigDifference.by",
    "rigs.RigDifference.ended_by",
    "rigs.RequiredRow.decided_by",
    "rigs.RigPick.person",
    "rigs.TieDecision.decided_by",
    "runs.Assigned.excused_by",
    "runs.Assigned.person",
    "runs.Assignment.given_by",
    "runs.CalendarFeed.person",
    "runs.Contest.decided_by",
    "runs.DailyNote.officer",
    "runs.DailyNote.person",
    "runs.ItemShown.officer",
    "runs.ItemShown.person",
    "runs.PhaseSpell.by",
    "runs.PhaseSpell.person",
    "runs.ReminderAddress.person",
    "runs.Run.person",
    "runs.Sheet.officer",
    "runs.Sheet.person",
    "runs.Series.given_by",
    "runs.SheetContest.decided_by",
    "runs.SignOff.officer",
    "runs.SignOff.person",
    "runs.SignOff.withdrawn_by",
    "runs.TappingBaseline.person",
    "scenarios.Named_people.person",
    "scenarios.Recipe.changed_by",
    "scenarios.Recipe.owner",
    "scenarios.RecipeVersion.changed_by",
}


def erase(number: str = "HIRE", *, confirm: str | None = None) -> str:
    out = StringIO()
    call_command("erase_person", number, confirm=confirm or number, stdout=out)
    return out.getvalue()


def counts_of_facts() -> Counter[Any]:
    return Counter(Evidence.objects.values_list("fact", "outcome", "is_first", "time_verdict"))


def test_every_key_to_a_person_is_given_out_and_erased() -> None:
    assert {name for name, _, _ in keys_to_people()} - KEYS == set()


def test_leaves_neither_key_nor_number_nor_name_anywhere(history: Run, hire: Person) -> None:
    number = hire.pk
    assert any("Noor Hire" in text for _, text in said_anywhere())

    erase()

    for name, model, column in keys_to_people():
        assert not model._base_manager.filter(**{column: number}).exists(), name
    for column, text in said_anywhere():
        assert "Noor Hire" not in text, column
        assert "HIRE" not in text.replace("HIRE-2", ""), column
    assert not Person.objects.filter(pk=number).exists()
    assert Session.objects.count() == 0


def test_forgets_who_tried_to_sign_in_as_them(history: Run) -> None:
    for number in ("HIRE", "FTO"):
        look(number, "guess", address="192.0.2.1", device="x", now=timezone.now())

    erase()

    assert not tries_of("HIRE").exists()
    assert tries_of("FTO").count() == 1


def test_leaves_every_count_of_a_cohort_as_it_was(history: Run) -> None:
    before = counts_of_facts()

    erase()

    assert before
    assert counts_of_facts() == before


def test_no_two_rows_of_evidence_lead_to_each_other_or_to_an_answer(history: Run) -> None:
    answers = {f"answer {token}" for token in Presentation.objects.values_list("token", flat=True)}

    erase()

    rows = list(Evidence.objects.all())
    sources = {row.source for row in rows}
    assert len(sources) == len(rows) > 1
    assert sources.isdisjoint(answers)
    assert {row.at.time() for row in rows} == {time()}
    assert {(row.limit_seconds, row.allowance, row.prediction) for row in rows} == {
        (None, 1.0, None)
    }


def test_runs_answers_drills_and_baselines_go(history: Run, hire: Person) -> None:
    erase()

    for kind in (Run, Presentation, TappingBaseline, Drill, Posting, Pairing):
        assert not kind._base_manager.exists(), kind


def test_a_drill_that_another_rode_stays_without_its_weights(
    history: Run, outsider: Person, recipe: Recipe, rig: Rig
) -> None:
    theirs = start_run(outsider, recipe=recipe, revision=rig.revision, rig=rig, now=NOW)
    Run.objects.filter(pk=theirs.pk).update(drill=history.drill)
    Drill.objects.filter(pk=history.drill_id).update(weights={"item:a@b": 0.5})

    erase()

    kept = Drill.objects.get(pk=history.drill_id)
    assert kept.weights == {}
    assert kept.prompts.exists()


def test_lines_of_the_audit_stay_and_name_nobody(history: Run, hire: Person) -> None:
    lines = AuditEntry.objects.count()

    erase()

    found = AuditEntry.objects.all()
    assert found.count() == lines + 1
    assert found.filter(action="pair", subject="FTO (erased)").exists()
    roster = found.get(action="import roster")
    assert roster.after == {"(erased)": ["(erased)", "HIRE-2"]}
    assert roster.before is None
    assert AuditEntry.objects.filter(action="import roster", before__isnull=True).exists()
    told = found.get(action="erase person")
    assert (told.subject, told.actor) == ("a person", None)
    assert (told.after or {})["went"]["runs"] == 1


def test_a_rig_that_has_the_number_of_the_person_keeps_its_line(admin: Person) -> None:
    PersonFactory.create(employee_number="204", name="Ann Other")
    record("add rig", "204", by=admin, now=NOW)

    erase("204")

    assert AuditEntry.objects.filter(action="add rig", subject="204").exists()


LINES_LIKE_NUMBERS: list[tuple[str, str, Any, Any]] = [
    ("give code", "HIRE", None, {"until": "2026-12-09T10:28:15.4+04:28", "had_password": False}),
    ("import roster", "28 people", None, {"added": 28, "changed": 4, "left": 0}),
    ("change person", "HIRE", {"station": "28", "cohorts": ["4"]}, {"station": None, "roles": []}),
    ("decide contest", "answer 4 of run 28", {"marks": {"4": "28"}}, {"verdict": "upheld"}),
    ("assign", "five due 2026-11-28, 4", None, {"due": "2026-11-28", "to": ["HIRE"]}),
    ("add rig", "28", None, {"layout": "4"}),
    ("add station", "28", None, {"name": "28"}),
    ("export most missed", "Box 4, cohort 28", None, {"rows": 4, "fact": "28"}),
]


@pytest.mark.parametrize("number", ["28", "4"])
def test_what_only_looks_like_the_number_stays_and_is_not_given_out(
    hire: Person, number: str
) -> None:
    PersonFactory.create(employee_number=number, name="Ann Other")
    for action, subject, before, after in LINES_LIKE_NUMBERS:
        record(action, subject, by=hire, now=NOW, before=before, after=after)
    record("change person", number, by=None, now=NOW, after={"extra_time": "1.50"})

    given_out = export(number)["audit"]
    erase(number)

    assert [each["after"] for each in given_out] == [{"extra_time": "1.50"}]
    kept = AuditEntry.objects.filter(actor=hire)
    assert [*kept.values_list("action", "subject", "before", "after")] == LINES_LIKE_NUMBERS
    assert AuditEntry.objects.get(action="change person", actor=None).subject == "(erased)"


def test_the_number_goes_wherever_a_number_stands(hire: Person, fto: Person) -> None:
    PersonFactory.create(employee_number="28", name="Ann Other")
    record("pair", "28 HIRE", by=None, now=NOW)
    record("change person", "HIRE", by=None, now=NOW, before={"ftos": ["28", "FTO"]}, after={})
    record("assign", "five", by=fto, now=NOW, after={"to": ["28", "HIRE"]})

    erase("28")

    found = dict(AuditEntry.objects.values_list("action", "subject"))
    assert found["pair"] == "(erased) HIRE"
    assert AuditEntry.objects.get(action="change person").before == {"ftos": ["(erased)", "FTO"]}
    assert AuditEntry.objects.get(action="assign").after == {"to": ["(erased)", "HIRE"]}


def test_reasons_for_them_and_by_them_go_and_those_of_others_stay(
    history: Run, hire: Person, outsider: Person, fto: Person, recipe: Recipe
) -> None:
    both = given(recipe, [hire, outsider], by=fto)
    excuse(list(both.assigned.filter(person=hire)), because="a broken wrist", by=fto, now=NOW)
    excuse(list(both.assigned.filter(person=outsider)), because="on leave", by=fto, now=NOW)
    excuse(list(both.assigned.filter(person=hire)), because="a broken arm", by=fto, now=NOW)
    assert any("The clamp is in both." in text for _, text in said_anywhere())

    erase()

    said = " ".join(text for _, text in said_anywhere())
    for words in ("wrist", "arm", "The clamp is in both.", "So it is."):
        assert words not in said
    excuses = AuditEntry.objects.filter(action="excuse").values_list("before", "after")
    assert list(excuses) == [
        ({"(erased)": ""}, {"(erased)": "(erased)"}),
        ({"OUTSIDER": ""}, {"OUTSIDER": "on leave"}),
        ({"(erased)": "(erased)"}, {"(erased)": "(erased)"}),
    ]
    decided = AuditEntry.objects.get(action="decide contest")
    assert (decided.after or {})["verdict"] == "voided"
    assert (decided.before or {})["outcome"] == "wrong"


def test_a_name_that_they_bore_before_goes_as_well(hire: Person) -> None:
    names = {"before": {"name": "Noor Maiden"}, "after": {"name": "Noor Hire"}}
    record("change person", "HIRE", by=None, now=NOW, **names)
    record("change person", "HIRE-2", by=None, now=NOW, **names)

    erase()

    first, second = AuditEntry.objects.filter(action="change person")
    assert (first.before, first.after) == ({"name": "(erased)"}, {"name": "(erased)"})
    assert second.before == {"name": "Noor Maiden"}


def test_a_name_that_two_bear_stays_with_the_other(fto: Person, admin: Person) -> None:
    for number in ("E1", "E10"):
        add_person(
            number,
            "Jo Twin",
            password=None,
            roles=[Role.CREW],
            certification=None,
            by=admin,
            now=NOW,
        )

    erase("E1")

    other = AuditEntry.objects.get(action="add person", subject="E10")
    gone = AuditEntry.objects.get(action="add person", subject="(erased)")
    assert (other.after or {})["name"] == "Jo Twin"
    assert (gone.after or {})["name"] == "(erased)"


def test_an_assignment_stays_with_the_others_it_was_given_to(
    history: Run, hire: Person, outsider: Person, fto: Person, recipe: Recipe
) -> None:
    both = given(recipe, [hire, outsider], by=fto)
    excuse(list(both.assigned.all()), because="Noor Hire and the other were ill", by=fto, now=NOW)
    alone = given(recipe, [hire], by=fto)

    erase()

    assert [each.person for each in Assigned.objects.all()] == [outsider]
    assert not type(alone).objects.filter(pk=alone.pk).exists()


def test_a_note_that_names_them_is_told(
    history: Run, hire: Person, outsider: Person, fto: Person, recipe: Recipe
) -> None:
    given(recipe, [outsider], by=fto, note="together with Noor Hire")

    assert "look at it: runs.assignment note: 1 rows" in erase()


def test_evidence_that_they_voided_of_others_forgets_them(
    run: Run, hire: Person, outsider: Person
) -> None:
    Player(run).finish(right)
    Evidence.objects.update(person=outsider)
    count = void_evidence(Evidence.objects.latest("pk").source, by="HIRE", now=NOW)

    assert f"{count} evidence they voided" in erase()

    voided = Evidence.objects.exclude(voided_at=None).values_list("voided_by", flat=True)
    assert list(voided) == ["erased"] * count
    assert Evidence.objects.filter(person=outsider).count() == Evidence.objects.count()


def test_who_approved_a_formulary_stays_named_there_alone(
    director: Person, own: FormularyRevision
) -> None:
    put_in_force(own, by=director, document="Protocols, edition 7", now=NOW)

    said = erase("DIRECTOR")

    columns = {column for column, text in said_anywhere() if "Di Rector" in text}
    assert columns == {"formulary.FormularyRevision.approved_by_name"}
    assert "Keeps the name of who approved it: Formulary, revision 1" in said


def test_says_what_went_and_what_stays(history: Run) -> None:
    said = " ".join(erase().split())

    assert "1 runs" in said
    assert f"{Evidence.objects.count()} evidence, unlinked" in said
    assert "1 contests" in said
    assert "1 reports made" in said
    assert "1 ties decided" in said


@pytest.mark.parametrize(
    ("number", "confirm", "words"),
    [
        ("HARE", "HARE", "no person with number 'HARE'"),
        ("HIRE", "hire", "--confirm is 'hire'; it takes the same number, 'HIRE'"),
    ],
)
def test_refuses_a_number_that_is_not_meant(
    history: Run, number: str, confirm: str, words: str
) -> None:
    before = AuditEntry.objects.count()

    with pytest.raises(CommandError, match=words):
        erase(number, confirm=confirm)

    assert Person.objects.filter(employee_number="HIRE").exists()
    assert AuditEntry.objects.count() == before


def test_waits_while_an_assessed_prompt_is_open(hire: Person) -> None:
    hire.assessed_prompt_until = timezone.now() + timedelta(minutes=5)
    hire.save(update_fields=["assessed_prompt_until"])

    with pytest.raises(CommandError, match="An assessed prompt of HIRE is open until"):
        erase()

    assert Person.objects.filter(pk=hire.pk).exists()


def test_a_failure_half_way_changes_nothing(history: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object, **__: object) -> None:
        raise ValueError("no more room")

    with monkeypatch.context() as broken:
        broken.setattr("drills.boards.person_records.record", fail)
        with pytest.raises(CommandError, match="Nothing was changed"):
            erase()

    assert export()["evidence"]
    assert Run.objects.get().person is not None
