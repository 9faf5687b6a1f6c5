"""What is asked of call types and what is sent in."""

from django import forms

from drills.engine.calls_workbook.columns import OWNER_LENGTH
from drills.people.uploads import SentAgainForm

LAST_SEED = 1_000_000


class SampleForm(forms.Form):
    """Which sample of a call type is shown; the first where none is named."""

    seed = forms.IntegerField(min_value=1, max_value=LAST_SEED, required=False)

    @property
    def wanted(self) -> int:
        return (self.cleaned_data.get("seed") if self.is_valid() else None) or 1


class RowForm(forms.Form):
    """The mark of the row that was shown, and whether it is to be removed."""

    seen = forms.CharField(max_length=64, required=False)
    removes = forms.BooleanField(required=False)


class ReviewForm(forms.Form):
    """Who reviewed which version, with the mark of its patients as they were shown."""

    reviewer = forms.CharField(max_length=OWNER_LENGTH * 2, required=False)
    version = forms.IntegerField(min_value=0, required=False)
    patients = forms.CharField(max_length=64, required=False)


class SampleOnForm(forms.Form):
    """Which sample of a recipe is shown, and on what: the first where none is named."""

    seed = forms.IntegerField(min_value=1, max_value=LAST_SEED, required=False)
    on = forms.CharField(max_length=120, required=False)
    answers = forms.CharField(max_length=4, required=False)

    def wanted(self, name: str) -> str:
        """What came in for a field; nothing where it is not accepted."""
        self.is_valid()
        return str(self.cleaned_data.get(name) or "")

    @property
    def seed_wanted(self) -> int:
        """The seed that came in, the next one where another was asked for."""
        seed = int(self.wanted("seed") or 1) + ("another" in self.data)
        return seed if seed <= LAST_SEED else 1


class RecipeStateForm(forms.Form):
    """What is to become of a recipe."""

    SHARED, RETIRED, BACK, DELETED = "shared", "retired", "back", "deleted"
    becomes = forms.ChoiceField(choices=[(each, each) for each in (SHARED, RETIRED, BACK, DELETED)])


class StateForm(forms.Form):
    """What is to become of a call type."""

    RETIRED, BACK, DELETED = "retired", "back", "deleted"
    becomes = forms.ChoiceField(choices=[(each, each) for each in (RETIRED, BACK, DELETED)])


class StoreCallsForm(SentAgainForm):
    """A workbook that was looked at, with the digest of what was then here."""
