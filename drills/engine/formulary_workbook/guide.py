"""What every column of the formulary workbook means and takes, for people who fill one in."""

from collections.abc import Iterable

from drills.engine.concentrations import ACCEPTED
from drills.engine.formulary_workbook.amounts import BASES
from drills.engine.formulary_workbook.columns import (
    AMOUNT_LENGTH,
    CODE_LENGTH,
    COLUMNS,
    CONTAINERS,
    FORMAT,
    FROM_MEMORY,
    KEY_LENGTH,
    LISTED,
    MAX_AGE_Y,
    MAX_MINUTES,
    MAX_TIMES,
    MAX_WEIGHT_KG,
    NAME_LENGTH,
    NEEDED,
    NEEDED_KEYS,
    NO_PAGE,
    NOTES_LENGTH,
    STATUSES,
    TEXT_LENGTH,
    USUAL_ERROR_LIMIT,
    WORD_LENGTH,
)
from drills.engine.workbook.guide import Column, Sheet, Told


def guide() -> tuple[Sheet, ...]:
    """Every sheet with every column, in the order of the workbook; without examples, which the
    sample gives."""
    about = tuple(_column(key, _ABOUT_IT, NEEDED_KEYS) for key in _ABOUT_IT)
    sheets = [Sheet("formulary", _ABOUT["formulary"], about)]
    for sheet, told in _SHEETS.items():
        columns = tuple(_column(name, told, NEEDED[sheet]) for name in COLUMNS[sheet])
        sheets.append(Sheet(sheet, _ABOUT[sheet], columns))
    return tuple(sheets)


def _column(name: str, told: Told, needed: Iterable[str]) -> Column:
    meaning, accepted = told[name]
    return Column(name, meaning, accepted, "", name in needed)


def _one_of(words: Iterable[str]) -> str:
    return f"one of: {', '.join(words)}"


def _text(limit: int) -> str:
    return f"text, at most {limit} characters"


_KEY = f"lower-case letters and digits with hyphens between, at most {KEY_LENGTH}"
_MEDICINE = "a key of the medicines sheet"
_YEARS = f"a number of years from 0 to {MAX_AGE_Y}"
_KG = f"a number of kilograms from 0 to {MAX_WEIGHT_KG}"
_MINUTES = f"a whole number of minutes from 1 to {MAX_MINUTES}"
_WHOLE = "an amount of one whole dose, never per kg"
_DAY = "a date, written year-month-day"

