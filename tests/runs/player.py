"""Takes prompts in a test, through the actions that everybody uses."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils import timezone

from drills.engine.recipes import LOCATE
from drills.engine.timing import Claim
from drills.rigs.reading import layout_of
from drills.runs.actions import answer_prompt, begin, serve_next
from drills.runs.models import Presentation, Run
from tests.runs.conftest import NOW

SECONDS = 4.0


def lately() -> datetime:
    """A moment ago by the clock of the machine, which pages go by."""
    return timezone.now() - timedelta(minutes=1)


Chooser = Callable[[Presentation], list[str]]


def right(presentation: Presentation) -> list[str]:
    """The keys of a right answer."""
    prompt = presentation.prompt
    if prompt is None:
        return [presentation.subject]
    return [prompt.answer[0]] if prompt.kind == LOCATE else list(prompt.answer)


def wrong(presentation: Presentation) -> list[str]:
    """The keys of an answer with nothing right in it."""
    prompt = presentation.prompt
    if prompt is None:
        return [presentation.subject]
    layout = layout_of(presentation.run.drill.revision)
    if prompt.kind != LOCATE:
        return [key for key in prompt.choices if key not in prompt.answer][:1]
    doors = {layout.chain(code)[0] for code in prompt.answer}
    return [next(code for code in layout.by_code if layout.chain(code)[0] not in doors)]


@dataclass
class Player:
    """Goes through a run; `now` moves on with each answer."""

    run: Run
    now: datetime = NOW

    def begin(self, *, is_timed: bool = True) -> Presentation:
        presentation = begin(
            self.run, device_class="phone", is_timed=is_timed, now=self.now
        ).presentation
        assert presentation is not None
        return presentation

    def serve(self) -> Presentation | None:
        return serve_next(self.run, now=self.now)

    def answer(
        self, presentation: Presentation, keys: list[str], *, seconds: float = SECONDS
    ) -> Presentation:
        self.now += timedelta(seconds=seconds + 0.2)
        return answer_prompt(
            self.run,
            token=presentation.token,
            tokens=[self.run.token_for(key) for key in keys],
            claim=Claim(elapsed=seconds, gap=0.1, hidden=0.0),
            now=self.now,
        )

    def past_warm_ups(self) -> Presentation:
        """The first real prompt, after three warm-up taps."""
        presentation = self.begin()
        while presentation.is_warm_up:
            self.answer(presentation, right(presentation), seconds=1.5)
            following = self.serve()
            assert following is not None
            presentation = following
        return presentation

    def finish(self, choose: Chooser = right, *, seconds: float = SECONDS) -> list[Presentation]:
        """Take all that is left; the answered presentations in order."""
        presentation: Presentation | None = self.past_warm_ups()
        found = []
        while presentation is not None:
            found.append(self.answer(presentation, choose(presentation), seconds=seconds))
            presentation = self.serve()
        self.run.refresh_from_db()
        return found
