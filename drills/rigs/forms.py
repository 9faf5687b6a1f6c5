"""What keepers send in, and what anybody looks for."""

from collections.abc import Mapping
from typing import Any, TypedDict

from django import forms
from django.core.files.uploadedfile import UploadedFile
from django.core.validators import RegexValidator
from django.db.models import QuerySet
from django.http import QueryDict

from drills.engine.labels import FORMATS
from drills.engine.layout import Layout, item_key
from drills.engine.printing import printable
from drills.engine.workbook.columns import CODE_LENGTH, NAME_LENGTH
from drills.people.uploads import CsvField, SentAgainForm
from drills.rigs.labels import TICKED, WHICH, places_of
from drills.rigs.models import Answer, RevisionState, Rig, Station
from drills.rigs.models import Layout as LayoutRow
from drills.rigs.models.fleet import WORD_TO_REPORTER
from drills.rigs.models.layouts import ITEM_KEY_LENGTH
from drills.rigs.models.photos import ALT_LENGTH
from drills.rigs.models.required import LIST_NAME_LENGTH
from drills.rigs.picturing import BIGGEST_UPLOAD as BIGGEST_PHOTO
from drills.rigs.requiring import fault_of_name

BIGGEST_UPLOAD = 5 * 1024 * 1024
KINDS = (".xlsx", ".zip")
USUAL_LOOK_AHEAD, LONGEST_LOOK_AHEAD = 30, 3_650

# With a space in it, which no code of a compartment has.
NOT_ABOARD = "not aboard"
ANSWERS = "Put back, Differs on this rig, or Layout is wrong"
THERE_AGAIN = {Answer.PUT_BACK, Answer.AS_LAYOUT}


def short_word() -> forms.CharField:
    """A few words to whoever reported it."""
    return forms.CharField(
        max_length=WORD_TO_REPORTER,
        required=False,
        error_messages={
            "max_length": f"%(show_value)d characters came in. At most {WORD_TO_REPORTER} are kept."
        },
    )


whole_word = RegexValidator(
    r"^[A-Za-z0-9][A-Za-z0-9-]*$",
    "A unit number has letters, digits and hyphens alone, such as 412 or M-7.",
)


def layouts_in_force() -> QuerySet[LayoutRow]:
    """Layouts that a rig can ride, by name."""
    return LayoutRow.objects.filter(revisions__state=RevisionState.PUBLISHED)


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


class PhotoForm(forms.Form):
    """A photo of a place, and what it shows in words."""

    photo = forms.FileField(
        max_length=200,
        error_messages={
            "required": "No file came in. Choose a JPEG, PNG or WebP photo.",
            "empty": "The file is empty. Choose a JPEG, PNG or WebP photo.",
            "max_length": "The name of the file is too long. At most 200 characters are taken.",
        },
        widget=forms.FileInput(attrs={"accept": "image/jpeg,image/png,image/webp"}),
    )
    alt = forms.CharField(
        max_length=ALT_LENGTH,
        error_messages={"required": "Say in words what the photo shows."},
    )

    def clean_photo(self) -> "UploadedFile[bytes]":
        given: UploadedFile[bytes] = self.cleaned_data["photo"]
        if (given.size or 0) > BIGGEST_PHOTO:
            raise forms.ValidationError(
                f"{(given.size or 0) / 1024 / 1024:.1f} MB came in. At most 12 MB is read."
            )
        return given


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


class MoveForm(forms.Form):
    """The layout that a rig rides from now on, one that has a revision in force."""

    layout = forms.ModelChoiceField(
        layouts_in_force(),
        to_field_name="slug",
        error_messages={
            "required": "No layout was chosen. Choose one of the list.",
            "invalid_choice": "That is no layout in force. Choose one of the list.",
        },
    )


class Where(TypedDict):
    """What `tell_difference` asks: the thing, where the layout says it is, where it is, and the
    slug and number of the revision that the places were chosen on."""

    thing: str
    place: str
    here: str
    seen: str


