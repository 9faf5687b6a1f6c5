"""What a browser posts with an answer, or to give a drill to people."""

import math
import re
from collections.abc import Sequence
from datetime import date
from itertools import chain
from typing import Any

from django import forms
from django.db.models import QuerySet
from django.http import QueryDict

from drills.engine.prompts import HAND_OVER
from drills.engine.series import EVERY_DAY, MOST_APART
from drills.engine.standards import Standard
from drills.engine.timing import Claim
from drills.rigs.models import Layout
from drills.rigs.reports import layouts_in_force
from drills.runs.recipients import Recipient, chosen_people
from drills.runs.series import Offered
from drills.scenarios.models import Recipe

# What stands under *Another standard, or so many attempts*; where any was given, that is open.
OWN = (
    *("has_own_standard", "marks", "in_time", "no_unsafe_dose", "no_must_missed"),
    *("attempts", "minutes"),
)
DEVICE_CLASSES = ("phone", "desk")
COUNT, PICKED, MOST = "n-", "c-", 99
# What a series is chosen by, among recipes.
SERIES = "series:"
_WHOLE = re.compile(r"[0-9]{1,2}")
LONGEST_AMOUNT = 20
MOST_ATTEMPTS = 20
SHOWN = 60
_CHOICES = ("place", "thing", "bag", "category")
_CLAIMED = ("elapsed", "gap", "hidden")


class AnswerForm(forms.Form):
    """The token of the presentation, what was chosen, and the browser's figures in seconds."""

    token = forms.CharField(max_length=32, error_messages={"required": "No prompt came in."})

    def __init__(self, data: QueryDict) -> None:
        super().__init__(data)
        names = [*_CHOICES, *(name for name in data if name.startswith(PICKED))]
        self.chosen = [each for name in names for each in data.getlist(name) if each]
        self.is_unknown = "unknown" in data
        self._counts = {
            name.removeprefix(COUNT): str(data[name]) for name in data if name.startswith(COUNT)
        }

    def clean(self) -> dict[str, Any]:
        """Counts are whole numbers, an empty one is none; a number is taken whole or not at all."""
        for count in filter(None, self._counts.values()):
            if _WHOLE.fullmatch(count) is None:
                raise forms.ValidationError(
                    f"{count[:20]!r} came in for how many; a whole number up to {MOST} is accepted."
                )
        amount = self.dose()[0]
        if len(amount) > LONGEST_AMOUNT:
            raise forms.ValidationError(
                f"{len(amount)} characters came in for the number; up to {LONGEST_AMOUNT} are "
                "accepted."
            )
        return super().clean() or {}

    @property
    def says_something(self) -> bool:
        return bool(self.tokens()) or self.is_unknown

    def tokens(self) -> list[str]:
        """What was chosen, as the page named it; how many of a thing, that many times; a dose."""
        if self.is_unknown:
            return []
        if "hand_over" in self.data:
            return [HAND_OVER]
        if any(self.dose()):
            return [" ".join(self.dose())]
        counted = ([token] * int(count or 0) for token, count in self._counts.items())
        return [*self.chosen, *chain.from_iterable(counted)]

    def said_of(self, token: str) -> str:
        """How many of one choice came in, as it was written; empty for none."""
        return self._counts.get(token, "1" if token in self.chosen else "")

    def order(self) -> list[str]:
        """What was taken, by the page's names, in its order; none without scripts."""
        return str(self.data.get("order", "")).split()

    def dose(self) -> tuple[str, str]:
        """The number and the unit as they were written."""
        return self.data.get("amount", "").strip(), self.data.get("unit", "").strip()

    def claim(self) -> Claim | None:
        """The browser's claim; an answer is never lost over a figure that is none."""
        try:
            figures = [float(self.data[name]) for name in _CLAIMED]
        except (KeyError, ValueError):
            return None
        return Claim(*figures) if all(map(math.isfinite, figures)) else None


def device_class_of(data: QueryDict) -> str:
    """What kind of device the browser says it is on; unknown without scripts."""
    given = data.get("device", "")
    return given if given in DEVICE_CLASSES else ""


def _whole(label: str, *, least: int, most: int) -> forms.IntegerField:
    """A field for a whole number, which may be empty; whatever is wrong with it, the same words."""
    accepted = f"A whole number from {least} to {most} is accepted."
    words = dict.fromkeys(("invalid", "min_value", "max_value"), accepted)
    return forms.IntegerField(
        min_value=least, max_value=most, required=False, label=label, error_messages=words
    )


