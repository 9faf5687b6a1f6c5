"""What people type to be let in, and the passwords they choose."""

from typing import Any

from django import forms
from django.contrib.auth.password_validation import validate_password

from drills.people.models import Person

# Beyond any password manager; it only keeps a request from costing a hash of a whole book.
LONGEST_PASSWORD = 1000
APART = "The two do not match. Type the same password in both."


class SignInForm(forms.Form):
    """Employee number, and a password or a one-time code."""

    employee_number = forms.CharField(
        max_length=20,
        widget=forms.TextInput(
            attrs={"autocomplete": "username", "autocapitalize": "none", "spellcheck": "false"}
        ),
    )
    password = forms.CharField(
        max_length=LONGEST_PASSWORD,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )


class PersonalCodeForm(forms.Form):
    """The present password, and the digits that are to be the personal code."""

    password = forms.CharField(
        max_length=LONGEST_PASSWORD,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
    code = forms.CharField(
        max_length=LONGEST_PASSWORD,
        widget=forms.PasswordInput(attrs={"autocomplete": "off", "inputmode": "numeric"}),
    )


class TakeOverForm(forms.Form):
    """Employee number and personal code."""

    employee_number = forms.CharField(
        max_length=20,
        widget=forms.TextInput(
            attrs={"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false"}
        ),
    )
    code = forms.CharField(
        max_length=LONGEST_PASSWORD,
        widget=forms.PasswordInput(attrs={"autocomplete": "off", "inputmode": "numeric"}),
    )


class NewPasswordForm(forms.Form):
    """A password of one's own, typed twice."""

    new_password = forms.CharField(
        max_length=LONGEST_PASSWORD,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )
    again = forms.CharField(
        max_length=LONGEST_PASSWORD,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def __init__(self, *args: Any, person: Person, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._person = person

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        chosen, again = given.get("new_password"), given.get("again")
        if chosen is not None and again is not None:
            if chosen != again:
                raise forms.ValidationError(APART)
            validate_password(chosen, self._person)
        return given


class ChangePasswordForm(NewPasswordForm):
    """The same, with the present password first."""

    password = forms.CharField(
        max_length=LONGEST_PASSWORD,
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )
    field_order = ("password", "new_password", "again")
