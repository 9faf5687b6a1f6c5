"""What is kept about one person of sign-offs and phases: given out, erased, and held by law."""

from datetime import datetime, timedelta
from typing import Any

from django.db.models import Q
from django.utils import timezone

from drills.people.models import Person
from drills.runs.actions import signing_settings
from drills.runs.models import DailyNote, ItemShown, PhaseSpell, SignOff

Rows = dict[str, list[dict[str, Any]]]


def record_of(person: Person) -> dict[str, Any]:
    """Sign-offs, phases and daily notes of a person. Of what they wrote about others the number
    alone: that is theirs."""
    return {
        "signed off": [_sign_off(each) for each in _with_names(Q(person=person))],
        "sign-offs given": SignOff.objects.filter(officer=person).count(),
        "sign-offs withdrawn": SignOff.objects.filter(withdrawn_by=person).count(),
        "phases": [
            {"phase": str(each.phase), "from": each.began_on, "until": each.ended_on}
            for each in person.phase_spells.select_related("phase")
        ],
        "moved into phases": PhaseSpell.objects.filter(by=person).count(),
        "shown": [
            {"what": each.item.words, "on": each.shown_on}
            for each in person.items_shown.select_related("item").order_by("shown_on")
        ],
        "shown to them": ItemShown.objects.filter(officer=person).count(),
        "daily notes": [_note(each) for each in person.daily_notes.select_related("officer")],
        "daily notes written": person.daily_notes_written.count(),
    }


def _with_names(which: Q) -> Any:
    return SignOff.objects.filter(which).select_related("officer", "person", "revision__layout")


def _sign_off(signed: SignOff) -> dict[str, Any]:
    return {
        "categories": signed.categories,
        "layout": str(signed.revision),
        "seen": signed.seen_at,
        "signed": signed.signed_at,
        "by": signed.by,
        "withdrawn": signed.withdrawn_at,
        "because": signed.withdrawn_because,
        "simulated": signed.is_simulated,
    }


def _note(note: DailyNote) -> dict[str, Any]:
    return {
        "day": note.day,
        "by": note.officer.name if note.officer else "",
        "went well": note.went_well,
        "to work on": note.work_on,
        "next": note.next_step,
        "simulated": note.is_simulated,
    }


def erase(person: Person, *, now: datetime) -> tuple[dict[str, int], dict[str, int], list[str]]:
    """What goes, what stays without the person, and each sign-off that the law holds, in words.

    A held sign-off keeps the name of who was signed off and of who signed, as paper does. Those
    of people who were erased before go with this, once their time is over.
    """
    since = now - signing_settings().hold
    SignOff.objects.filter(person=None, signed_at__lt=since).delete()
    own = SignOff.objects.filter(person=person)
    gone = own.filter(signed_at__lt=since).delete()[0]
    given = SignOff.objects.filter(officer=person)
    stays = {
        "sign-offs they gave": given.count(),
        "sign-offs they withdrew": SignOff.objects.filter(withdrawn_by=person).count(),
        "phases they moved others into": PhaseSpell.objects.filter(by=person).count(),
        "things others showed them": ItemShown.objects.filter(officer=person).count(),
        "daily notes they wrote": person.daily_notes_written.count(),
    }
    held = [*_held(Q(person=person) | Q(officer=person, signed_at__gte=since))]
    own.update(person=None, person_name=_named(person))
    given.filter(signed_at__gte=since).update(officer=None, officer_name=_named(person))
    went = {
        "sign-offs no longer held": gone,
        "daily notes": person.daily_notes.all().delete()[0],
        "things they showed": person.items_shown.all().delete()[0],
        "phases": person.phase_spells.all().delete()[0],
    }
    return went, stays, held


def _held(which: Q) -> list[str]:
    hold: timedelta = signing_settings().hold
    return [
        f"{each}, until {timezone.localdate(each.signed_at + hold):%F}"
        for each in _with_names(which)
    ]


def _named(person: Person) -> str:
    return f"{person.name}, {person.employee_number}"
