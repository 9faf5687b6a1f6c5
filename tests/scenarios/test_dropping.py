"""Calls as they may drop on a layout: drawn once, kept, and drawn anew when anything changes."""

from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest

from drills.engine.calls import CallError
from drills.engine.dispatch import make_call
from drills.engine.elsewhere import Elsewhere
from drills.engine.readying.musts import A_THING
from drills.rigs.models import ItemTerms, Need, Rig
from drills.scenarios import dropping
from drills.scenarios.dropping import CALLS_DRAWN, dropping_on
from drills.scenarios.models import CallType, Problem

pytestmark = pytest.mark.django_db
ON_ITSELF = "tourniquet-limb"


@pytest.fixture
def call(bleeding: CallType) -> CallType:
    """One patient: bleeding, or as one in four bruised, who alone take the splint."""
    bled = Problem.objects.get(slug="bleed")
    Problem.objects.create(slug="bruise", name="Bruise", kind="trauma", states=bled.states)
    (patient,) = bleeding.patients
    bleeding.patients = [patient | {"weight": 3}, patient | {"problem": "bruise", "weight": 1}]
    bleeding.patients_least = bleeding.patients_most = 1
    bleeding.needs[0] |= {"problem": ""}
    bleeding.needs[1] |= {"problem": "bruise", "per": "patient"}
    bleeding.save()
    return bleeding


@pytest.fixture(autouse=True)
def drawn(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[str]]:
    """The types of the calls that were drawn in this test, each as often as it was."""
    times: list[str] = []
    real = make_call

    def counted(call_type: Any, *rest: Any) -> Any:
        times.append(call_type.slug)
        return real(call_type, *rest)

    monkeypatch.setattr(dropping, "make_call", counted)
    forget()
    yield times
    forget()


def forget() -> None:
    dropping._kept_on.cache_clear()
    dropping._kept_drawn.cache_clear()


def sizes(rig: Rig, own: tuple[Elsewhere, ...] = ()) -> dict[int, int]:
    """How many drawn calls have a kit of so many things."""
    types = dropping_on(rig.revision, own).types
    return {len(kit.musts): kit.calls for each in types for kit in each.kits}


def test_each_drawn_call_has_its_own_kit_and_limit(call: CallType, rig: Rig) -> None:
    (drops,) = dropping_on(rig.revision).types
    limits = {len(kit.musts): kit.limit.seconds for kit in drops.kits}

    assert (drops.fewest, drops.most, drops.calls) == (1, 2, CALLS_DRAWN)
    assert limits == {1: A_THING, 2: 2 * A_THING}
    assert 0.6 < sizes(rig)[1] / CALLS_DRAWN < 0.9


def test_what_was_drawn_is_kept_and_is_the_same_after_it_was_forgotten(
    call: CallType, rig: Rig, drawn: list[str]
) -> None:
    first = dropping_on(rig.revision)
    assert dropping_on(rig.revision).mark == first.mark
    assert len(drawn) == CALLS_DRAWN

    forget()

    assert dropping_on(rig.revision).types == first.types
    assert len(drawn) == 2 * CALLS_DRAWN


@pytest.mark.parametrize("what", ["call type", "problem", "need's name"])
def test_what_calls_are_made_from_is_drawn_from_as_it_is_now(
    what: str, call: CallType, rig: Rig, drawn: list[str]
) -> None:
    before = dropping_on(rig.revision)
    if what == "call type":
        call.patients = call.patients[:1]
        call.save()
    elif what == "problem":
        bled = Problem.objects.get(slug="bleed")
        bled.states = [bled.states[0] | {"findings": "Bright blood, in spurts"}]
        bled.save()
    else:
        Need.objects.filter(key=ON_ITSELF).update(name_us="Limb tourniquet")

    after = dropping_on(rig.revision)

    assert len(drawn) == 2 * CALLS_DRAWN
    assert after.mark != before.mark
    assert (sizes(rig) == {1: CALLS_DRAWN}) == (what == "call type")


def test_another_tie_or_a_thing_elsewhere_makes_other_kits_of_the_same_calls(
    call: CallType, rig: Rig, drawn: list[str]
) -> None:
    whole = sizes(rig)
    gone = sizes(rig, (Elsewhere("splint", "", ""),))
    ItemTerms.objects.filter(revision=rig.revision, item__key="tourniquet").update(need=None)
    untied = sizes(rig)

    assert gone == {1: CALLS_DRAWN}
    assert untied == {1: whole[2]}
    assert len(drawn) == CALLS_DRAWN


def test_what_is_not_aboard_is_counted_and_calls_without_anything_are_none(
    call: CallType, rig: Rig
) -> None:
    ItemTerms.objects.filter(revision=rig.revision, item__key="tourniquet").update(need=None)

    (drops,) = dropping_on(rig.revision).types

    assert drops.lacking == 1
    assert drops.calls < CALLS_DRAWN


def test_a_type_that_is_retired_or_makes_no_call_drops_nowhere(
    call: CallType, rig: Rig, monkeypatch: pytest.MonkeyPatch
) -> None:
    def none(*_: Any) -> None:
        raise CallError("bleeding: no phrase fits")

    monkeypatch.setattr(dropping, "make_call", none)
    assert dropping_on(rig.revision).types == ()

    monkeypatch.undo()
    forget()
    assert len(dropping_on(rig.revision).types) == 1
    CallType.objects.update(retired_on=date(2026, 11, 1))
    assert dropping_on(rig.revision).types == ()
