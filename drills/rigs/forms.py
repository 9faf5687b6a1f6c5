"""What keepers send in, and what anybody looks for."""

from django import forms
from django.core.files.uploadedfile import UploadedFile
from django.core.validators import RegexValidator
from django.http import QueryDict

from drills.rigs.models import Rig, Station

BIGGEST_UPLOAD = 5 * 1024 * 1024
KINDS = (".xlsx", ".zip")
USUAL_LOOK_AHEAD, LONGEST_LOOK_AHEAD = 30, 3_650

whole_word = RegexValidator(
    r"^[A-Za-z0-9][A-Za-z0-9-]*$",
    "A unit number has letters, digits and hyphens alone, such as 412 or M-7.",
)


class WorkbookForm(forms.Form):
    """One workbook to read."""

    workbook = forms.FileField(
        error_messages={
            "required": "No file came in. Choose an .xlsx workbook or a .zip of its CSV files.",
            "empty": "The file is empty. Choose an .xlsx workbook or a .zip of its CSV files.",
        },
        widget=forms.FileInput(attrs={"accept": ",".join(KINDS)}),
    )

    def clean_workbook(self) -> "UploadedFile[bytes]":
        given: UploadedFile[bytes] = self.cleaned_data["workbook"]
        if not (given.name or "").lower().endswith(KINDS):
            raise forms.ValidationError(
                f"{given.name} came in. An .xlsx workbook or a .zip of its CSV files is read."
            )
        if (given.size or 0) > BIGGEST_UPLOAD:
            raise forms.ValidationError(
                f"{(given.size or 0) / 1024 / 1024:.1f} MB came in. At most 5 MB is read."
            )
        return given


class PublishForm(forms.Form):
    """From which day a revision is in force; without a word from today on."""

    effective_on = forms.DateField(
        required=False,
        input_formats=["%Y-%m-%d"],
        error_messages={"invalid": "That is no day. Write it as 2026-12-03."},
    )


class RigForm(forms.Form):
    """The unit number of a new rig, and its station if it has one."""

    unit = forms.CharField(
        max_length=20,
        validators=[whole_word],
        error_messages={"required": "A rig needs its unit number."},
    )
    station = forms.ModelChoiceField(
        Station.objects.all(),
        to_field_name="slug",
        required=False,
        error_messages={"invalid_choice": "There is no such station. Choose one of the list."},
    )

    def clean_unit(self) -> str:
        unit: str = self.cleaned_data["unit"]
        if Rig.objects.filter(unit__iexact=unit).exists():
            raise forms.ValidationError(f"There is a rig {unit} already. Unit numbers are unique.")
        return unit


class LookForm(forms.Form):
    """What a layout page is asked to show; whatever makes no sense is left out."""

    find = forms.CharField(max_length=80, required=False)
    seat = forms.CharField(max_length=40, required=False)
    open = forms.CharField(max_length=40, required=False)
    face = forms.CharField(max_length=20, required=False)


class LapseForm(forms.Form):
    """Within how many days."""

    within = forms.IntegerField(
        min_value=0,
        max_value=LONGEST_LOOK_AHEAD,
        initial=USUAL_LOOK_AHEAD,
        error_messages={
            "required": "No number of days came in.",
            "invalid": "That is no number of days. Write it as 30.",
            "min_value": "Days to come are accepted, from 0 on.",
            "max_value": f"At most {LONGEST_LOOK_AHEAD} days are looked ahead.",
        },
    )

    def __init__(self, data: QueryDict) -> None:
        """Without a word it is the usual number."""
        super().__init__(data if "within" in data else {"within": USUAL_LOOK_AHEAD})