class AnswerForm(forms.Form):
    """What a keeper does about a report; where the thing is matters unless it was put back."""

    answer = forms.ChoiceField(
        choices=Answer.choices,
        error_messages={
            "required": f"No answer came in. Press {ANSWERS}.",
            "invalid_choice": f"%(value)s came in. Press {ANSWERS}.",
        },
    )
    word = short_word()
    thing = forms.CharField(max_length=ITEM_KEY_LENGTH, required=False)
    place = forms.CharField(max_length=CODE_LENGTH, required=False)
    here = forms.CharField(max_length=CODE_LENGTH, required=False)
    revision = forms.CharField(required=False)

    def clean(self) -> dict[str, Any]:
        given: dict[str, Any] = super().clean() or {}
        is_there, here = given.get("answer") in THERE_AGAIN, given.get("here", "")
        if is_there and here:
            pressed = Answer(given["answer"]).label.capitalize()
            self.add_error(
                "here",
                f"“{here}” was chosen, and {pressed} pressed. Leave the place empty for that, or "
                "press Differs on this rig.",
            )
        if "answer" in given and not is_there and not here:
            self.add_error("here", "Choose where it is on this rig, or that it is not aboard.")
        return given

    def where(self) -> Where:
        """What `tell_difference` asks."""
        return _where(self.cleaned_data)


class DifferenceForm(forms.Form):
    """A thing that a rig carries elsewhere, told by hand; the thing by its name."""

    thing = forms.CharField(
        max_length=NAME_LENGTH, error_messages={"required": "Name the thing that is elsewhere."}
    )
    place = forms.CharField(max_length=CODE_LENGTH, required=False)
    here = forms.CharField(
        max_length=CODE_LENGTH,
        error_messages={"required": "Choose where it is on this rig, or that it is not aboard."},
    )
    revision = forms.CharField(required=False)
    word = short_word()

    def clean_thing(self) -> str:
        return item_key(self.cleaned_data["thing"])

    def where(self) -> Where:
        """What `tell_difference` asks."""
        return _where(self.cleaned_data)


def _where(given: Mapping[str, Any]) -> Where:
    here = "" if given["here"] == NOT_ABOARD else given["here"]
    return {
        "thing": given["thing"],
        "place": given["place"],
        "here": here,
        "seen": given["revision"],
    }


class LabelForm(forms.Form):
    """Which labels of a rig are printed, on which sheet, and from which label of it on."""

    sheet = forms.ChoiceField(
        choices=[(key, form.name) for key, form in FORMATS.items()],
        error_messages={
            "required": "No sheet was chosen.",
            "invalid_choice": "%(value)s is no sheet we know. Choose one of the list.",
        },
    )
    which = forms.ChoiceField(
        choices=list(WHICH.items()),
        error_messages={
            "required": "No places were chosen.",
            "invalid_choice": "%(value)s came in. Choose one of the list.",
        },
    )
    place = forms.MultipleChoiceField(
        required=False,
        error_messages={"invalid_choice": "%(value)s is no place of this rig that gets a label."},
    )
    skip = forms.IntegerField(
        required=False,
        min_value=0,
        error_messages={
            "invalid": "That is no number of labels. Write it as 3.",
            "min_value": "A number of labels from 0 on is accepted.",
        },
    )

    def __init__(self, data: QueryDict, *, layout: Layout) -> None:
        super().__init__(data)
        self.layout = layout
        codes = [(each.code, each.name) for each in printable(layout).compartments]
        self.fields["place"].choices = codes  # type: ignore[attr-defined]  # of a choice field

    def clean_skip(self) -> int:
        skip: int = self.cleaned_data["skip"] or 0
        form = FORMATS.get(self.cleaned_data.get("sheet", ""))
        if form and skip >= form.count:
            raise forms.ValidationError(
                f"{skip} came in. A sheet has {form.count} labels, so 0 to {form.count - 1} of the "
                "first one can be used already."
            )
        return skip

    def clean(self) -> None:
        given = self.cleaned_data
        if given.get("which") == TICKED and not given.get("place") and "place" not in self.errors:
            self.add_error("place", "No place is ticked. Tick those that get a label.")

    @property
    def codes(self) -> tuple[str, ...]:
        """The places that were chosen, in the order of the workbook."""
        return places_of(self.layout, self.cleaned_data["which"], self.cleaned_data["place"])


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


class ListNameForm(forms.Form):
    """The name of a required list; the same name is the same list."""

    name = forms.CharField(
        max_length=LIST_NAME_LENGTH,
        error_messages={
            "required": "A list needs a name. The same name is the same list.",
            "max_length": f"At most {LIST_NAME_LENGTH} characters are kept as a name.",
        },
    )

    def clean_name(self) -> str:
        name: str = " ".join(self.cleaned_data["name"].split())
        if fault := fault_of_name(name):
            raise forms.ValidationError(fault)
        return name


class RequiredListForm(ListNameForm):
    """One list to look at; nothing is stored."""

    rows = CsvField("thing")


class TakeListForm(SentAgainForm, ListNameForm):
    """The same list once more, under its name."""
