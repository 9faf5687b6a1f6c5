"""What is wished for to practise, as it came in."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.http import QueryDict

from drills.boards.practice import GRADES, Wish, no_choice
from drills.boards.sitting import Sitting, read_sitting
from drills.rigs.models import Layout, Revision, Rig

LONGEST_AMOUNT = 20
LONGEST_TOLD = 80
MOST_ON_A_SHEET = 30
USUAL_ON_A_SHEET = 10
SHOWN, FROM_MEMORY = "shown", "memory"
LAST_SEED = 10**9
# What each field takes, in the words of the page.
_ACCEPTED = {
    "layout": "a layout of the list",
    "what": "something of the list",
    "grade": f"one of {', '.join(f'{grade} ({words})' for grade, words in GRADES.items())}",
    "rule": f"{SHOWN} or {FROM_MEMORY}",
    "count": f"a whole number from 1 to {MOST_ON_A_SHEET}",
    "seed": f"a whole number from 0 to {LAST_SEED:,}",
}


class PracticeForm(forms.Form):
    """What, how hard, with or without the rule, and on which layout; a seed makes it again."""

    layout = forms.ModelChoiceField(
        Layout.objects.none(), to_field_name="slug", empty_label=None, label="Layout"
    )
    what = forms.ChoiceField(label="What")
    grade = forms.TypedChoiceField(
        choices=list(GRADES.items()), coerce=int, widget=forms.RadioSelect, label="How hard"
    )
    rule = forms.ChoiceField(
        choices=[(SHOWN, "rule shown"), (FROM_MEMORY, "from memory")],
        widget=forms.RadioSelect,
        label="The rule",
    )
    count = forms.IntegerField(
        min_value=1, max_value=MOST_ON_A_SHEET, required=False, label="Problems on a sheet"
    )
    seed = forms.IntegerField(min_value=0, max_value=LAST_SEED, required=False)
    sitting = forms.CharField(required=False)

    def __init__(
        self,
        given: QueryDict,
        *,
        groups: Sequence[tuple[str, list[tuple[str, str]]]],
        rig: Rig | None,
    ) -> None:
        self.is_asked = "what" in given
        start = {
            "layout": rig.layout.slug if rig else None,
            "grade": 1,
            "rule": SHOWN,
            "count": USUAL_ON_A_SHEET,
        }
        super().__init__(given if self.is_asked else None, initial=start)
        published = Layout.objects.filter(revisions__state="published").distinct()
        layouts: Any = self.fields["layout"]
        layouts.queryset = published
        what: Any = self.fields["what"]
        what.choices = groups
        self._say_what_is_accepted(given)

    def _say_what_is_accepted(self, given: QueryDict) -> None:
        """Of whatever is refused what came in, and what would be accepted."""
        for name, accepted in _ACCEPTED.items():
            came = given.get(name, "")[:LONGEST_TOLD]
            field: Any = self.fields[name]
            refused = f"“{came}” came in; {accepted} is accepted." if came else _nothing(accepted)
            _refuse_with(field, no_choice(came) if came and name == "what" else refused)

    def clean_count(self) -> int:
        """How many problems; the usual number where none was said."""
        return self.cleaned_data["count"] or USUAL_ON_A_SHEET

    def clean_sitting(self) -> Sitting:
        """What was asked so far; nothing where none came in."""
        came = self.cleaned_data["sitting"]
        try:
            return read_sitting(came) if came else Sitting()
        except ValueError as error:
            raise forms.ValidationError(str(error)) from error

    @property
    def so_far(self) -> Sitting:
        """What was asked so far, of a form that is valid."""
        found: Sitting = self.cleaned_data["sitting"]
        return found

    @property
    def wish(self) -> Wish:
        """What is wished for, of a form that is valid and has its seed."""
        return Wish(
            what=self.cleaned_data["what"],
            grade=self.cleaned_data["grade"],
            is_rule_shown=self.cleaned_data["rule"] == SHOWN,
            seed=self.cleaned_data["seed"],
        )

    @property
    def revision(self) -> Revision:
        """The published revision of the layout that was chosen."""
        layout: Layout = self.cleaned_data["layout"]
        revision = layout.published
        if revision is None:
            raise ValueError(f"{layout} was published when it was chosen, and is not now.")
        return revision

    def asked(self) -> dict[str, Any]:
        """The wish without its seed, to ask for another or for the same again."""
        kept = ("what", "grade", "rule", "count")
        return {"layout": self.cleaned_data["layout"].slug} | {
            name: self.cleaned_data[name] for name in kept
        }


def _nothing(accepted: str) -> str:
    return f"Nothing came in; {accepted} is accepted."


def _refuse_with(field: Any, words: str) -> None:
    """Say the same of whatever a field does not take."""
    # The messages of a choice and of a limit are filled in with % once more.
    filled_in = words.replace("%", "%%")
    field.error_messages |= {"required": words, "invalid": words}
    field.error_messages |= dict.fromkeys(("invalid_choice", "min_value", "max_value"), filled_in)
