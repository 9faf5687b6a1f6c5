"""What a run serves next."""

from drills.engine.recipes import CONTENTS, LOCATE
from drills.engine.scoring import PARTLY, RIGHT, WRONG
from drills.engine.serving import Next, Served, Slot, next_prompt, prompts_left

PLAN = [Slot(position, LOCATE, is_spare=False) for position in range(6)]
SPARES = [Slot(6, CONTENTS, is_spare=True), Slot(7, LOCATE, is_spare=True)]
SLOTS = [*PLAN, *SPARES]


def answered(*outcomes: str) -> list[Served]:
    return [Served(position, outcome) for position, outcome in enumerate(outcomes)]


def void(position: int) -> Served:
    return Served(position, "")


def test_follows_the_plan() -> None:
    """Prompts come in the order of the plan while nothing is missed."""
    assert Next(2, is_retry=False) == next_prompt(SLOTS, answered(RIGHT, RIGHT), with_retries=True)


def test_asks_a_miss_again_after_three_others() -> None:
    """A missed prompt comes again after at least three others, not sooner."""
    after_two = answered(WRONG, RIGHT, RIGHT)
    after_three = answered(WRONG, RIGHT, RIGHT, RIGHT)

    assert Next(3, is_retry=False) == next_prompt(SLOTS, after_two, with_retries=True)
    assert Next(0, is_retry=True) == next_prompt(SLOTS, after_three, with_retries=True)


def test_partly_right_is_a_miss() -> None:
    """What was right at a lesser depth is asked again too."""
    history = answered(PARTLY, RIGHT, RIGHT, RIGHT)

    assert Next(0, is_retry=True) == next_prompt(SLOTS, history, with_retries=True)


def test_asks_a_late_miss_at_the_end() -> None:
    """When fewer than three others are left, a miss is asked at the end."""
    history = answered(RIGHT, RIGHT, RIGHT, RIGHT, RIGHT, WRONG)

    assert Next(5, is_retry=True) == next_prompt(SLOTS, history, with_retries=True)


def test_never_asks_again_when_assessed() -> None:
    """An assessed run has no retries."""
    history = answered(WRONG, WRONG, WRONG, WRONG, WRONG, WRONG)

    assert next_prompt(SLOTS, history, with_retries=False) is None


def test_a_right_retry_settles_the_miss() -> None:
    """Once found in a retry, it is not asked a third time."""
    history = [*answered(RIGHT, RIGHT, RIGHT, RIGHT, RIGHT, WRONG), Served(5, RIGHT, is_retry=True)]

    assert next_prompt(SLOTS, history, with_retries=True) is None


def test_gives_up_after_two_retries() -> None:
    """A thing missed in two retries is left for the debrief."""
    history = [
        *answered(RIGHT, RIGHT, RIGHT, RIGHT, RIGHT, WRONG),
        Served(5, WRONG, is_retry=True),
        Served(5, WRONG, is_retry=True),
    ]

    assert next_prompt(SLOTS, history, with_retries=True) is None


def test_a_void_prompt_is_replaced_by_a_spare_of_its_kind() -> None:
    """The replacement of a void locate prompt is a locate spare, though another comes first."""
    history = [void(0), *[Served(position, RIGHT) for position in range(1, 6)]]

    assert Next(7, is_retry=False) == next_prompt(SLOTS, history, with_retries=True)


def test_a_void_prompt_takes_any_spare_when_its_kind_is_used_up() -> None:
    """Any spare is better than a short drill."""
    history = [void(0), void(1), *[Served(position, RIGHT) for position in range(2, 6)]]
    history.append(Served(7, RIGHT))

    assert Next(6, is_retry=False) == next_prompt(SLOTS, history, with_retries=True)


def test_a_void_spare_is_replaced_too() -> None:
    """Called away twice still leaves the whole number of prompts, while spares last."""
    history = [void(0), *[Served(position, RIGHT) for position in range(1, 6)], void(7)]

    assert Next(6, is_retry=False) == next_prompt(SLOTS, history, with_retries=True)


def test_a_void_retry_is_still_owed() -> None:
    """A retry that was called away is asked again and takes no spare."""
    history = [
        *answered(RIGHT, RIGHT, RIGHT, RIGHT, RIGHT, WRONG),
        Served(5, "", is_retry=True),
    ]

    assert Next(5, is_retry=True) == next_prompt(SLOTS, history, with_retries=True)


def test_a_reported_line_is_left_out_and_replaced() -> None:
    """A prompt whose line is reported meanwhile is not served; a spare takes its place."""
    slots = [Slot(0, LOCATE, is_spare=False, blocked=True), *PLAN[1:], *SPARES]
    history = [Served(position, RIGHT) for position in range(1, 6)]

    assert Next(1, is_retry=False) == next_prompt(slots, [], with_retries=True)
    assert Next(7, is_retry=False) == next_prompt(slots, history, with_retries=True)


def test_ends_when_all_is_answered() -> None:
    """A run is over when the plan is answered and nothing is owed."""
    history = answered(*[RIGHT] * 6)

    assert next_prompt(SLOTS, history, with_retries=True) is None
    assert prompts_left(len(PLAN), history) == 0


def test_counts_what_is_left_without_retries() -> None:
    """Retries and void prompts do not bring the end nearer."""
    history = [Served(0, WRONG), void(1), Served(0, RIGHT, is_retry=True)]

    assert prompts_left(len(PLAN), history) == 5


def test_a_reported_line_is_not_asked_again() -> None:
    """A miss whose line is reported meanwhile is owed no more."""
    slots = [Slot(0, LOCATE, is_spare=False, blocked=True), *PLAN[1:]]
    history = answered(WRONG, RIGHT, RIGHT, RIGHT, RIGHT, RIGHT)

    assert next_prompt(slots, history, with_retries=True) is None
