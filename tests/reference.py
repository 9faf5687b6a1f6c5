"""The reference data of the fixtures in the engine's terms, and the tables beside the tests."""

import csv
import json
from collections.abc import Collection, Iterable
from contextlib import suppress
from copy import copy
from functools import cache
from itertools import groupby
from pathlib import Path
from typing import Any

from django.apps import apps
from django.core.management import call_command
from django.core.management.color import no_style
from django.db import IntegrityError, connection, transaction
from django.db.models import Model

from drills.engine.recipes import RecipeSpec, read_kinds
from drills.engine.suggestions import SizedNeed, Suggester
from drills.engine.ties import NeedIndex, NeedWords
from tests.layouts import FIXTURES

DATA = Path(__file__).resolve().parent / "data"


def table(name: str) -> list[dict[str, str]]:
    """The rows of a table beside the tests, as text."""
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


_LOADED: dict[frozenset[Path], list[Model]] = {}


def load_reference(*, without: Collection[str] = ()) -> None:
    """Load the fixtures as a service does, but those named; the second time in a process the same
    rows are put in as they were then, which takes a tenth of the time."""
    files = frozenset(each for each in FIXTURES.glob("*.json") if each.stem not in without)
    if files in _LOADED:
        # Rows that a test made first may stand where these did.
        with suppress(IntegrityError), transaction.atomic():
            _put_in(_LOADED[files])
            return
        call_command("loaddata", *sorted(files), verbosity=0)
        return
    before = {model: set(_keys(model)) for model in apps.get_models()}
    call_command("loaddata", *sorted(files), verbosity=0)
    _LOADED[files] = [
        row
        for model in apps.get_models()
        for row in model._base_manager.exclude(pk__in=before[model])
    ]


def _put_in(rows: list[Model]) -> None:
    for model, found in groupby(rows, key=lambda row: row.__class__):
        model._base_manager.bulk_create([copy(row) for row in found])
    with connection.cursor() as cursor:
        for line in connection.ops.sequence_reset_sql(no_style(), list({type(e) for e in rows})):
            cursor.execute(line)


def _keys(model: type[Model]) -> Iterable[Any]:
    return model._base_manager.values_list("pk", flat=True)


@cache
def fixture(name: str) -> list[dict[str, Any]]:
    """The fields of each record of a fixture."""
    records = json.loads((FIXTURES / name).read_text(encoding="utf-8"))
    return [record["fields"] for record in records]


@cache
def recipe(slug: str) -> RecipeSpec:
    """A recipe of the reference data."""
    fields = next(each for each in fixture("recipes.json") if each["slug"] == slug)
    return RecipeSpec(
        slug=slug,
        kinds=read_kinds(fields["kinds"]),
        depth=fields["depth"] or "pocket",
        order=fields["order"],
        focus=tuple(fields["focus"]),
        faces=tuple(fields["faces"]),
        bags_only=fields["bags_only"],
        probes_share=fields["probes_share"],
    )


@cache
def need_index() -> NeedIndex:
    """The standard needs, ready to be tied to."""
    return NeedIndex(words_of(need) for need in fixture("needs.json"))


def words_of(need: dict[str, Any]) -> NeedWords:
    """A need of the reference data by its words; a medicine as it is packed."""
    packed = need["size"] if need["medicine"] and need["size"][:1].isdigit() else ""
    names = (need["name_us"], need["name_intl"])
    return NeedWords(need["key"], names, tuple(need["aliases"]), packed, need["medicine"])


@cache
def suggester() -> Suggester:
    """The standard needs, ready to be suggested."""
    return Suggester(
        SizedNeed(
            words_of(need),
            need["category"],
            need["size"],
        )
        for need in fixture("needs.json")
    )
