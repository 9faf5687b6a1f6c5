"""What is looked for, and what is said of a revision; the actions say what is missing."""

from datetime import date, datetime

from django import forms

from drills.engine.ages import MONTHS, OLDEST, Age
from drills.engine.dosing.fields import LB_EXACTLY, NEVER_UP
from drills.engine.dosing.patient import Patient
from drills.engine.dosing.repeating import Course
from drills.engine.dosing.treatment import Settings
from drills.engine.estimates import weight_formulas
from drills.engine.quantities import Quantity, read_number
from drills.formulary.models import POUNDS, ROUNDING, TEXT_LENGTH
from drills.formulary.models.texts import NAME_LENGTH
from drills.formulary.papers import ACCEPTED, Paper, PaperRefusedError, Signature, paper_of

MOST_MONTHS = OLDEST * MONTHS


class FindRuleForm(forms.Form):
    """Words of a medicine, what it is for, its route or its code; or one medicine by its key."""

    find = forms.CharField(max_length=80, required=False)
    medicine = forms.SlugField(max_length=60, required=False)


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
        choices=[("lb", "lb"), ("kg", "kg"), *((name, name) for name in weight_formulas())]
    )
    on = forms.CharField(max_length=80)
    area = forms.CharField(max_length=10, required=False)
    since = forms.CharField(max_length=10, required=False)
    at = forms.TimeField(required=False, error_messages={"invalid": "it is a time such as 14:05."})
    before = forms.IntegerField(min_value=0, max_value=99, required=False)
    pounds = forms.ChoiceField(choices=POUNDS, required=False)
    rounding = forms.ChoiceField(choices=ROUNDING, required=False)

    @property
    def patient(self) -> Patient:
        """Raises `QuantityError` or `AgeError` naming what does not read."""
        given = self.cleaned_data
        age = Age(given["age"]) if given["counted"] == "months" else Age.of_years(given["age"])
        is_told = given["weighed"] in ("lb", "kg")
        weight = given["weight"] if is_told else ""
        return Patient(
            age=age,
            weight=Quantity(read_number(weight), given["weighed"]) if weight else None,
            formula="" if is_told else given["weighed"],
            area=Quantity(read_number(given["area"]), "%") if given["area"] else None,
            since_injury=Quantity(read_number(given["since"] or "0"), "h"),
        )

    @property
    def settings(self) -> Settings:
        given = self.cleaned_data
        return Settings(
            is_exact_pounds=given["pounds"] == LB_EXACTLY,
            is_never_up_for_children=given["rounding"] == NEVER_UP,
        )

    def course(self, today: date) -> Course:
        """What was given before, and when this dose is, on a day."""
        given = self.cleaned_data
        at = datetime.combine(today, given["at"]) if given["at"] else None
        return Course(doses_before=given["before"] or 0, given_at=at)
