"""What a browser posts with an answer."""

import math

from django import forms
from django.http import QueryDict

from drills.engine.timing import Claim

DEVICE_CLASSES = ("phone", "desk")
_CLAIMED = ("elapsed", "gap", "hidden")


class AnswerForm(forms.Form):
    """The token of the presentation, what was chosen, and the browser's figures in seconds."""

    token = forms.CharField(max_length=32, error_messages={"required": "No prompt came in."})

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
