"""The file of past records that comes in, and why one is taken back."""

from django import forms

from drills.people.uploads import CsvField


class TakeBackForm(forms.Form):
    """Why a file is taken back."""

    because = forms.CharField(
        max_length=200, error_messages={"required": "Say why it is taken back."}
    )


class RecordsForm(forms.Form):
    """One file to look at; nothing is stored."""

    records = CsvField("past record")
