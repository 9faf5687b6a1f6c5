"""What a drill asks of an injured patient: high risk, moderate or neither, and by which criterion.

The list of criteria is the whole table, whoever is hurt. A criterion that is met is right whichever
it is; to put somebody into another category is over-triage or under-triage.
"""

from collections import Counter
from collections.abc import Iterator

from drills.engine.choosing import ONE, Choice, Choosing, Group, Scale
from drills.engine.incidents.asking import choices_of
from drills.engine.injured.making import Injured
from drills.engine.injured.signs import FIGURES, RATE, is_of_kind, limit_for, told_figures
from drills.engine.injured.tables import AGE, BY_KEY, CRITERIA, NONE, Criterion, limit_of
from drills.engine.tables.kinds import FROM_MEMORY
from drills.engine.triage import CHARTS, START, category
from drills.engine.triage.field import FIELD, FIELD_FAMILY

RISK, CRITERION = "risk", "criterion"
GUIDELINE = "National guideline for the field triage of injured patients, 2021"
TEXT = (
    f"By the {GUIDELINE[0].lower()}{GUIDELINE[1:]}. It is for one patient, never for a "
    "mass-casualty event. Local destination protocols and medical direction decide."
)
RULE = (
    "What is met of high risk decides, whatever else is met. Any criterion that is met is right. "
    "Not for mass-casualty events: the publisher says so. Where a patient is taken is decided by "
    "local destination protocols and medical direction."
)
_TO_BE_CHECKED = " (worded from memory, to be checked)"
_SOURCES = tuple(dict.fromkeys(each.branch.source for each in CRITERIA))
_NO_CRITERION = "No criterion is met"


def asked_of(patient: Injured) -> Choosing:
    """The question for a patient, with what it is judged by."""
    return Choosing(
        task=FIELD,
        groups=(_risk(patient), _criterion(patient)),
        rule=RULE,
        source="; ".join(_sources(patient)),
        told=((1, patient.who, " ".join(patient.found).removesuffix(".")),),
        why=tuple(_why(patient)),
        happened=patient.happened,
        signs=told_figures(patient.findings),
        scale=Scale(RISK, FIELD_FAMILY, GUIDELINE, _SOURCES),
    )


def _risk(patient: Injured) -> Group:
    choices = choices_of(FIELD_FAMILY)
    return Group(
        RISK,
        "Which risk?",
        ONE,
        tuple(Choice(each.category, each.word, each.colour) for each in choices),
        right=(patient.category,),
    )


def _criterion(patient: Injured) -> Group:
    choices = tuple(Choice(each.key, each.label) for each in CRITERIA)
    return Group(
        CRITERION,
        "By which criterion?",
        ONE,
        (*choices, Choice(NONE, _NO_CRITERION)),
        right=patient.met or (NONE,),
        decides=False,
        parts=tuple(Counter(each.part for each in CRITERIA).items()),
    )


def _sources(patient: Injured) -> list[str]:
    """Those of the criteria that are met, and of the whole table where none is."""
    rows = [BY_KEY[key].branch for key in patient.met]
    if not rows:
        return [_SOURCES[0], f"what it lacked from memory: {_SOURCES[1]}"]
    return list(dict.fromkeys(f"{each.source}, {each.status}" for each in rows))


def _why(patient: Injured) -> Iterator[str]:
    """Every criterion that is met, with its category; then what is at its limit and is not."""
    if not patient.met:
        yield "No criterion of high risk or of moderate risk is met."
    yield from (_met_words(BY_KEY[key], patient) for key in patient.met)
    missed = (each for each in CRITERIA if each.key not in patient.met)
    for each in missed:
        if _is_at_limit(each, patient):
            yield f"At the limit, and not met: {each.label.lower()}{_mark(each)}."
    if "fast breathing" in patient.met and not _is_over_by_start(patient):
        yield "START has another limit: over 30 a minute, where this guideline has over 29."


def _met_words(criterion: Criterion, patient: Injured) -> str:
    branch = criterion.branch
    end = category(FIELD_FAMILY, branch.leads_to)
    figures = {name: f"{patient.findings[name]:g}" for name in FIGURES}
    return f"{end.word} ({end.colour}): {branch.words.format_map(figures)}{_mark(criterion)}"


def _mark(criterion: Criterion) -> str:
    return _TO_BE_CHECKED if criterion.branch.status == FROM_MEMORY else ""


def _is_at_limit(criterion: Criterion, patient: Injured) -> bool:
    """Whether a figure is one short of the limit, or the age of what happened is."""
    found = patient.findings
    if not criterion.has_limit or not is_of_kind(criterion.edge, patient.kind):
        return False
    if criterion.edge == AGE:
        name, _, value = criterion.sets.partition(" ")
        return value in found[name] and found[AGE] == limit_of(criterion.key, 0)[1]
    if not criterion.from_y <= found[AGE] <= criterion.to_y:
        return False
    return bool(found[criterion.edge] == limit_for(criterion, found[AGE], found)[1])


def _is_over_by_start(patient: Injured) -> bool:
    limits = (each for each in CHARTS[START].branches if each.when.startswith("rate over "))
    return any(patient.findings[RATE] > int(each.when.split()[-1]) for each in limits)
