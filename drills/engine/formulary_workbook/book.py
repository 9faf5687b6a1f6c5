"""A formulary as its workbook says it: medicines, how they come, and the rules of their doses."""

import datetime
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

ProblemOf = tuple[str, tuple[int, ...]]


@dataclass(frozen=True, slots=True)
class Medicine:
    """A medicine by its lasting key."""

    key: str
    name: str


@dataclass(frozen=True, slots=True)
class Packed:
    """One way a medicine comes. `strength` and `volume` are written as
    `drills.engine.concentrations` reads them; `need` is the key of the need it is, empty where none
    is said.
    """

    key: str
    medicine: str
    strength: str
    volume: str = ""
    container: str = ""
    need: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One dose as its source prints it. Amounts are texts that `read_quantity` reads.

    Ages are years and weights kg, from the first to below the second; None is no bound. `minimum`
    and `maximum` are of one whole dose. Times are minutes; `error_limit` is per cent. `problems`
    are keys with severities, none of which is any. `mixed` says that it is diluted before it is
    drawn up.
    """

    code: str
    medicine: str
    presentations: tuple[str, ...] = ()
    level: str
    indication: str
    problems: tuple[ProblemOf, ...] = ()
    population: str = ""
    age_from_y: Decimal | None = None
    age_below_y: Decimal | None = None
    weight_from_kg: Decimal | None = None
    weight_below_kg: Decimal | None = None
    route: str
    basis: str
    dose: str
    dose_high: str = ""
    minimum: str = ""
    maximum: str = ""
    max_total: str = ""
    repeat_min: int | None = None
    repeat_times: int | None = None
    repeat_note: str = ""
    over_min: int | None = None
    over_note: str = ""
    dilution: str = ""
    take: str = ""
    diluent: str = ""
    diluent_volume: str = ""
    final_strength: str = ""
    mixed: bool = False
    error_limit: int | None = None
    source: str = ""
    version: str = ""
    page: str = ""
    date: datetime.date | None = None
    status: str
    reviewed_by: str = ""
    notes: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Book:
    """The whole formulary. `document`, `version` and `date` are of what it was written from."""

    name: str
    document: str = ""
    version: str = ""
    date: datetime.date | None = None
    notes: str = ""
    medicines: tuple[Medicine, ...] = ()
    presentations: tuple[Packed, ...] = ()
    rules: tuple[Rule, ...] = ()


@dataclass(frozen=True, slots=True)
class Known:
    """What is here already and a workbook may speak of, all by key.

    `medicines` gives the name of each; a name is the same in every revision. `problems` are those
    that rules here spoke of before.
    """

    levels: tuple[str, ...]
    needs: frozenset[str] = frozenset()
    problems: frozenset[str] = frozenset()
    medicines: Mapping[str, str] = field(default_factory=dict)
