"""What an officer posts at the open doors: to open a sheet, and what they saw."""

import math
import re
from collections.abc import Iterable, Mapping
from typing import Any

from django import forms
from django.db.models import QuerySet
from django.http import QueryDict

from drills.people.models import Person
from drills.rigs.models import Rig
from drills.rigs.reports import todays_rig
from drills.runs.actions import Watched
from drills.scenarios.models import CallType, Recipe

SEEN, AT, BACK = "seen-", "at-", "back"
MOST_DOORS = 99
LONGEST_AGO_S = 30 * 86400.0
_NUMBER = re.compile(r"[0-9]{1,3}")
_IN, _OUT = "in", "out"


class OpenSheetForm(forms.Form):
    """Who brings the kit, at which rig, for which call, and who was told."""

    service = forms.ChoiceField(
        choices=[(_IN, "in service"), (_OUT, "out of service")],
        label="The rig is",
        error_messages={
            "required": "Say whether the rig is in service or out of service.",
            "invalid_choice": "In service or out of service is accepted. %(value)s came in.",
        },
    )
    told = forms.CharField(
        max_length=80,
        required=False,
        label="Who is told",
        error_messages={
            "max_length": "At most %(limit_value)d characters are accepted.",
        },
    )
    person = forms.ModelChoiceField(
        Person.objects.none(),
        to_field_name="employee_number",
        label="Who is watched",
        error_messages={
            "required": "Choose one person.",
            "invalid_choice": "Choose somebody of the list. %(value)s came in.",
        },
    )
    rig = forms.ModelChoiceField(
        Rig.objects.none(),
        to_field_name="unit",
        required=False,
        label="At which rig",
        error_messages={"invalid_choice": "Choose a rig of the list. %(value)s came in."},
    )
    call_type = forms.ModelChoiceField(
        CallType.objects.filter(retired_on=None),
        to_field_name="slug",
        required=False,
        label="For which call",
        error_messages={"invalid_choice": "Choose a call of the list, or any. %(value)s came in."},
    )
    things = forms.ModelChoiceField(
        Recipe.objects.none(),
        to_field_name="slug",
        required=False,
        label="What is asked for",
        error_messages={
            "invalid_choice": "Choose a recipe of the list, or a call's kit. %(value)s came in."
        },
    )

    def __init__(
        self,
        data: QueryDict,
        *,
        people: QuerySet[Person],
        rigs: QuerySet[Rig],
        things: QuerySet[Recipe],
    ) -> None:
        super().__init__(data)
        self.rigs = rigs
        for name, rows in (("person", people), ("rig", rigs), ("things", things)):
            field = self.fields[name]
            if isinstance(field, forms.ModelChoiceField):
                field.queryset = rows

    def clean_rig(self) -> Rig | None:
        """The rig that was chosen, else the one that whoever is watched rides."""
        rig: Rig | None = self.cleaned_data["rig"]
        person: Person | None = self.cleaned_data.get("person")
        if rig or not person:
            return rig
        rides = todays_rig(person)
        if rides is None or rides not in self.rigs:
            raise forms.ValidationError(
                f"None came in, and {person.name} rides none. Choose a rig of the list."
            )
        return rides

    def clean_told(self) -> str:
        """Who was written, else who was chosen."""
        told: str = self.cleaned_data["told"] or self.data.get("said", "").strip()[:80]
        if not told:
            raise forms.ValidationError("Choose or write who knows that the rig is drilled on.")
        return told

    @property
    def is_in_service(self) -> bool:
        return bool(self.cleaned_data["service"] == _IN)

    @property
    def faults(self) -> list[str]:
        """All that is wrong, each with the name of its field."""
        return [
            f"{self.fields[name].label}: {errors[0]}"
            for name, errors in self.errors.items()
            if name in self.fields
        ]


def read_watched(data: QueryDict) -> Watched:
    """What was marked on a sheet; what is no number is left out where it is a time, and is none
    where it is a count."""
    doors = data.get("wrong_doors", "")
    return Watched(
        seen=dict(_by_line(data, SEEN)),
        at={
            number: seconds
            for number, text in _by_line(data, AT)
            if (seconds := _seconds(text)) is not None
        },
        wrong_doors=min(int(doors), MOST_DOORS) if _NUMBER.fullmatch(doors) else 0,
        comment=data.get("comment", "")[:300],
        claim=_seconds(data.get("elapsed", "")),
        ago=read_ago(data),
    )


def read_thing(data: QueryDict) -> int:
    """The number of the single thing it is about; none that a sheet has where no number came."""
    number = data.get("thing", "")
    return int(number) if _NUMBER.fullmatch(number) else MOST_DOORS


def read_ago(data: QueryDict) -> float:
    """How many seconds ago it was done; what is sent at once, or no number, was done now."""
    ago = _seconds(data.get("ago", "")) or 0.0
    return min(ago, LONGEST_AGO_S)


def read_back(data: QueryDict) -> set[int]:
    """The numbers of the lines ticked as back in their place; a tick is of several."""
    said = (each for tick in data.getlist(BACK) for each in tick.split())
    return {int(each) for each in said if _NUMBER.fullmatch(each)}


def _by_line(data: Mapping[str, Any], sign: str) -> Iterable[tuple[int, str]]:
    for name, value in data.items():
        number = name.removeprefix(sign)
        if name.startswith(sign) and _NUMBER.fullmatch(number) and value:
            yield int(number), str(value)


def _seconds(text: str) -> float | None:
    try:
        seconds = float(text)
    except ValueError:
        return None
    return seconds if math.isfinite(seconds) and seconds >= 0 else None
