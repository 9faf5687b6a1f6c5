"""The formulary that comes with the product and all its needs aboard, without a database."""

import json
from functools import cache
from pathlib import Path
from typing import Any

from drills.engine.carried import Aboard, Carried, NeedSaid
from drills.engine.exercises.stores import Stores
from drills.engine.medicines import MedicineRule
from drills.formulary.models import DoseRule, FormularyRevision, Medicine, Presentation
from drills.formulary.reports import sorted_out
from drills.rigs.carried import needs_said
from drills.rigs.models import Need

FIXTURES = Path(__file__).parents[2] / "fixtures"
PLENTY = 20


def _rows(name: str, model: str) -> list[dict[str, Any]]:
    rows = json.loads((FIXTURES / f"{name}.json").read_text(encoding="utf-8"))
    return [row["fields"] for row in rows if row["model"] == model]


@cache
def rules() -> tuple[MedicineRule, ...]:
    """Every rule that can be drilled."""
    (revision,) = (
        FormularyRevision(pk=1, **row) for row in _rows("formulary", "formulary.formularyrevision")
    )
    medicines = {
        row["key"]: Medicine(pk=at, **row)
        for at, row in enumerate(_rows("formulary", "formulary.medicine"), 1)
    }
    needs = {row["key"]: Need(pk=at, **row) for at, row in enumerate(_rows("needs", "rigs.need"))}
    presentations = [
        Presentation(
            **row
            | {
                "revision": revision,
                "medicine": medicines[row["medicine"][0]],
                "need": needs[row["need"][0]] if row["need"] else None,
            }
        )
        for row in _rows("formulary", "formulary.presentation")
    ]
    made = []
    for row in _rows("formulary", "formulary.doserule"):
        whose = {"revision": revision, "medicine": medicines[row["medicine"][0]]}
        made.append(DoseRule(**row | whose))
        made[-1].comes_as = made[-1].picked(presentations)
    return tuple(sorted_out(made)[0])


@cache
def all_aboard() -> Aboard:
    """A rig that carries plenty of each need, as the need says."""
    said = needs_said(Need(**row) for row in _rows("needs", "rigs.need"))
    return Aboard(
        items=tuple(map(_carried, said)),
        needs={each.key: each for each in said},
        names={each.key: (each.name,) for each in said},
    )


def _carried(need: NeedSaid) -> Carried:
    return Carried(
        item=need.key,
        name=need.name,
        need=need.key,
        medicine=need.medicine,
        packing=need.packing,
        count=PLENTY,
        places=(),
        is_confirmed=True,
        serves_doses=bool(need.medicine),
        is_locked=False,
    )


def stores() -> Stores:
    """All the rules, with all that they take aboard."""
    return Stores(rules=rules(), aboard=all_aboard())
