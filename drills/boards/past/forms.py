"""The file of past records that comes in, and why one is taken back."""

from django import forms

from drills.competency.past.taking import NAME_LENGTH
from drills.people.uploads import CsvField, SentAgainForm


class TakeBackForm(forms.Form):
    """Why a file is taken back."""

    because = forms.CharField(
        max_length=200, error_messages={"required": "Say why it is taken back."}
    )


class RecordsForm(forms.Form):
    """One file to look at; nothing is stored."""

    records = CsvField("past record")


class RecordsAgainForm(SentAgainForm):
    """The same file once more, with what it is called."""

    name = forms.CharField(required=False)

    def clean_name(self) -> str:
        """As much of it as is kept."""
        return str(self.cleaned_data["name"])[:NAME_LENGTH]
