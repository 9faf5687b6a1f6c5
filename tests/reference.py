"""The reference data of the fixtures in the engine's terms, and the tables beside the tests."""

import csv
import json
from functools import cache
from pathlib import Path
from typing import Any

from drills.engine.recipes import RecipeSpec, read_kinds
from drills.engine.suggestions import SizedNeed, Suggester
from drills.engine.ties import NeedIndex, NeedWords
from tests.layouts import FIXTURES

DATA = Path(__file__).resolve().parent / "data"


def table(name: str) -> list[dict[str, str]]:
    """The rows of a table beside the tests, as text."""
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


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
