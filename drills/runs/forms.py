"""What a browser posts with an answer."""

import math

from django import forms
from django.http import QueryDict

from drills.engine.timing import Claim

DEVICE_CLASSES = ("phone", "desk")


class AnswerForm(forms.Form):
    """The token of the presentation, what was chosen, and the browser's figures in seconds."""

    token = forms.CharField(max_length=32, error_messages={"required": "No prompt came in."})
    elapsed = forms.FloatField(required=False)
    gap = forms.FloatField(required=False)
    hidden = forms.FloatField(required=False)

    def __init__(self, data: QueryDict) -> None:
        super().__init__(data)
        self.chosen = [each for each in data.getlist("place") + data.getlist("thing") if each]
        self.is_unknown = "unknown" in data

    @property
    def says_something(self) -> bool:
        return bool(self.chosen) or self.is_unknown

    def tokens(self) -> list[str]:
        return [] if self.is_unknown else self.chosen

    def claim(self) -> Claim | None:
        """The browser's claim, if all of it came in; figures that are none are no claim."""
        figures = [self.cleaned_data.get(name) for name in ("elapsed", "gap", "hidden")]
        if any(figure is None or not math.isfinite(figure) for figure in figures):
            return None
        return Claim(*figures)


def device_class_of(data: QueryDict) -> str:
    """What kind of device the browser says it is on; unknown without scripts."""
    given = data.get("device", "")
    return given if given in DEVICE_CLASSES else ""
