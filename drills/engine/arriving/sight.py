"""What a crew finds at a scene: its hazards, whom it asks for, how many are hurt and how badly.

The place and the words of the call are narrower than its kind: where they name hazards, those are
there, and what else the kind of call brings may be. Ours, no source; each row says so.
"""

from dataclasses import dataclass
from itertools import chain

from drills.engine.arriving.tables import HAZARDS, RESOURCES, SAID, Said, keys_in
from drills.engine.calls import Call, CallType


@dataclass(frozen=True, slots=True)
class Scene:
    """Hazards and crews by key: those that are there or must be asked for, and those that may be.

    `severities` are those of the patients. A rig that `transports` takes patients along. From
    `threshold` patients on the service sorts.
    """

    here: tuple[str, ...]
    possible: tuple[str, ...]
    asks_for: tuple[str, ...]
    may_ask_for: tuple[str, ...]
    hazards_told: str
    severities: tuple[int, ...]
    transports: bool
    threshold: int

    @property
    def patients(self) -> int:
        return len(self.severities)

    @property
    def is_many(self) -> bool:
        return self.patients >= self.threshold


def scene_of(call_type: CallType, call: Call, *, transports: bool, threshold: int) -> Scene:
    """The scene of a call, on a rig that takes patients along or does not."""
    said = said_in(call.dispatch)
    here = _here(call_type, said)
    listed = (*call_type.hazards_here, *call_type.hazards_possible)
    asks_for = _asked_for(call_type, said, _seen(call, threshold), here)
    either = {*call_type.asks_for, *call_type.may_ask_for}
    return Scene(
        here=here,
        possible=tuple(key for key in HAZARDS if key in listed and key not in here),
        asks_for=asks_for,
        may_ask_for=tuple(key for key in RESOURCES if key in either and key not in asks_for),
        hazards_told=_told(call_type, here, said),
        severities=tuple(each.severity for each in call.patients),
        transports=transports,
        threshold=threshold,
    )


def said_in(dispatch: str) -> tuple[Said, ...]:
    """The rows whose words the caller says."""
    heard = dispatch.casefold()
    return tuple(row for row in SAID if row.words.casefold() in heard)


def _here(call_type: CallType, said: tuple[Said, ...]) -> tuple[str, ...]:
    """What the words name and what every such call has; of no such words, what its kind has."""
    if not said or not call_type.hazards_here:
        return call_type.hazards_here
    named = chain.from_iterable(row.named for row in said)
    absent = chain.from_iterable(row.not_there for row in said)
    stays = (key for key in call_type.hazards_here if HAZARDS[key].stays)
    there = {*named, *stays} - {*absent}
    return tuple(key for key in HAZARDS if key in there)


def _seen(call: Call, threshold: int) -> tuple[Said, ...]:
    """The rows whose words are seen of a patient; of many nobody is looked at yet."""
    few = call.patients if len(call.patients) < threshold else ()
    return tuple(chain.from_iterable(said_in(each.findings) for each in few))


def _asked_for(
    call_type: CallType, said: tuple[Said, ...], seen: tuple[Said, ...], here: tuple[str, ...]
) -> tuple[str, ...]:
    """Whom the kind of call asks for with something to do there, and whom the words ask for; not
    who is on the way already."""
    named = chain.from_iterable(keys_in(row.asks) for row in (*said, *seen))
    spared = {*chain.from_iterable(keys_in(row.spares) for row in said)}
    usual = (key for key in call_type.asks_for if not said or _is_for(key, here))
    asked = {*named, *usual} - spared
    return tuple(key for key in RESOURCES if key in asked)


def _is_for(resource: str, here: tuple[str, ...]) -> bool:
    """Whether a crew has something to do there: it is against one of the hazards, or against none
    in particular."""
    against = keys_in(RESOURCES[resource].against)
    return not against or bool({*against} & {*here})


def _told(call_type: CallType, here: tuple[str, ...], said: tuple[Said, ...]) -> str:
    if said and here:
        return f"At this scene: {hazards_in_words(here)}."
    words = "; ".join(call_type.hazards)
    return f"Of this kind of call: {words}." if words else ""


def hazards_in_words(keys: tuple[str, ...]) -> str:
    """Hazards as one line: `traffic past the scene; leaking fuel`."""
    words = [HAZARDS[key].words for key in keys]
    return "; ".join(each[:1].lower() + each[1:] for each in words)
