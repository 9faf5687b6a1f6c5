"""Whether time, order or length tell what is right: `python -m tests.bench.leaks [--answers 1000]`.

How long the server takes to a right answer of an assessed run, and to a wrong one, turn about, each
taken back, of one prompt of every kind (what moved is asked as a place is), warm from those before:
the difference of the means of processor time, with twice its standard error. And how often somebody
would be right who ticks the first, the last or the longest choice of every place that can be asked
about, beside chance.
Ends with 1 where the means are 2 ms apart or more, or a guess is better than chance by three
standard errors. The bounds are ours, no source.
"""

import argparse
import gc
import math
import os
import random
import statistics
import sys
import time
from typing import Any

import django
from django.conf import settings
from django.db import transaction
from django.test import Client
from django.test.utils import get_runner, setup_test_environment
from django.urls import reverse
from django.utils import timezone

from drills.engine.generation import plan_drill
from drills.engine.prompts import Prompt
from drills.engine.recipes import (
    ALLOCATE,
    ARRIVE,
    CONTENTS,
    LOCATE,
    REACH,
    SUPPLY,
    RecipeSpec,
)
from drills.engine.scoring import RIGHT
from tests.layouts import demo_layout, practice_rig

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
django.setup()

from drills.demo.factories import RecipeFactory, rig_on  # noqa: E402  # leads to models, which need settings first
from drills.people.models import Person  # noqa: E402  # leads to models, which need settings first
from drills.rigs.reading import forget_kept  # noqa: E402  # leads to models, which need settings first
from drills.runs.access import forget_drills  # noqa: E402  # leads to models, which need settings first
from drills.runs.actions import start_run  # noqa: E402  # leads to models, which need settings first
from drills.runs.models import Presentation, Run  # noqa: E402  # leads to models, which need settings first
from drills.scenarios.models import Mode  # noqa: E402  # leads to models, which need settings first
from tests.cast import make_hire  # noqa: E402  # leads to models, which need settings first
from tests.runs.player import Player, right, wrong  # noqa: E402  # leads to models, which need settings first
from tests.runs.test_no_answer_of_calls import KINDS as OF_CALLS  # noqa: E402  # leads to models, which need settings first
from tests.runs.test_no_answer_of_calls import CallWorld, run_of  # noqa: E402  # leads to models, which need settings first
from tests.runs.test_supply import UNITS  # noqa: E402  # leads to models, which need settings first
from tests.runs.worlds import Forced  # noqa: E402  # leads to models, which need settings first

ANSWERS, MOST_MS, LAYOUTS = 1000, 2.0, ("mesa-box-rev2", "arroyo-van")
SPEC = RecipeSpec("contents", ((CONTENTS, 30),))
OF_THE_RIG = (LOCATE, CONTENTS, REACH)
Asked = tuple[Client, str, dict[str, dict[str, Any]]]
DRAWS = 40
FIRST, LAST, LONGEST = "the first", "the last", "the longest"


