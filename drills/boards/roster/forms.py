"""The file of people that comes in, and the word that what was shown is to be stored."""

import base64
from typing import Any

from django import forms
from django.core.files.uploadedfile import UploadedFile

from drills.boards.roster.planning import Choices

BIGGEST_UPLOAD = 1024 * 1024
KINDS = (".csv", ".tsv", ".txt")


class _ChoicesForm(forms.Form):
    leavers = forms.BooleanField(required=False)
    adds_new = forms.BooleanField(required=False)

    @property
    def choices(self) -> Choices:
        """What was ticked."""
        return Choices(**{name: self.cleaned_data[name] for name in ("leavers", "adds_new")})


class RosterForm(_ChoicesForm):
    """One file to look at; nothing is stored."""

    roster = forms.FileField(
        error_messages={
            "required": "No file came in. Choose a CSV file with one row for each person.",
            "empty": "The file is empty. Choose a CSV file with one row for each person.",
        },
        widget=forms.FileInput(attrs={"accept": ",".join(KINDS)}),
    )

    def clean_roster(self) -> bytes:
        given: UploadedFile[bytes] = self.cleaned_data["roster"]
        if not (given.name or "").lower().endswith(KINDS):
            raise forms.ValidationError(
                f"{given.name} came in. A CSV file is read; a spreadsheet saves one as CSV UTF-8."
            )
        if (given.size or 0) > BIGGEST_UPLOAD:
            raise forms.ValidationError(
                f"{(given.size or 0) / 1024 / 1024:.1f} MB came in. At most 1 MB is read."
            )
        content: bytes = given.read()
        return content


class TakeForm(_ChoicesForm):
    """The same file once more, with the fingerprint of the plan that was shown."""

    content = forms.CharField()
    seen = forms.CharField(max_length=64)

    def clean_content(self) -> bytes:
        try:
            return base64.b64decode(self.cleaned_data["content"], validate=True)
        except ValueError:
            raise forms.ValidationError("The file did not come whole. Choose it again.") from None


def sent_again(data: bytes, choices: Choices, seen: str) -> dict[str, Any]:
    """What the page sends back when the plan is to be stored."""
    return {
        "content": base64.b64encode(data).decode(),
        "leavers": choices.leavers,
        "adds_new": choices.adds_new,
        "seen": seen,
    }
