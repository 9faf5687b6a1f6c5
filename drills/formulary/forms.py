"""What is looked for, and what is said of a revision; the actions say what is missing."""

import re
from datetime import date, datetime
from fractions import Fraction

from django import forms

from drills.engine.ages import MONTHS, OLDEST, Age
from drills.engine.dosing.fields import LB_EXACTLY, NEVER_UP
from drills.engine.dosing.patient import Patient
from drills.engine.dosing.repeating import Course
from drills.engine.dosing.treatment import Settings
from drills.engine.estimates import weight_formulas
from drills.engine.quantities import Quantity, QuantityError, read_number, read_quantity
from drills.formulary.models import MOST_OFF, POUNDS, ROUNDING, TEXT_LENGTH
from drills.formulary.models.texts import NAME_LENGTH
from drills.formulary.papers import ACCEPTED, Paper, PaperRefusedError, Signature, paper_of

MOST_MONTHS = OLDEST * MONTHS


class FindRuleForm(forms.Form):
    """Words of a medicine, what it is for, its route or its code; or one medicine by its key; or
    those aboard today's rig alone."""

    find = forms.CharField(max_length=80, required=False)
    medicine = forms.SlugField(max_length=60, required=False)
    aboard = forms.BooleanField(required=False)


class ReasonForm(forms.Form):
    """Why a revision is sent back."""

    because = forms.CharField(max_length=TEXT_LENGTH, required=False)


class ApprovalForm(forms.Form):
    """The document that a revision is approved by, and how many contradictions were looked at."""

    document = forms.CharField(max_length=TEXT_LENGTH, required=False)
    contradictions = forms.IntegerField(min_value=0, required=False)

    @property
    def looked_at(self) -> int:
        return self.cleaned_data["contradictions"] or 0


class StoreForm(forms.Form):
    """A workbook that was looked at, and the number of what was then in force."""

    book = forms.CharField(required=False)
    against = forms.IntegerField(min_value=0, required=False)

    @property
    def seen(self) -> int | None:
        """The number of the revision it was looked at against; None for none."""
        return self.cleaned_data["against"] if self.is_valid() else None


class SignedForm(ApprovalForm):
    """Who signed on paper and when, and the paper."""

    name = forms.CharField(max_length=NAME_LENGTH, required=False)
    on = forms.DateField(
        error_messages={
            "required": "Say on what day it was signed.",
            "invalid": "That is no day; it takes one such as 2026-11-28.",
        }
    )
    paper = forms.FileField(
        error_messages={"required": f"Attach the signed document: {ACCEPTED}."},
        widget=forms.ClearableFileInput(attrs={"accept": ".pdf,.jpg,.jpeg,.png"}),
    )

    def clean_paper(self) -> Paper:
        sent = self.cleaned_data["paper"]
        try:
            return paper_of(sent.name, sent.read())
        except PaperRefusedError as refused:
            raise forms.ValidationError(str(refused)) from refused

    @property
    def signature(self) -> Signature:
        given = self.cleaned_data
        return Signature(given["name"], given["on"], given["document"], given["paper"])


_AGE = re.compile(r"\s*([0-9]{1,4})\s*(years?|months?)\s*", re.ASCII)


def age_and_unit(age: str) -> dict[str, str]:
    """`8 months` as its number and its unit; nothing where the age is no such words."""
    match = _AGE.fullmatch(age)
    return {"age": match[1], "counted": match[2].removesuffix("s") + "s"} if match else {}


def _read(name: str, text: str) -> Fraction:
    try:
        return read_number(text)
    except QuantityError as error:
        raise QuantityError(f"{name}: {error}") from error


def _amount(name: str, text: str) -> Quantity:
    try:
        return read_quantity(text)
    except QuantityError as error:
        raise QuantityError(f"{name}: {error}") from error


class PatientForm(forms.Form):
    """Whom a rule is worked out for, on which rig, and how the service works.

    `weighed` is the unit of the weight, or the name of a formula that estimates it.
    """

    age = forms.IntegerField(
        min_value=0,
        max_value=MOST_MONTHS,
        error_messages={
            "required": "it is missing; it is a whole number of years or months.",
            "invalid": "it is a whole number of years or months.",
        },
    )
    counted = forms.ChoiceField(choices=[("years", "years"), ("months", "months")])
    weight = forms.CharField(max_length=20, required=False)
    weighed = forms.ChoiceField(
        choices=[("kg", "kg"), ("lb", "lb"), *((name, name) for name in weight_formulas())]
    )
    on = forms.CharField(max_length=80)
    area = forms.CharField(max_length=10, required=False)
    since = forms.CharField(max_length=10, required=False)
    at = forms.TimeField(required=False, error_messages={"invalid": "it is a time such as 14:05."})
    before = forms.IntegerField(min_value=0, max_value=99, required=False)
    given = forms.CharField(max_length=20, required=False)
    pounds = forms.ChoiceField(choices=POUNDS, required=False)
    rounding = forms.ChoiceField(choices=ROUNDING, required=False)
    refused_from = forms.IntegerField(
        min_value=1,
        max_value=MOST_OFF,
        required=False,
        error_messages=dict.fromkeys(
            ("invalid", "min_value", "max_value"), f"1 to {MOST_OFF} percent are accepted."
        ),
    )

    @property
    def patient(self) -> Patient:
        """Raises `QuantityError` or `AgeError` naming what does not read, and of which field."""
        given = self.cleaned_data
        age = Age(given["age"]) if given["counted"] == "months" else Age.of_years(given["age"])
        is_told = given["weighed"] in ("lb", "kg")
        weight = given["weight"] if is_told else ""
        area = given["area"].strip().removesuffix("%")
        return Patient(
            age=age,
            weight=Quantity(_read("weight", weight), given["weighed"]) if weight else None,
            formula="" if is_told else given["weighed"],
            area=Quantity(_read("burned area", area), "%") if area else None,
            since_injury=Quantity(_read("hours since the injury", given["since"] or "0"), "h"),
        )

    @property
    def settings(self) -> Settings:
        given = self.cleaned_data
        return Settings(
            is_exact_pounds=given["pounds"] == LB_EXACTLY,
            is_never_up_for_children=given["rounding"] == NEVER_UP,
            refused_from=Fraction(given["refused_from"] or MOST_OFF, 100),
        )

    def course(self, today: date) -> Course:
        """What was given before, and when this dose is, on a day; raises `QuantityError`."""
        given = self.cleaned_data
        so_far = given["given"].strip()
        at = datetime.combine(today, given["at"]) if given["at"] else None
        return Course(
            doses_before=given["before"] or 0,
            given_at=at,
            given_before=_amount("given so far", so_far) if so_far else None,
        )