def main() -> int:
    """Print the figures; 1 where a bound is missed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--answers", type=int, default=ANSWERS)
    answers = parser.parse_args().answers
    runner = get_runner(settings)(verbosity=0)
    setup_test_environment()
    made = runner.setup_databases()
    try:
        missed = [_time_tells(kind, answers) for kind in (*OF_THE_RIG, *OF_CALLS)]
    finally:
        runner.teardown_databases(made)
    return 1 if any([*missed, _guesses_tell()]) else 0


def _time_tells(kind: str, answers: int) -> bool:
    """Whether a right answer takes another time than a wrong one."""
    # Numbers of rows come again once a kind is taken back, and what is kept goes by them.
    forget_kept()
    forget_drills()
    with transaction.atomic():
        browser, url, sent = _asked_of_a_call(kind) if kind in OF_CALLS else _asked(kind)
        times: dict[str, list[float]] = {"right": [], "wrong": []}
        order = ["right", "wrong"] * (answers // 2)
        random.Random(7).shuffle(order)  # noqa: S311  # an order of measuring, no secret
        for which in order:
            times[which].append(_answered(browser, url, sent[which], is_right=which == "right"))
        transaction.set_rollback(True)
    means = {which: statistics.fmean(found) for which, found in times.items()}
    error = math.sqrt(sum(statistics.variance(each) / len(each) for each in times.values()))
    apart = means["right"] - means["wrong"]
    sys.stdout.write(
        f"{kind}, {answers} answers of an assessed run: right {means['right']:.2f} ms, wrong "
        f"{means['wrong']:.2f} ms, apart {apart:+.2f} ms, twice the error {2 * error:.2f} ms\n"
    )
    return abs(apart) >= MOST_MS


def _asked(kind: str) -> Asked:
    rig = rig_on(demo_layout(LAYOUTS[0]), unit="11")
    recipe = RecipeFactory.create(slug=kind, kinds=f"{kind}:6", mode=Mode.ASSESSED)
    hire, now = make_hire(), timezone.now()
    run = start_run(hire, recipe=recipe, revision=rig.revision, rig=rig, now=now, seed=7)
    shown = Player(run, now=now).past_warm_ups()
    name = "place" if kind == LOCATE else "thing"
    sent = {
        words: {"token": shown.token, name: [run.token_for(key) for key in keys]}
        for words, keys in (("right", right(shown)), ("wrong", wrong(shown)))
    }
    return _signed_in(hire), reverse("runs:answer", args=[run.pk]), sent


def _asked_of_a_call(kind: str) -> Asked:
    """The first prompt of a run of one kind, and both choices that the tests of leaks make."""
    hire, rig = make_hire(), rig_on(practice_rig(), unit="11")
    run = run_of(kind, Mode.ASSESSED, hire, rig)
    world = CallWorld(run, Player(run), _signed_in(hire), Forced())
    token = {"token": world.serve()}
    right_choice = _right_of(kind, run) or world.choice()
    sent = {"right": right_choice | token, "wrong": world.choice(other=True) | token}
    return world.browser, world.url("answer"), sent


def _right_of(kind: str, run: Run) -> dict[str, Any]:
    """The right answer of a kind whose usual one in the tests of leaks is right in part alone."""
    token = run.token_for
    sent: dict[str, dict[str, Any]] = {
        ARRIVE: {"c-kit": [token("kit:bag 1"), token("kit:bag 2")]},
        ALLOCATE: {"c-who": [token("who:1"), token("who:3")]},
        SUPPLY: {"amount": "13", "unit": UNITS[0]},
    }
    return sent.get(kind, {})


def _signed_in(person: Person) -> Client:
    browser = Client()
    browser.force_login(person)
    return browser


def _answered(browser: Client, url: str, sent: dict[str, Any], *, is_right: bool) -> float:
    """The milliseconds of the processor that one answer takes, which is taken back."""
    with transaction.atomic():
        # What is cleared away was left by answers before this one, and not evenly.
        gc.collect(1)
        gc.disable()
        begun = time.process_time()
        response = browser.post(url, sent, headers={"HX-Request": "true"})
        took = (time.process_time() - begun) * 1000
        gc.enable()
        outcome = Presentation.objects.get(token=sent["token"]).outcome
        transaction.set_rollback(True)
    assert response.status_code == 200, response.status_code
    assert (outcome == RIGHT) == is_right, outcome
    return took


def _guesses_tell() -> bool:
    """Whether a guess by place in the list or by length is better than chance."""
    asked = [each for slug in LAYOUTS for each in _every_place(slug)]
    chances = [len(prompt.answer) / len(prompt.choices) for prompt, _ in asked]
    bound = 3 * math.sqrt(sum(each * (1 - each) for each in chances))
    better = False
    for how in (FIRST, LAST, LONGEST):
        hits = sum(_guess(how, prompt, names) in prompt.answer for prompt, names in asked)
        sys.stdout.write(
            f"{how} of the choices of {len(asked)} places: right {hits} times, by chance "
            f"{sum(chances):.1f}, three standard errors {bound:.1f}\n"
        )
        better |= hits > sum(chances) + bound
    return better


def _every_place(slug: str) -> list[tuple[Prompt, dict[str, str]]]:
    """A prompt for each place of a layout that is asked about, once, with the names of things."""
    layout = demo_layout(slug)
    names = {key: thing.name for key, thing in layout.things.items()}
    plans = (plan_drill(layout, SPEC, seed=seed) for seed in range(DRAWS))
    found = {each.subject: each for plan in plans for each in plan.prompts}
    return [(each, names) for each in found.values()]


def _guess(how: str, prompt: Prompt, names: dict[str, str]) -> str:
    if how == LONGEST:
        return max(prompt.choices, key=lambda key: len(names[key]))
    return prompt.choices[0 if how == FIRST else -1]


if __name__ == "__main__":
    sys.exit(main())
