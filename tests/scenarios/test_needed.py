"""Which things of a rig calls must have: what a drill asks for first."""

from datetime import date

import pytest

from drills.rigs.models import ItemTerms, Rig
from drills.scenarios.models import CallType
from drills.scenarios.needed import needed_on
from tests.calls import bleeding_call, need
from tests.runs.conftest import rig as rig

pytestmark = pytest.mark.django_db


@pytest.fixture
def call(rig: Rig) -> CallType:
    return bleeding_call(rig.revision)


def ask_for(call: CallType, *needs: dict[str, object]) -> None:
    call.needs = list(needs)
    call.save(update_fields=["needs"])


def test_must_haves_alone_are_needed(call: CallType, rig: Rig) -> None:
    assert needed_on(rig.revision) == {"tourniquet", "splint"}


def test_without_a_call_type_in_use_nothing_is(call: CallType, rig: Rig) -> None:
    call.retired_on = date(2026, 11, 26)
    call.save(update_fields=["retired_on"])
    assert needed_on(rig.revision) == frozenset()


def test_what_nobody_confirmed_is_no_tie(call: CallType, rig: Rig) -> None:
    ItemTerms.objects.filter(revision=rig.revision, item__key="splint").update(need=None)
    assert needed_on(rig.revision) == {"tourniquet"}


def test_what_serves_instead_is_needed_where_nothing_else_is_aboard(
    call: CallType, rig: Rig
) -> None:
    ask_for(call, need("board-splints", "must", serves_instead=["gauze"]))
    assert needed_on(rig.revision) == {"splint"}

    ask_for(call, need("vacuum-splints", "must", serves_instead=["gauze"]))
    assert needed_on(rig.revision) == {"gauze roll"}

    ask_for(call, need("vacuum-splints", "must", serves_instead=["pillow"]))
    assert needed_on(rig.revision) == frozenset()


def test_it_is_read_in_two_queries(call: CallType, rig: Rig, django_assert_num_queries) -> None:
    with django_assert_num_queries(2):
        needed_on(rig.revision)