_ABOUT = {
    "formulary": "One row for each key, under the header key, value: what it was written from.",
    "medicines": "One row for each medicine, by its generic name.",
    "presentations": "One row for each way a medicine comes.",
    "rules": "One row for each dose, as its source prints it.",
}
_ABOUT_IT: Told = {
    "format": ("Which form the workbook has.", FORMAT),
    "name": ("What the formulary is called.", _text(NAME_LENGTH)),
    "document": ("The document it was written from.", _text(TEXT_LENGTH)),
    "version": ("The edition of that document.", _text(WORD_LENGTH)),
    "date": ("The day of that edition.", _DAY),
    "notes": ("Anything else about it.", _text(NOTES_LENGTH)),
}
_MEDICINES: Told = {
    "key": ("Its lasting key; each once.", _KEY),
    "name": (
        "Its generic name, the same in every revision: a key that is here already keeps its name.",
        _text(NAME_LENGTH),
    ),
}
_PRESENTATIONS: Told = {
    "key": ("The key that rules name it by; each once.", _KEY),
    "medicine": ("What is in it.", _MEDICINE),
    "strength": (
        "How strong it is; empty for a plain fluid. A ratio is read and kept as mg/mL.",
        ACCEPTED,
    ),
    "volume": (
        "What one holds, where the strength does not say it.",
        "a volume in mL or L, such as 10 mL",
    ),
    "container": ("What it is packed in.", _one_of(CONTAINERS)),
    "need": ("The need it is, which leads to the item of a rig.", "the key of a need"),
}
_RULES: Told = {
    "code": (
        "Its short code; each once. The same code is the same rule in the next revision.",
        f"letters, digits, hyphens and points, at most {CODE_LENGTH}",
    ),
    "medicine": ("What is given.", _MEDICINE),
    "presentations": (
        "What it is given from, the first before the others; any of the medicine where empty.",
        f"keys of the presentations sheet with semicolons between, at most {LISTED}",
    ),
    "level": ("From which certification level on it may be given.", "a key of the agency's levels"),
    "indication": ("What it is given for.", _text(TEXT_LENGTH)),
    "problems": (
        "The problems of patients it is for, with their severities where not all are meant.",
        f"keys, such as hypoglycaemia 2 3; seizure, at most {LISTED}",
    ),
    "population": ("Who it is for, in words.", _text(WORD_LENGTH)),
    "age_from_y": ("From which age on; no bound where empty.", _YEARS),
    "age_below_y": ("Below which age.", f"{_YEARS}, more than age_from_y"),
    "weight_from_kg": ("From which weight on; no bound where empty.", _KG),
    "weight_below_kg": ("Below which weight.", f"{_KG}, more than weight_from_kg"),
    "route": ("How it is given.", _text(AMOUNT_LENGTH)),
    "basis": ("What the dose is counted by.", _one_of(BASES)),
    "dose": (
        "How much, or the lower end of a range.",
        "an amount with the unit of its basis: "
        + "; ".join(f"{basis}, {each.example}" for basis, each in BASES.items()),
    ),
    "dose_high": (
        "The upper end of a range.",
        "an amount of the same kind as the dose, and more",
    ),
    "minimum": ("The least of one dose.", _WHOLE),
    "maximum": ("The most of one dose.", f"{_WHOLE}; of a rate per kg also such a rate"),
    "max_total": (
        "The most of all doses together.",
        "an amount; where the dose goes by weight also one per kg",
    ),
    "repeat_min": ("The least time between two.", _MINUTES),
    "repeat_times": ("How many more may follow.", f"a whole number from 0 to {MAX_TIMES}"),
    "repeat_note": ("What is printed about repeating.", _text(TEXT_LENGTH)),
    "over_min": ("Over how long it is given.", _MINUTES),
    "over_note": ("What is printed about that.", _text(TEXT_LENGTH)),
    "dilution": ("How it is mixed, as printed.", _text(TEXT_LENGTH)),
    "take": (
        "What is taken of the presentation; all of one where empty.",
        "an amount or a volume, such as 4 mg or 1 mL",
    ),
    "diluent": ("What it is mixed with.", _text(WORD_LENGTH)),
    "diluent_volume": ("How much of that.", "a volume in mL or L, such as 9 mL"),
    "final_strength": ("How strong that makes it.", "a strength per mL, such as 10 mcg/mL"),
    "mixed": ("Whether the dose is drawn from the mixture.", "yes or no; empty is no"),
    "error_limit": (
        f"From which error on an answer is unsafe, where that is tighter than the usual"
        f" {USUAL_ERROR_LIMIT} per cent.",
        f"a whole number from 1 to {USUAL_ERROR_LIMIT - 1}",
    ),
    "source": ("The document that says so. Needed for an approval.", _text(TEXT_LENGTH)),
    "version": ("Its edition. Needed for an approval.", _text(WORD_LENGTH)),
    "page": (
        "The page, table or section. Needed for an approval.",
        f"{_text(WORD_LENGTH)}; {NO_PAGE} where it has none",
    ),
    "date": ("The day it was read. Needed for an approval.", _DAY),
    "status": (
        "How sure the source is. Only what is confirmed can be approved.",
        f"{_one_of(STATUSES)}; empty is {FROM_MEMORY}",
    ),
    "reviewed_by": ("Who read the rule again.", _text(NAME_LENGTH)),
    "notes": ("Anything else about the rule.", _text(NOTES_LENGTH)),
}
_SHEETS = {"medicines": _MEDICINES, "presentations": _PRESENTATIONS, "rules": _RULES}
