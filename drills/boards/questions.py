"""Which question each answer to a dose or supply was of: one skill asks for several figures."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import groupby
from uuid import UUID

from drills.engine.memory import Observation
from drills.engine.recipes import NUMBER_KINDS
from drills.engine.scoring import RIGHT
from drills.runs.actions.serving import source_of
from drills.runs.models import Presentation


@dataclass(frozen=True, slots=True)
class Question:
    """One prompt of one run, and the figure it asks for."""

    run: UUID
    prompt: int | None
    figure: str | None


@dataclass(frozen=True, slots=True)
class Attempt:
    """A first answer with what came of asking the same question again in its run; empty if it was
    not. Of what is no number there is no question, and a retry is of the answer before it."""

    first: Observation
    question: Question | None
    retried: str = ""

    @property
    def last(self) -> str:
        """The outcome it was left with."""
        return self.retried or self.first.outcome

    @property
    def figure(self) -> str | None:
        return self.question.figure if self.question else None

    @property
    def run(self) -> UUID | datetime:
        return self.question.run if self.question else self.first.at

    def said_of(self, unsafe: Sequence[str]) -> str:
        """What became of this answer, told where unsafe ones of its skill went different ways."""
        if len(set(unsafe)) < 2:
            return ""
        return f"Retried: {self.retried}" if self.retried else "Not retried"


def questions_of(sources: Collection[str]) -> dict[str, Question]:
    """The questions of doses and supplies by the source that evidence names, in one query."""
    if not sources:
        return {}
    rows = Presentation.objects.filter(
        prompt__kind__in=NUMBER_KINDS, token__in=[each.split()[-1] for each in sources]
    )
    read = rows.order_by().values_list("token", "run_id", "prompt_id", "prompt__answer__asked")
    return {source_of(token): Question(run, prompt, asked) for token, run, prompt, asked in read}


def attempts_of(
    seen: Sequence[Observation], questions: Mapping[str, Question]
) -> tuple[Attempt, ...]:
    """The first answers, the oldest first, each with the newest retry of its own question."""
    found: list[Attempt] = []
    for each in seen:
        question = questions.get(each.source)
        if each.first:
            found.append(Attempt(each, question))
            continue
        for number in reversed(range(len(found))):
            if found[number].question == question:
                found[number] = replace(found[number], retried=each.outcome)
                break
    return tuple(found)


def current(seen: Sequence[Attempt]) -> list[Attempt]:
    """Of each figure, what was answered in the run that asked for it last."""
    newest = {each.figure: each.run for each in seen}
    return [each for each in seen if newest[each.figure] == each.run]


def not_put_right(seen: Sequence[Attempt]) -> Iterator[Attempt]:
    """Of each figure, what was answered since a run that asked for it was right throughout, the
    newest first."""
    put_right: set[str | None] = set()
    runs = groupby(reversed(seen), key=lambda each: (each.run, each.figure))
    for (_, figure), of_run in runs:
        answered = list(of_run)
        if all(each.first.outcome == RIGHT for each in answered):
            put_right.add(figure)
        elif figure not in put_right:
            yield from answered
