"""A CSV file that comes in to be looked at, and comes again to be stored as it was shown."""

import base64
from typing import Any

from django import forms

BIGGEST_CSV = 1024 * 1024
KINDS = (".csv", ".tsv", ".txt")


class CsvField(forms.FileField):
    """The bytes of one CSV file; `of` says what a row of it is."""

    def __init__(self, of: str) -> None:
        wanted = f"Choose a CSV file with one row for each {of}."
        super().__init__(
            error_messages={
                "required": f"No file came in. {wanted}",
                "empty": f"The file is empty. {wanted}",
            },
            widget=forms.FileInput(attrs={"accept": ",".join(KINDS)}),
        )

    def clean(self, data: Any, initial: Any = None) -> bytes:
        given = super().clean(data, initial)
        if not (given.name or "").lower().endswith(KINDS):
            raise forms.ValidationError(
                f"{given.name} came in. A CSV file is read; a spreadsheet saves one as CSV UTF-8."
            )
        if (given.size or 0) > BIGGEST_CSV:
            raise forms.ValidationError(
                f"{(given.size or 0) / 1024 / 1024:.1f} MB came in. At most 1 MB is read."
            )
        content: bytes = given.read()
        return content


class SentAgainForm(forms.Form):
    """The same file once more, with the fingerprint of what was shown."""

    content = forms.CharField()
    seen = forms.CharField(max_length=64)

    def clean_content(self) -> bytes:
        try:
            return base64.b64decode(self.cleaned_data["content"], validate=True)
        except ValueError:
            raise forms.ValidationError("The file did not come whole. Choose it again.") from None
