"""What is looked for, and what is said of a revision; the actions say what is missing."""

from django import forms

from drills.formulary.models import TEXT_LENGTH
from drills.formulary.models.texts import NAME_LENGTH
from drills.formulary.papers import ACCEPTED, Paper, PaperRefusedError, Signature, paper_of


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
