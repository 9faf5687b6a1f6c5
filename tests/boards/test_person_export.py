"""All that is kept about one person, given out in one document."""

import json
import stat
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from drills.competency.models import Evidence
from drills.demo.factories import PersonFactory
from drills.people.audit import record
from drills.people.models import AuditEntry, Person
from drills.rigs.models import Rig
from drills.runs.models import Presentation, Run
from tests.boards.persons import export, texts
from tests.boards.persons import history as history
from tests.runs.conftest import NOW
from tests.runs.player import Player, wrong

pytestmark = pytest.mark.django_db


def test_tells_who_they_are_and_what_they_ride(history: Run, rig: Rig) -> None:
    found = export()

    assert found["person"]["name"] == "Noor Hire"
    assert found["person"]["roles"] == ["crew member"]
    assert found["person"]["cohorts"] == ["First intake"]
    assert found["paired with"][-1]["field training officer"] == "FTO Ola Field"
    assert found["rigs picked"][0]["rig"] == "11"
    assert found["postings"][0]["from"] == "2026-01-05"
    assert found["tapping baselines"][0]["device"] == "phone"


def test_tells_each_answer_in_words_with_its_times(history: Run) -> None:
    run = export()["runs"][0]

    answer = next(each for each in run["answers"] if each.get("outcome") == "wrong")
    assert run["drill"] == history.drill.recipe.name
    assert answer["seconds"] == 4.0
    assert answer["served"]
    assert answer["right"] or answer["missed"]
    assert len(run["answers"]) == history.presentations.count()


def test_tells_what_they_contested_and_what_was_decided(history: Run) -> None:
    answers = export()["runs"][0]["answers"]

    (contested,) = [each for each in answers if "contested" in each]
    assert contested["because"] == "The clamp is in both."
    assert (contested["verdict"], contested["answered with"]) == ("voided", "So it is.")
    assert contested["outcome"] == "wrong"


def test_tells_evidence_reports_and_the_audit(history: Run) -> None:
    found = export()

    assert len(found["evidence"]) == Evidence.objects.count()
    assert all(": " in each["what"] for each in found["evidence"])
    assert found["reports of what is not in its place"][0]["what"].endswith("on Rig 11")
    changed = next(each for each in found["audit"] if each["action"] == "change person")
    assert changed["after"] == {"extra_time": "1.50"}
    assert any(each.get("by") == "this person" for each in found["audit"])


def test_holds_no_secret(history: Run, hire: Person) -> None:
    said = json.dumps(export())

    assert hire.password not in said
    assert history.secret not in said
    for presentation in Presentation.objects.all():
        assert presentation.token not in said


def test_names_no_other_crew_member(history: Run, outsider: Person, fto: Person) -> None:
    record("assign", "five", by=fto, now=NOW, after={"to": ["HIRE", "OUTSIDER"]})
    record("excuse", "five", by=fto, now=NOW, after={"HIRE": "ill", "OUTSIDER": "away"})

    of_hire, of_fto = export(), export("FTO")

    assert "OUTSIDER" not in json.dumps(of_hire)
    assert of_hire["audit"][1]["after"] == {"HIRE": "ill"}
    assert {"HIRE", "Noor Hire", "OUTSIDER"}.isdisjoint(texts(of_fto))
    assert of_fto["paired with"][0]["field training officer of"] == "a crew member"


def test_a_namesake_keeps_their_lines_to_themselves(hire: Person) -> None:
    record("add person", "HIRE", by=None, now=NOW, after={"name": "Noor Hire"})
    record("add person", "HIRE-2", by=None, now=NOW, after={"name": "Noor Hire"})
    PersonFactory.create(employee_number="HIRE-2", name="Noor Hire")

    assert [each["after"] for each in export()["audit"]] == [{"name": "Noor Hire"}]


def test_an_open_assessed_run_tells_no_answer(hire: Person, assessed_run: Run) -> None:
    player = Player(assessed_run)
    player.answer(player.past_warm_ups(), wrong(player.run.presentations.latest("order")))

    found = export()

    assert found["runs"][0]["answers"][-1]["outcome"] == "shown once the run is finished"
    assert "right" not in found["runs"][0]["answers"][-1]
    assert {each["outcome"] for each in found["evidence"]} == {"shown once the run is finished"}


def test_goes_to_a_file_for_its_owner_alone(hire: Person, tmp_path: Path) -> None:
    out, file = StringIO(), tmp_path / "hire.json"

    call_command("export_person", "HIRE", to=file, stdout=out, stderr=StringIO())

    assert json.loads(file.read_text())["person"]["name"] == "Noor Hire"
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert out.getvalue() == ""
    with pytest.raises(CommandError, match="takes a new file"):
        call_command("export_person", "HIRE", to=file, stdout=out)


def test_stands_in_the_audit_once_it_was_given_out(hire: Person, tmp_path: Path) -> None:
    file = tmp_path / "hire.json"

    assert export()["audit"] == []
    call_command("export_person", "HIRE", to=file, stdout=StringIO(), stderr=StringIO())
    with pytest.raises(CommandError, match="takes a new file"):
        call_command("export_person", "HIRE", to=file, stdout=StringIO())

    lines = AuditEntry.objects.filter(action="export person")
    assert [(each.subject, each.actor) for each in lines] == [("HIRE", None)] * 2
    assert [each["action"] for each in export()["audit"]] == ["export person"] * 2


def test_refuses_a_number_that_nobody_has(hire: Person) -> None:
    with pytest.raises(CommandError, match="no person with number 'HARE'"):
        export("HARE")
    assert not AuditEntry.objects.exists()
