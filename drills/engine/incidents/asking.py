"""What a drill asks of each patient of an incident, and how the answers are judged.

A prompt has the findings in words and nothing that names a category; the answer is one, and the
way through the chart is the explanation. Errors are counted as published, by `triage.measures`.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, replace

from drills.engine.calls import Call, Patient
from drills.engine.chance import drawn_evenly, seeded
from drills.engine.choosing import COUNTS, Choice, Choosing, Group
from drills.engine.incidents.allocating import Triaged, too_few, triaged
from drills.engine.incidents.findings import Sorting
from drills.engine.incidents.first import patients_told, who_first
from drills.engine.incidents.later import Look, look_again
from drills.engine.incidents.making import Casualty, Incident
from drills.engine.incidents.tables import LEVELS
from drills.engine.incidents.telling import asked_for, told
from drills.engine.triage import CATEGORIES, JUMPSTART, SALT, START, Category, category
from drills.engine.triage.findings import REFILL
from drills.engine.triage.measures import RIGHT, Measured, is_critical, judged, measured

SCHEME_WORDS = {START: "START", JUMPSTART: "JumpSTART", SALT: "SALT"}
# So many who got worse are met again: ours, no source.
MOST_WORSE = 2
_SUPPLY_WORDS = {
    True: "Crews and equipment are short.",
    False: "There is enough for everybody.",
}


@dataclass(frozen=True, slots=True)
class TriagePrompt:
    """One patient to be sorted: what is shown, and apart from it what the answer is.

    `scheme` names the chart; `says` it too, and what the answer rests on beside the findings: the
    test of perfusion by START, the resources by SALT. `choices` are the categories of the family,
    the most urgent first; `sources` are those of the branches that were taken.
    `look` is 2 for somebody who was sorted before.
    """

    number: int
    scheme: str
    who: str
    seen: str
    told: tuple[str, ...]
    says: str
    family: str
    choices: tuple[Category, ...]
    answer: str
    path: tuple[str, ...]
    sources: tuple[str, ...] = ()
    look: int = 1

    @property
    def found(self) -> str:
        """What is seen and found, in one line."""
        return " ".join((self.seen, *self.told)).removesuffix(".")


@dataclass(frozen=True, slots=True)
class SortedCall(Call):
    """A call whose patients are to be sorted: a prompt for each of them, in their order.

    `again` are some who are met later, where somebody got worse, and `last` everybody as found
    last. Of fewer than the service sorts only `first` is asked, who comes first. `people` are who
    may need what is scarce, and `few` are they where nobody is sorted.
    """

    sorts: tuple[TriagePrompt, ...] = ()
    again: tuple[TriagePrompt, ...] = ()
    first: Choosing | None = None
    people: tuple[Triaged, ...] = ()
    last: tuple[Patient, ...] = ()
    few: tuple[Triaged, ...] = ()


def turns_of(call: Call) -> dict[int, tuple[int, bool]]:
    """Whose turn it is of a call whose patients are sorted, by number; of another nobody's, nor of
    who is dead or left for now."""
    people = call.people if isinstance(call, SortedCall) else ()
    return {each.number: each.rank for each in people if each.is_treated}


def treated_of(call: Call) -> list[int]:
    """Whom of a call anybody treats, by number: where they are sorted nobody dead or left for
    now, else everybody."""
    if isinstance(call, SortedCall) and call.people:
        return [each.number for each in call.people if each.is_treated]
    return [each.number for each in call.patients]


@dataclass(frozen=True, slots=True)
class Judged:
    """An answer judged: `verdict` is right, over-triage or under-triage, by the order of urgency.

    `is_critical` is an error that may cost a life. `path` is the way through the chart.
    """

    right: Category
    given: Category
    verdict: str
    is_critical: bool
    path: tuple[str, ...]

    @property
    def is_right(self) -> bool:
        return self.verdict == RIGHT


@dataclass(frozen=True, slots=True)
class Tally:
    """All answers of an incident: the published measures, and how many are in each category.

    `counts` are by category in order of urgency: how many there are, and how many were put there.
    """

    measures: Measured
    counts: tuple[tuple[Category, int, int], ...]


def choices_of(family: str) -> tuple[Category, ...]:
    """The categories of a family of schemes, the most urgent first."""
    return tuple(
        sorted((row for row in CATEGORIES if row.schemes == family), key=lambda row: row.urgency)
    )


def prompts_of(incident: Incident) -> tuple[TriagePrompt, ...]:
    """One prompt for each patient, in their order."""
    return tuple(prompt_for(incident, each) for each in incident.casualties)


def sorted_call(incident: Incident, *, seed: str) -> SortedCall:
    """The call of an incident with what is asked of each patient; the seed draws who gets worse."""
    call = incident.call
    told = {each.name: getattr(call, each.name) for each in fields(call)}
    if len(incident.casualties) < incident.sorting.threshold:
        few = too_few(incident, patients_told(incident))
        return SortedCall(**told, first=who_first(incident), few=few)
    looks = _met_again(incident, seed=seed)
    return SortedCall(
        **told,
        sorts=prompts_of(incident),
        again=tuple(_prompt_again(incident, each) for each in looks),
        people=_found_last(incident, looks),
        last=_patients_last(call, looks),
    )


def _met_again(incident: Incident, *, seed: str) -> list[Look]:
    """Whom to look at again: who came to another category, at most two, and one who did not get
    worse; else nobody.

    Which of them it is, is asked. Who was dead or left to die is not looked at.
    """
    looks = look_again(incident, seed=seed)
    random = seeded(f"looked at again/1:{seed}")
    worse = _changed(incident, looks)[:MOST_WORSE]
    same = [each for each in looks if not each.words and not _is_left(incident, each.casualty)]
    chosen = worse + ([drawn_evenly(same, random)] if worse and same else [])
    return sorted(chosen, key=lambda each: each.casualty.number)


def _prompt_again(incident: Incident, look: Look) -> TriagePrompt:
    seen = f"{look.casualty.seen}. {look.told}"
    return replace(prompt_for(incident, look.casualty), seen=seen, look=2)


def _patients_last(call: Call, looks: Iterable[Look]) -> tuple[Patient, ...]:
    """The patients of a call as they were found last; who is met once as they were then."""
    later = {each.casualty.number: each.patient for each in looks}
    return tuple(later.get(each.number, each) for each in call.patients)


def _found_last(incident: Incident, looks: Iterable[Look]) -> tuple[Triaged, ...]:
    """Everybody as they are when things are given out: who is met again, as found then."""
    later = {each.casualty.number: each.casualty for each in looks}
    now = replace(
        incident,
        casualties=tuple(later.get(each.number, each) for each in incident.casualties),
    )
    return triaged(now, patients_told(now))


def counts_asked(sorts: Sequence[TriagePrompt]) -> Choosing:
    """How many there are of each category among patients that were sorted, as they truly are."""
    found = Counter(each.answer for each in sorts)
    choices = tuple(Choice(row.category, row.word, row.colour) for row in sorts[0].choices)
    return Choosing(
        task=COUNTS,
        groups=(
            Group(
                COUNTS,
                "How many of each?",
                COUNTS,
                choices,
                counts=tuple((each.key, found[each.key]) for each in choices),
            ),
        ),
        rule="Counted are the patients as they were, whatever you put them in. Each count has to be"
        " right.",
        source="ours, no source",
        told=tuple((each.number, each.who, each.found) for each in sorts),
        is_folded=True,
    )


def _changed(incident: Incident, looks: Iterable[Look]) -> list[Look]:
    """Who got worse and came to another category by it."""
    before = {each.number: incident.outcome(each).category for each in incident.casualties}
    return [
        each
        for each in looks
        if each.words and incident.outcome(each.casualty).category != before[each.casualty.number]
    ]


def _is_left(incident: Incident, casualty: Casualty) -> bool:
    key = incident.outcome(casualty).category or ""
    return category(incident.sorting.family, key).called_dead


def prompt_for(incident: Incident, casualty: Casualty) -> TriagePrompt:
    """The prompt for a patient as found now; by the level with what the chart does not ask too."""
    outcome = incident.outcome(casualty)
    if outcome.category is None:
        raise ValueError(f"{outcome.needs}: it was not found of patient {casualty.number}.")
    sorting, whose = incident.sorting, casualty.whose
    only = () if LEVELS[incident.level].tells_all else asked_for(casualty.findings, whose, sorting)
    return TriagePrompt(
        number=casualty.number,
        scheme=SCHEME_WORDS[sorting.scheme(is_child=whose.is_child)],
        who=casualty.patient.who,
        seen=f"{casualty.seen}.",
        told=told(casualty.findings, whose, only=only),
        says=_says(sorting, is_child=whose.is_child, is_short=incident.is_short),
        family=sorting.family,
        choices=choices_of(sorting.family),
        answer=outcome.category,
        path=outcome.path,
        sources=tuple(dict.fromkeys(row.source for row in outcome.rows)),
    )


def judge(family: str, *, right: str, given: str, path: Sequence[str] = ()) -> Judged:
    """Judge a category against the one that is right; `KeyError` for one that is none."""
    return Judged(
        right=category(family, right),
        given=category(family, given),
        verdict=judged(family, right=right, given=given),
        is_critical=is_critical(family, right=right, given=given),
        path=tuple(path),
    )


def tally(family: str, answers: Iterable[tuple[str, str]]) -> Tally:
    """The measures and counts of patients, each told as the category that is right and given."""
    pairs = list(answers)
    right, given = (Counter(each[at] for each in pairs) for at in (0, 1))
    return Tally(
        measures=measured(family, pairs),
        counts=tuple(
            (each, right[each.category], given[each.category]) for each in choices_of(family)
        ),
    )


def counts_of(prompts: Iterable[TriagePrompt]) -> Mapping[str, int]:
    """How many patients there are of each category, by its key."""
    return Counter(each.answer for each in prompts)


def _says(sorting: Sorting, *, is_child: bool, is_short: bool) -> str:
    scheme = sorting.scheme(is_child=is_child)
    name = SCHEME_WORDS[scheme]
    if scheme == SALT:
        return f"{name}. {_SUPPLY_WORDS[is_short]}"
    if scheme == START:
        test = "capillary refill" if sorting.perfusion == REFILL else "the pulse at the wrist"
        return f"{name}, perfusion by {test}."
    return f"{name}."
