"""What keepers write of needs, and how they look for one."""

import re
from collections.abc import Collection
from typing import Any

from django import forms

from drills.engine.layout import CATEGORIES
from drills.engine.ties import plain
from drills.engine.workbook.columns import ALIAS_LENGTH, ALIASES
from drills.rigs.actions.needs import NeedSaid
from drills.rigs.models import Need

EVERYBODYS, OWN = "standard", "own"
WHOSE = {EVERYBODYS: "standard", OWN: "the agency's own"}


class FindNeedForm(forms.Form):
    """Which needs are looked for; whatever makes no sense is left out."""

    find = forms.CharField(max_length=80, required=False)
    category = forms.ChoiceField(choices=[(each, each) for each in CATEGORIES], required=False)
    whose = forms.ChoiceField(choices=list(WHOSE.items()), required=False)

    def found(self, needs: Collection[Need]) -> list[Need]:
        """The needs that have every word, in a name, an alias or the key."""
        self.is_valid()
        words = plain(self.cleaned_data.get("find", "")).split()
        category = self.cleaned_data.get("category", "")
        whose = self.cleaned_data.get("whose", "")
        return [
            need
            for need in needs
            if category in ("", need.category)
            and whose in ("", OWN if need.is_own else EVERYBODYS)
            and all(word in _said(need) for word in words)
        ]


class AliasesForm(forms.Form):
    """What else a need is called, as a semicolon list."""

    aliases = forms.CharField(max_length=ALIASES * (ALIAS_LENGTH + 2), required=False)

    def __init__(self, *args: Any, of: Need | None = None, **options: Any) -> None:
        super().__init__(*args, **options)
        self._of = of

    def names(self) -> tuple[str, ...]:
        """What the need is called anyway, which no alias repeats."""
        return (self._of.name_us, self._of.name_intl, *self._of.aliases) if self._of else ()

    def clean(self) -> None:
        """Each alias once, in the order in which it came in."""
        known = {plain(name) for name in self.names()}
        words: dict[str, str] = {}
        for word in re.split(r"[;\n]", self.cleaned_data.get("aliases", "")):
            word = " ".join(word.split())
            if fault := _fault_of(word):
                self.add_error("aliases", fault)
            elif plain(word) not in known:
                words.setdefault(plain(word), word)
        words.pop("", None)
        if len(words) > ALIASES:
            self.add_error("aliases", f"{len(words)} aliases came in. At most {ALIASES} are taken.")
        self.cleaned_data["aliases"] = tuple(words.values())


class NeedForm(AliasesForm):
    """All of a need of the agency's own."""

    name_us = forms.CharField(
        max_length=120, error_messages={"required": "A need has a name, such as Ice pack."}
    )
    name_intl = forms.CharField(max_length=120, required=False)
    category = forms.ChoiceField(
        choices=[(each, each) for each in CATEGORIES],
        error_messages={
            "required": "A need is of one of the ten categories.",
            "invalid_choice": "There is no such category. Choose one of the ten.",
        },
    )
    size = forms.CharField(max_length=40, required=False)
    is_controlled = forms.BooleanField(required=False)
    note = forms.CharField(max_length=300, required=False)

    def __init__(self, *args: Any, needs: Collection[Need] = (), **options: Any) -> None:
        super().__init__(*args, **options)
        self._needs = needs

    def names(self) -> tuple[str, ...]:
        """As they came in; one of an own need may change with its aliases."""
        return (self.cleaned_data.get("name_us", ""), self.cleaned_data.get("name_intl", ""))

    def clean(self) -> None:
        super().clean()
        for field in ("name_us", "name_intl"):
            if fault := self._fault_of_name(self.cleaned_data.get(field, "")):
                self.add_error(field, fault)

    def _fault_of_name(self, name: str) -> str:
        if name and not plain(name):
            return "A name has letters or figures."
        mine = self._of.key if self._of else ""
        for need in self._needs:
            names = map(plain, (need.name_us, need.name_intl))
            if need.key != mine and name and plain(name) in names:
                return f"{need.key} is called that already. Give this one another name."
        return ""

    def said(self) -> NeedSaid:
        """What came in, once it is valid; one name stands for both spellings."""
        given = self.cleaned_data
        return NeedSaid(
            name_us=given["name_us"],
            name_intl=given["name_intl"] or given["name_us"],
            aliases=given["aliases"],
            category=given["category"],
            size=given["size"],
            is_controlled=given["is_controlled"],
            note=given["note"],
        )


def written(need: Need) -> dict[str, object]:
    """An own need as its form shows it."""
    return {
        "name_us": need.name_us,
        "name_intl": need.name_intl,
        "aliases": "; ".join(need.aliases),
        "category": need.category,
        "size": need.size,
        "is_controlled": need.is_controlled,
        "note": need.note,
    }


def _fault_of(word: str) -> str:
    if word and not plain(word):
        return f"“{word[:80]}” came in. An alias has letters or figures."
    if len(word) > ALIAS_LENGTH:
        return f"“{word[:80]}” goes on. An alias has at most {ALIAS_LENGTH} characters."
    return ""


def _said(need: Need) -> str:
    return plain(" ".join((need.key, need.name_us, need.name_intl, *need.every_alias)))
