"""Call readiness on pages: of one person, of two, and who may see it."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from drills.boards.exactly import Questions
from drills.boards.readiness import crew_board, readiness_board
from drills.competency.actions import Circumstances, record_evidence
from drills.competency.models import Modality
from drills.competency.refitting import refit
from drills.competency.reports import fetching_of, observed_outcomes, outlook_of
from drills.demo.factories import PairingFactory
from drills.engine.facts import BAG, Fact, facts_of, steps
from drills.engine.readying.call import NOT_ENOUGH, SCREEN_ONLY, UNCHECKED
from drills.engine.readying.musts import A_THING
from drills.engine.scoring import RIGHT, WRONG, Finding
from drills.people.models import Person
from drills.rigs.actions import pick_rig
from drills.rigs.models import Rig
from drills.rigs.reading import layout_of
from drills.rigs.reports import riders_of
from drills.runs.models import Run, SignOff
from drills.scenarios.dropping import CALLS_DRAWN, dropping_on
from drills.scenarios.models import CallType
from tests.calls import bleeding_call
from tests.runs.conftest import ClientOf

pytestmark = pytest.mark.django_db


@pytest.fixture
def call(rig: Rig, hire: Person) -> CallType:
    """A call for a tourniquet and a splint, and the hire on the rig that carries them."""
    pick_rig(hire, rig, now=timezone.now())
    return bleeding_call(rig.revision)


def answered(
    person: Person, rig: Rig, outcome: str, *things: str, times: int = 8, **more: object
) -> None:
    """First answers on every place of some things of the rig."""
    layout = layout_of(rig.revision)
    facts = {f for t in things for code in layout.things[t].places for f in steps(layout, t, code)}
    for number in range(times):
        plain = {
            "person": person,
            "revision": rig.revision,
            "rig": rig,
            "at": timezone.now() - timedelta(days=number),
            "kind": "locate",
            "depth_asked": "pocket",
            "choices_offered": 9,
            "chosen_by": "probe",
            "predictions": {},
            "predicted_by": "",
            "is_first": True,
            "seconds": 4.0,
            "time_state": "in time",
            "time_verdict": "",
            "limit_seconds": 15.0,
            "allowance": 1.0,
            "source": f"{person.employee_number} {'+'.join(things)} {number}",
        }
        findings = [Finding(fact, outcome, "pocket") for fact in facts]
        record_evidence(findings, Circumstances(**(plain | more)))  # type: ignore[arg-type]  # changed by name


def page(client_of: ClientOf, viewer: Person, *people: Person) -> str:
    name = "boards:crew" if len(people) == 2 else "boards:readiness"
    url = reverse(name, args=[each.employee_number for each in people])
    response = client_of(viewer).get(url)
    assert response.status_code == 200
    return response.content.decode()


def test_the_must_haves_of_a_call_are_facts_of_the_rig(call: CallType, rig: Rig) -> None:
    (drops,) = dropping_on(rig.revision).types
    (kit,) = drops.kits

    assert (drops.call, drops.lacking) == (call, 0)
    assert (kit.calls, kit.limit.seconds) == (CALLS_DRAWN, 2 * A_THING)
    assert [len(must.ways) for must in kit.musts] == [2, 1]
    assert kit.musts[0].ways[0][0].kind == BAG


def test_before_anything_was_answered_no_chance_is_said(
    call: CallType, hire: Person, client_of: ClientOf
) -> None:
    board = readiness_board(hire, viewer=hire, now=timezone.now())

    assert not board.told
    assert board.untold[0].said.words[0] == NOT_ENOUGH
    content = page(client_of, hire, hire)
    assert "Not enough evidence" in content
    assert "80 % interval</th>" not in content


def test_a_chance_is_said_with_its_interval_and_what_to_drill_first(
    call: CallType, rig: Rig, hire: Person, client_of: ClientOf
) -> None:
    answered(hire, rig, RIGHT, "tourniquet", times=12)
    answered(hire, rig, RIGHT, "splint", times=12)

    (row,) = readiness_board(hire, viewer=hire, now=timezone.now()).told

    assert row.shown is not None
    chance, low, high = row.shown.in_100
    assert low < chance < high <= low + 35
    assert row.said.things == 2
    assert row.said.first[0].gain
    content = page(client_of, hire, hire)
    assert f"{low} to {high}; all but one in {row.one_short} of 100; on " in content
    assert f"; <b>{SCREEN_ONLY}</b>" in content
    assert f"{CALLS_DRAWN} calls of each type are drawn" in content
    assert (
        "0 of 200 kits foretold and seen, of 0 of 10 people, by the last refit: too few" in content
    )
    assert "Not yet checked against your crews:</b> 0 of 200" in content


def test_what_is_missed_comes_first_among_what_to_drill(
    call: CallType, rig: Rig, hire: Person
) -> None:
    answered(hire, rig, RIGHT, "tourniquet", times=12)
    answered(hire, rig, WRONG, "splint", times=12)

    (row,) = readiness_board(hire, viewer=hire, now=timezone.now()).told

    assert row.said.first[0].name == "Board-splints"
    assert row.said.chance is not None
    assert row.said.chance < 0.3


def test_what_was_seen_at_the_rig_takes_screen_only_away(
    call: CallType, rig: Rig, hire: Person
) -> None:
    answered(hire, rig, RIGHT, "tourniquet", "splint", times=12, modality=Modality.HANDS_ON)

    (row,) = readiness_board(hire, viewer=hire, now=timezone.now()).told

    assert SCREEN_ONLY not in row.said.words
    assert observed_outcomes() == 4 * 12
    assert UNCHECKED in row.said.words


def test_imported_answers_are_told_of_one_and_of_two(
    call: CallType, rig: Rig, hire: Person, outsider: Person, educator: Person, client_of: ClientOf
) -> None:
    for each in (hire, outsider):
        pick_rig(each, rig, now=timezone.now())
        answered(each, rig, RIGHT, "splint", times=12)
    told = "imported answers among them"
    assert told not in page(client_of, educator, outsider, hire)

    answered(hire, rig, RIGHT, "tourniquet", is_imported=True)

    assert told in page(client_of, educator, hire)
    assert told in page(client_of, educator, outsider, hire)
    assert told not in page(client_of, educator, outsider)


def test_simulated_outcomes_check_nothing_and_are_told(
    call: CallType, rig: Rig, hire: Person, client_of: ClientOf
) -> None:
    answered(hire, rig, RIGHT, "splint", modality=Modality.HANDS_ON, is_simulated=True)

    assert observed_outcomes() == 0
    assert "simulated answers among them" in page(client_of, hire, hire)


def test_without_a_rig_nothing_is_said(hire: Person, rig: Rig, client_of: ClientOf) -> None:
    assert "has picked no rig yet" in page(client_of, hire, hire)


def test_while_an_assessed_run_is_open_one_sees_nothing_of_it_but_others_do(
    call: CallType, hire: Person, fto: Person, assessed_run: Run, client_of: ClientOf
) -> None:
    assert "is open; this is shown after it" in page(client_of, hire, hire)
    assert "Severe bleeding" in page(client_of, fto, hire)


def test_before_the_first_fit_counts_are_gone_by_and_nobody_hits_on_a_place(
    call: CallType, rig: Rig, hire: Person, outsider: Person
) -> None:
    facts = facts_of(layout_of(rig.revision))
    answered(hire, rig, RIGHT, "splint")
    told = fetching_of((hire, outsider), revision=rig.revision, facts=facts, now=timezone.now())
    known, other = (told[each.pk].now for each in (hire, outsider))
    at = known.at[next(fact for fact in facts if fact.thing == "splint")]

    assert known.firsts[at] == 8
    assert other.firsts.sum() == 0
    assert known.logit[at] > other.logit[at]
    assert not known.floor.any()
    assert not told[hire.pk].ahead


def test_what_the_fit_thinks_is_gone_by_once_there_is_one(
    call: CallType, rig: Rig, hire: Person, outsider: Person
) -> None:
    for person, outcome in ((hire, RIGHT), (outsider, WRONG)):
        answered(person, rig, outcome, "splint", "tourniquet", "gauze roll")
    assert refit(now=timezone.now, say=lambda _: None) is not None
    facts = facts_of(layout_of(rig.revision))

    at_once = {"revision": rig.revision, "facts": facts, "days": (30,), "now": timezone.now()}
    told = fetching_of((hire, outsider), **at_once)  # type: ignore[arg-type]  # told by name
    alone = outlook_of(hire, **at_once)  # type: ignore[arg-type]  # told by name

    assert alone is not None
    assert list(told[hire.pk].now.logit) == pytest.approx(list(alone.now.logit), abs=1e-6)
    assert list(told[hire.pk].ahead[30].logit) == pytest.approx(
        list(alone.ahead[30].logit), abs=1e-6
    )
    assert not told[hire.pk].now.floor.any()
    assert told[hire.pk].thought_by.startswith("fit ")
    at = told[hire.pk].now.at[next(fact for fact in facts if fact.thing == "splint")]
    assert told[hire.pk].now.logit[at] > told[outsider.pk].now.logit[at]


def test_two_are_readier_than_one_and_nobody_is_told_alone(
    call: CallType, rig: Rig, hire: Person, outsider: Person, educator: Person, client_of: ClientOf
) -> None:
    answered(hire, rig, RIGHT, "tourniquet", times=12)
    answered(hire, rig, WRONG, "splint", times=12)
    answered(outsider, rig, WRONG, "tourniquet", times=12)
    answered(outsider, rig, RIGHT, "splint", times=12)
    now = timezone.now()

    board = crew_board((hire, outsider), viewer=educator, call="bleeding", now=now)
    alone = readiness_board(hire, viewer=educator, now=now).told[0].said.chance

    assert board.said is not None
    assert alone is not None
    assert (board.said.chance or 0.0) > alone
    assert not board.said.unseen
    content = page(client_of, educator, hire, outsider)
    assert "one of the two may well find each must-have" in content


def test_a_call_that_is_not_there_is_refused_by_name_for_two(
    call: CallType, rig: Rig, hire: Person, outsider: Person, educator: Person, client_of: ClientOf
) -> None:
    address = reverse("boards:crew", args=[hire.employee_number, outsider.employee_number])
    refused = client_of(educator).get(address, {"call": "zzz"})

    assert refused.status_code == 422
    content = refused.content.decode()
    assert "&#x27;zzz&#x27; is no call here; there are: bleeding" in content
    assert "All found in time" not in content
    assert "Neither is likely to find <span>" not in content
    assert "Nothing is shown for that" in content
    assert client_of(educator).get(address, {"call": "bleeding"}).status_code == 200


def test_what_neither_finds_is_named_with_the_shortest_drill(
    call: CallType, rig: Rig, hire: Person, outsider: Person, educator: Person, client_of: ClientOf
) -> None:
    for person in (hire, outsider):
        answered(person, rig, RIGHT, "tourniquet", times=12)
        answered(person, rig, WRONG, "splint", times=12)

    board = crew_board((hire, outsider), viewer=educator, call="", now=timezone.now())

    assert board.said is not None
    assert [each.name for each in board.said.unseen] == ["Board-splints"]
    assert [each.text for each in board.drill] == ["Where is Splint?"]
    assert "Where is Splint?" in page(client_of, educator, hire, outsider)


def test_a_drill_for_what_lies_together_asks_for_the_place(rig: Rig) -> None:
    """Four things of one category in two places: two questions of contents, not four of place."""
    layout = layout_of(rig.revision)
    facts = [f for f in facts_of(layout) if f.place in ("S1A", "I1B") and f.kind == "item"]

    drill = Questions(layout).drill_for(facts)

    assert sum(each.seconds for each in drill) <= sum(15 for _ in facts)
    assert Questions(layout).drill_for([Fact("item", "nothing", "nowhere")]) == ()


def test_only_who_may_see_both_sees_two_and_finds_the_way_there(
    call: CallType, rig: Rig, hire: Person, fto: Person, outsider: Person, client_of: ClientOf
) -> None:
    pick_rig(outsider, rig, now=timezone.now())
    url = reverse("boards:crew", args=["HIRE", "OUTSIDER"])

    assert riders_of(rig) == [hire, outsider]
    assert client_of(fto).get(url).status_code == 404
    assert url not in page(client_of, fto, hire)

    PairingFactory.create(fto=fto, crew=outsider)

    assert client_of(fto).get(url).status_code == 200
    assert url in page(client_of, fto, hire)


def test_who_rides_another_rig_by_now_is_no_mate(rig: Rig, hire: Person, outsider: Person) -> None:
    other = Rig.objects.create(unit="12", layout=rig.layout, revision=rig.revision)
    for person in (hire, outsider):
        pick_rig(person, rig, now=timezone.now() - timedelta(hours=2))
    pick_rig(outsider, other, now=timezone.now())

    assert riders_of(rig) == [hire]


def test_the_page_of_a_person_leads_to_it(hire: Person, client_of: ClientOf) -> None:
    content = client_of(hire).get(reverse("boards:person", args=["HIRE"])).content.decode()
    assert reverse("boards:readiness", args=["HIRE"]) in content


def test_an_officer_is_offered_with_whoever_they_may_see(
    call: CallType, rig: Rig, hire: Person, outsider: Person, fto: Person, client_of: ClientOf
) -> None:
    """The officer themself, who picked no rig, and their other people; a stranger is not."""
    alone = page(client_of, fto, hire)
    assert reverse("boards:crew", args=["HIRE", "FTO"]) in alone
    assert reverse("boards:crew", args=["HIRE", "OUTSIDER"]) not in alone
    assert "boards/people/HIRE/with/" not in page(client_of, hire, hire)

    PairingFactory.create(fto=fto, crew=outsider)

    assert reverse("boards:crew", args=["HIRE", "OUTSIDER"]) in page(client_of, fto, hire)


def test_an_educator_is_offered_the_officer_of_a_person(
    call: CallType, hire: Person, fto: Person, educator: Person, client_of: ClientOf
) -> None:
    assert reverse("boards:crew", args=["HIRE", "FTO"]) in page(client_of, educator, hire)


def test_what_stands_first_for_several_calls_stands_above_them_with_one_drill(
    call: CallType, rig: Rig, hire: Person, client_of: ClientOf
) -> None:
    """The tourniquet is known and the splint is not; with one call there is nothing to gather."""
    answered(hire, rig, RIGHT, "tourniquet", times=12)
    answered(hire, rig, WRONG, "splint", times=12)
    assert readiness_board(hire, viewer=hire, now=timezone.now()).begin is None

    call.pk, call.slug, call.name = None, "bleeding-2", "Bleeding again"
    call.save(force_insert=True)

    begin = readiness_board(hire, viewer=hire, now=timezone.now()).begin
    assert begin is not None
    assert begin.things[0] == ("Board-splints", 2)
    assert "Where is Splint?" in [each.text for each in begin.drill]
    content = page(client_of, hire, hire)
    assert content.index("Begin with these") < content.index("Least ready first")
    assert '<b>Board-splints</b></span> <span class="q nw">2 calls</span>' in content


def test_the_numbers_are_explained_where_they_stand(
    call: CallType, rig: Rig, hire: Person, client_of: ClientOf
) -> None:
    explained = "One thing is enough to lose it"
    assert explained not in page(client_of, hire, hire)

    answered(hire, rig, WRONG, "tourniquet", "splint", times=12)

    content = page(client_of, hire, hire)
    assert content.index(explained) < content.index("80 % interval</th>")
    assert "missing on average, of 2 must-haves a call" in content


def test_a_sign_off_and_a_chance_are_told_apart_where_both_stand(
    call: CallType, rig: Rig, hire: Person, fto: Person, educator: Person, client_of: ClientOf
) -> None:
    """Of a sign-off that was withdrawn, or on another layout, the page of calls says nothing."""
    told, now = "Neither stands for the other", timezone.now()
    url = reverse("boards:person", args=[hire.employee_number])
    assert told not in page(client_of, hire, hire)
    assert told not in client_of(hire).get(url).content.decode()

    signed = SignOff.objects.create(
        person=hire,
        officer=fto,
        revision=rig.revision,
        categories=["immobilisation"],
        seen_at=now,
        signed_at=now,
    )

    content = page(client_of, educator, hire)
    assert "<b>Signed off</b> on Practice rig: immobilisation." in content
    assert told in content
    assert told in client_of(hire).get(url).content.decode()
    signed.withdrawn_at, signed.withdrawn_because = now, "seen wrong"
    signed.save()
    assert "<b>Signed off</b>" not in page(client_of, educator, hire)
