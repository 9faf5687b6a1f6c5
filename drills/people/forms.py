"""What people type to be let in, and the switches of the sheet."""

from typing import Any

from django import forms
from django.contrib.auth import authenticate
from django.http import HttpRequest

from drills.people.models import Person

NOT_LET_IN = "That number and password do not go together. Check both and try again."


class SignInForm(forms.Form):
    """Employee number and password; `person` is set when they go together."""

    employee_number = forms.CharField(
        max_length=20,
        widget=forms.TextInput(
            attrs={"autocomplete": "username", "autocapitalize": "none", "spellcheck": "false"}
        ),
    )
    password = forms.CharField(
        max_length=200,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )

    def __init__(self, *args: Any, request: HttpRequest, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._request = request
        self.person: Person | None = None

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        number, password = given.get("employee_number"), given.get("password")
        if number and password:
            found = authenticate(self._request, username=number, password=password)
            if not isinstance(found, Person):
                raise forms.ValidationError(NOT_LET_IN)
            self.person = found
        return given