class _Told(forms.Form):
    """A form that says of each field what came in and what is accepted."""

    @property
    def faults(self) -> list[str]:
        """All that is wrong: the name of each field, what came in, and what is accepted."""
        return [*map(str, self.non_field_errors())] + [
            f"{self.fields[name].label}: {self._came_in(name)} came in. {errors[0]}"
            for name, errors in self.errors.items()
            if name in self.fields
        ]

    def _came_in(self, name: str) -> str:
        given = self.data.get(name, "")
        shown = given if len(given) <= SHOWN else f"{given[:SHOWN]}…"
        return f"“{shown}”" if given else "nothing"


def _word() -> forms.CharField:
    return forms.CharField(
        required=False,
        label="A word with it",
        max_length=200,
        error_messages={"max_length": "At most %(limit_value)d characters are accepted."},
    )


def _day(label: str, *, is_required: bool = True) -> forms.DateField:
    return forms.DateField(
        label=label,
        required=is_required,
        error_messages={
            "required": "Choose the day it is due.",
            "invalid": "Write the day as 2026-11-27.",
        },
    )


class MoveSeriesForm(_Told):
    """When the days of a series are due, and the word with it."""

    first_due = _day("The first is due on")
    every = _whole("Days from one to the next", least=EVERY_DAY, most=MOST_APART)
    note = _word()

    def clean_every(self) -> int:
        return self.cleaned_data["every"] or EVERY_DAY


class AssignForm(_Told):
    """Who is given a recipe by when, and a standard of its own where it is not the recipe's."""

    recipe = forms.ModelChoiceField(
        Recipe.objects.none(),
        to_field_name="slug",
        label="Which drill",
        error_messages={
            "required": "Choose a drill.",
            "invalid_choice": "There is no such drill; choose one of the list.",
        },
    )
    due_on = _day("Due on")
    first_on = _day("A week begins on", is_required=False)
    every = _whole("Days from one to the next", least=EVERY_DAY, most=MOST_APART)
    layout = forms.ModelChoiceField(
        Layout.objects.none(),
        to_field_name="slug",
        required=False,
        label="Drilled on",
        error_messages={"invalid_choice": "Choose a layout of the list, or the rig they ride."},
    )
    has_own_standard = forms.BooleanField(required=False)
    marks = _whole("Marks, of 100", least=0, most=100)
    in_time = _whole("In time, of 100", least=0, most=100)
    no_unsafe_dose = forms.BooleanField(required=False)
    no_must_missed = forms.BooleanField(required=False)
    minutes = _whole("Minutes expected", least=1, most=240)
    attempts = _whole("Attempts", least=1, most=MOST_ATTEMPTS)
    note = _word()

    def __init__(
        self,
        data: QueryDict,
        *,
        recipes: QuerySet[Recipe],
        series: Sequence[Offered] = (),
        recipients: Sequence[Recipient],
        today: date,
    ) -> None:
        super().__init__(data)
        self.fields["recipe"].queryset = recipes  # type: ignore[attr-defined]  # a model's choice
        self.fields["layout"].queryset = layouts_in_force()  # type: ignore[attr-defined]  # a model's choice
        named = data.get("recipe", "")
        self.series = next((each for each in series if named == SERIES + each.key), None)
        if self.series:
            del self.fields["recipe"]
        self._recipients, self._keys, self._today = recipients, data.getlist("to"), today

    def clean_due_on(self) -> date:
        return self._to_come(self.cleaned_data["due_on"])

    def clean_first_on(self) -> date | None:
        """The first day of a series; of one drill it means nothing."""
        first_on: date | None = self.cleaned_data["first_on"]
        return self._to_come(first_on) if first_on and self.series else None

    def _to_come(self, day: date) -> date:
        if day < self._today:
            raise forms.ValidationError(f"That day is past; {self._today:%F} or later is accepted.")
        return day

    def clean(self) -> dict[str, Any]:
        """`to` is everybody who was chosen, once; the form sends keys of groups and of people."""
        given = super().clean() or {}
        try:
            given["to"] = chosen_people(self._recipients, self._keys)
        except ValueError as error:
            self.add_error(None, f"To whom: {error}")
        else:
            if not given["to"]:
                self.add_error(None, "To whom: nobody was chosen. Tick one person or more.")
        if self.series and any(given.get(name) for name in OWN):
            self.add_error(
                None,
                f"Another standard: each day of {self.series.name} has its own and its own "
                "minutes, and is tried as often as it takes, so nothing is accepted there.",
            )
        return given

    @property
    def standard(self) -> Standard:
        """What is asked: the recipe's, unless the form has anything of its own."""
        data = self.cleaned_data
        own = Standard(
            data["marks"], data["in_time"], data["no_unsafe_dose"], data["no_must_missed"]
        )
        if own != Standard() or data["has_own_standard"]:
            return own
        recipe: Recipe = data["recipe"]
        return recipe.standard
