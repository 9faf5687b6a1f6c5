"""The sheets of the formulary workbook, their columns, their words and their limits."""

from drills.engine.workbook.columns import Form

FORMAT = "readiness-formulary/1"

KEYS = ("format", "name", "document", "version", "date", "notes")
COLUMNS = {
    "formulary": ("key", "value"),
    "medicines": ("key", "name"),
    "presentations": ("key", "medicine", "strength", "volume", "container", "need"),
    "rules": (
        *("code", "medicine", "presentations", "level", "indication", "problems", "population"),
        *("age_from_y", "age_below_y", "weight_from_kg", "weight_below_kg", "route"),
        *("basis", "dose", "dose_high", "minimum", "maximum", "max_total"),
        *("repeat_min", "repeat_times", "repeat_note", "over_min", "over_note"),
        *("dilution", "take", "diluent", "diluent_volume", "final_strength", "mixed"),
        *("error_limit", "source", "version", "page", "date", "status", "reviewed_by", "notes"),
    ),
}
NEEDED = {
    "formulary": ("key", "value"),
    "medicines": ("key", "name"),
    "presentations": ("key", "medicine", "strength"),
    "rules": ("code", "medicine", "level", "indication", "route", "basis", "dose"),
}
NEEDED_KEYS = ("format", "name")
FORM = Form(
    FORMAT,
    COLUMNS,
    NEEDED,
    file="a .xlsx workbook, or a .zip with formulary.csv, medicines.csv, presentations.csv and "
    "rules.csv",
    sheets="the sheets formulary, medicines, presentations and rules",
)

CONTAINERS = (
    *("vial", "ampoule", "syringe", "autoinjector", "bag", "bottle", "nebule", "spray"),
    *("tablet", "tube", "powder", "kit"),
)
CONFIRMED, FROM_MEMORY, DEMONSTRATION = "confirmed", "from memory", "demonstration value"
STATUSES = (CONFIRMED, FROM_MEMORY, DEMONSTRATION)
NO_PAGE = "no page"

# Ours, no source: a service's protocols have some hundred rules.
MOST_MEDICINES, MOST_PRESENTATIONS, MOST_RULES = 500, 1_000, 2_000
KEY_LENGTH, CODE_LENGTH = 60, 20
NAME_LENGTH, TEXT_LENGTH, NOTES_LENGTH = 120, 200, 300
WORD_LENGTH, AMOUNT_LENGTH = 80, 40
LISTED = 20  # presentations or problems of one rule
MAX_AMOUNT = 1_000_000
MAX_AGE_Y, MAX_WEIGHT_KG = 130, 500
MAX_MINUTES, MAX_TIMES = 10_080, 100  # a week
USUAL_ERROR_LIMIT = 20  # per cent: from there every answer is unsafe
