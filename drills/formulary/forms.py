"""What a medical director says when approving."""

from django import forms

from drills.formulary.models import TEXT_LENGTH


class ApprovalForm(forms.Form):
    """The document that a revision is approved by; the action says when it is missing."""

    document = forms.CharField(max_length=TEXT_LENGTH, required=False)
