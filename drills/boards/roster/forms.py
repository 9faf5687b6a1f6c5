"""The file of people that comes in, and the word that what was shown is to be stored."""

import base64
from typing import Any

from django import forms

from drills.boards.roster.planning import Choices
from drills.people.uploads import CsvField, SentAgainForm


class _ChoicesForm(forms.Form):
    leavers = forms.BooleanField(required=False)
    adds_new = forms.BooleanField(required=False)

    @property
    def choices(self) -> Choices:
        """What was ticked."""
        return Choices(**{name: self.cleaned_data[name] for name in ("leavers", "adds_new")})


class RosterForm(_ChoicesForm):
    """One file to look at; nothing is stored."""

    roster = CsvField("person")


class TakeForm(SentAgainForm, _ChoicesForm):
    """The same file once more, with what was ticked."""


def sent_again(data: bytes, choices: Choices, seen: str) -> dict[str, Any]:
    """What the page sends back when the plan is to be stored."""
    return {
        "content": base64.b64encode(data).decode(),
        "leavers": choices.leavers,
        "adds_new": choices.adds_new,
        "seen": seen,
    }
