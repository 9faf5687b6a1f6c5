"""People as the model would hand them over, for tests of what is said of them."""

from collections.abc import Sequence

import numpy as np
from scipy.special import logit

from drills.engine.facts import BAG, ITEM, Fact
from drills.engine.readying import Known, Must


def item(name: str, place: str = "A1") -> Fact:
    return Fact(ITEM, name, place)


def bag(name: str, place: str = "C1") -> Fact:
    return Fact(BAG, name, place)


def known(
    chances: dict[Fact, float],
    *,
    shared: float = 0.0,
    doubt: float = 0.0,
    floor: float = 0.0,
    seconds: float = 5.0,
    spread: float = 0.4,
    firsts: int = 4,
    hands_on: int = 1,
) -> Known:
    """Somebody who knows each fact with a chance, in the middle of what is thought; all else is
    alike for all facts. `doubt` is the deviation of each fact's own."""
    size = len(chances)
    return Known(
        facts=tuple(chances),
        logit=logit(np.array(list(chances.values()))),
        variance=np.full(size, doubt**2),
        shared=np.full(size, shared),
        floor=np.full(size, floor),
        log_seconds=np.full(size, np.log(seconds)),
        log_spread=np.full(size, spread),
        firsts=np.full(size, firsts),
        hands_on=np.full(size, hands_on),
    )


def alone(chances: Sequence[float], **settings: float) -> tuple[Known, list[Must]]:
    """Somebody and a call for as many things in no bag, each known with its chance."""
    facts = {item(f"thing {number}"): chance for number, chance in enumerate(chances)}
    return known(facts, **settings), [Must(fact.thing, ((fact,),)) for fact in facts]  # type: ignore[arg-type]  # counts are whole where they are given
