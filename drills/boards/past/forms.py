"""The file of past records that comes in."""

from django import forms

from drills.people.uploads import CsvField


class RecordsForm(forms.Form):
    """One file to look at; nothing is stored."""

    records = CsvField("past record")
