"""What a browser posts with an answer, or to give a drill to people."""

import math
import re
from itertools import chain
from typing import Any

from django import forms
from django.http import QueryDict

from drills.engine.dosing import HAND_OVER
from drills.engine.standards import Standard
from drills.engine.timing import Claim
from drills.scenarios.models import Recipe

DEVICE_CLASSES = ("phone", "desk")
COUNT, MOST = "n-", 99
_WHOLE = re.compile(r"[0-9]{1,2}")
LONGEST_AMOUNT = 20
_CHOICES = ("place", "thing", "bag")
_CLAIMED = ("elapsed", "gap", "hidden")


class AnswerForm(forms.Form):
    """The token of the presentation, what was chosen, and the browser's figures in seconds."""

    token = forms.CharField(max_length=32, error_messages={"required": "No prompt came in."})

    def __init__(self, data: QueryDict) -> None:
        super().__init__(data)
        self.chosen = [each for name in _CHOICES for each in data.getlist(name) if each]
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


class AssignForm(forms.Form):
    """A recipe, a day, and a standard of its own where it is not the recipe's."""

    recipe = forms.ModelChoiceField(
        Recipe.objects.all(),
        to_field_name="slug",
        error_messages={
            "required": "Choose a drill.",
            "invalid_choice": "There is no such drill. Choose one of the list.",
        },
    )
    due_on = forms.DateField(
        error_messages={
            "required": "Choose the day it is due.",
            "invalid": "That is no day. Write it as 2026-11-27.",
        }
    )
    has_own_standard = forms.BooleanField(required=False)
    marks = forms.IntegerField(min_value=0, max_value=100, required=False)
    in_time = forms.IntegerField(min_value=0, max_value=100, required=False)
    no_unsafe_dose = forms.BooleanField(required=False)
    no_must_missed = forms.BooleanField(required=False)
    minutes = forms.IntegerField(min_value=1, max_value=240, required=False)
    note = forms.CharField(max_length=200, required=False)

    @property
    def standard(self) -> Standard:
        """What is asked: the form's own where it says so, else what the recipe asks."""
        data = self.cleaned_data
        if not data["has_own_standard"]:
            recipe: Recipe = data["recipe"]
            return recipe.standard
        return Standard(
            data["marks"], data["in_time"], data["no_unsafe_dose"], data["no_must_missed"]
        )
