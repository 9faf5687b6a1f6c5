"""What a recipe may ask of a layout, in study order, ready to be drawn from.

What rests on the layout alone is worked out once and kept with it.
"""

import re
from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass
from heapq import nlargest
from math import log2

from drills.engine.asking import contents_prompts, is_held, locate_prompts
from drills.engine.knobs import BESIDE, DEEP, setting
from drills.engine.lately import mark_of
from drills.engine.layout import Layout
from drills.engine.moving import Moves, moved_prompts
from drills.engine.prompts import Prompt, bag_asked, ways
from drills.engine.reaching import reach_prompts
from drills.engine.recipes import (
    CONTENTS,
    CRITICAL,
    LOCATE,
    MOVED,
    ONE_CABINET,
    REACH,
    WHAT_MOVED,
    RecipeSpec,
    only,
)
from drills.engine.study import place_of, study_place, study_walk


@dataclass(frozen=True, slots=True, eq=False)
class Ready:
    """A prompt with what a draw asks of it.

    `ways` are the facts of each way to answer it, as text. `deep` is how many places it lies in,
    `beside` how many there are where its own is and on its face, that one included. `mark` is that
    of `lately`.
    """

    prompt: Prompt
    subject: str
    ways: tuple[tuple[str, ...], ...]
    deep: int
    beside: int
    mark: str

    def asks_for(self, facts: Collection[str]) -> bool:
        """Whether any way to answer it takes one of some facts."""
        return bool(facts) and any(fact in facts for way in self.ways for fact in way)


Pool = dict[Ready, float]
# The things, by key, that each focus looks to.
LookedTo = Mapping[str, Collection[str]]
NONE_TOLD: LookedTo = {}
SMALL_SIZES = frozenset({"child", "infant", "newborn"})
_FOR_CHILDREN = "paediatric and obstetric"
_SMALL_WORDS = SMALL_SIZES | {"children", "neonate", "neonatal", "paediatric", "pediatric", "peds"}
_WORD = re.compile(r"[a-z]+")


def is_for_children(category: str, *, size: str = "", name: str = "") -> bool:
    """Whether a thing is for children or a birth: by its category, by the size of its need, or by a
    whole word of its name. Words are those of the trade in both spellings."""
    words = _WORD.findall(name.casefold())
    is_called = not _SMALL_WORDS.isdisjoint(words)
    return category == _FOR_CHILDREN or size in SMALL_SIZES or is_called


def pools_of(
    layout: Layout,
    spec: RecipeSpec,
    held: Collection[tuple[str, str]],
    moves: Moves | None,
    weigh: Callable[[Ready], float],
    looked_to: LookedTo,
) -> dict[str, Pool]:
    """Every prompt that the recipe may ask, by kind, in study order, with its weight."""
    pools = {
        kind: {each: weigh(each) for each in _pool(layout, spec, kind, held, moves, looked_to)}
        for kind, _ in spec.kinds
    }
    return _of_one_cabinet(layout, spec, pools) if ONE_CABINET in spec.focus else pools


def ready_to_locate(
    layout: Layout, spec: RecipeSpec, held: Collection[tuple[str, str]]
) -> list[Ready]:
    """One for each thing that the recipe looks at, but for those reported."""
    return [
        each
        for each in _kept(layout, spec, LOCATE)
        if not (held and is_held(layout, LOCATE, each.subject, held))
    ]


def weight_of(ready: Ready, weights: Mapping[str, float], *, was_had: bool = True) -> float:
    """What a prompt asks about that may not be known: of a thing its least known fact, of what is
    in a place all of it together.

    A thing with doubles may be known by one of its places alone: places that no answer was ever
    about count only while there is no other, or while the thing itself was never asked for.
    """
    if ready.prompt.kind == CONTENTS:
        return sum(weights.get(fact, 1.0) for fact in ready.ways[0])
    return _of_least_known(ready.ways, weights, was_had=was_had) if weights else 1.0


def _of_least_known(
    ways: tuple[tuple[str, ...], ...], weights: Mapping[str, float], *, was_had: bool
) -> float:
    met = [facts for facts in ways if weights.keys() >= set(facts)] if was_had else []
    return max(weights.get(fact, 1.0) for facts in met or ways for fact in facts)


def hardness(difficulty: int) -> Callable[[Ready], float] | None:
    """How often each prompt is asked at a difficulty, by where its answer lies: 1 is as it comes.

    None where everything is asked as often.
    """
    deep, beside = setting(DEEP, difficulty), setting(BESIDE, difficulty)
    if deep == beside == 1:
        return None

    def harder(ready: Ready) -> float:
        return float(deep ** (ready.deep - 1) * beside ** log2(ready.beside))

    return harder


def _pool(
    layout: Layout,
    spec: RecipeSpec,
    kind: str,
    held: Collection[tuple[str, str]],
    moves: Moves | None,
    looked_to: LookedTo,
) -> list[Ready]:
    found = list(_made(layout, spec, kind, held, moves))
    if named := spec.asks_only:
        return [each for each in found if name_of(each.prompt) in named]
    if spec.told_focuses or spec.focus == (CRITICAL,):
        found = _sifted(layout, spec, found, looked_to)
    if kind == CONTENTS:
        # To tick one thing in a list says little; it is asked only where no place holds two.
        found = [each for each in found if len(each.prompt.answer) > 1] or found
    return found


def name_of(prompt: Prompt) -> str:
    """How a focus names a prompt."""
    return only(prompt.kind, prompt.subject, prompt.category)


def _sifted(
    layout: Layout, spec: RecipeSpec, found: Iterable[Ready], looked_to: LookedTo
) -> list[Ready]:
    """What is about a thing that the recipe looks to, all else left out."""
    keys = {key for focus in spec.told_focuses for key in looked_to.get(focus, ())}
    takes_critical = CRITICAL in spec.focus
    return [
        each
        for each in found
        if (takes_critical and each.prompt.critical)
        or not keys.isdisjoint(_things_of(layout, each.prompt))
    ]


def _things_of(layout: Layout, prompt: Prompt) -> Collection[str]:
    """The things, by key, that a prompt is about; of a bag all that it holds."""
    if prompt.kind in (CONTENTS, REACH):
        return prompt.answer
    if bag := bag_asked(prompt.subject):
        return {
            line.key
            for line in layout.stock
            if any(each.code == bag for each in layout.chain(line.compartment))
        }
    return (prompt.subject,)


def _made(
    layout: Layout,
    spec: RecipeSpec,
    kind: str,
    held: Collection[tuple[str, str]],
    moves: Moves | None,
) -> Iterable[Ready]:
    """What moved; and where a recipe looks at that alone, what stayed beside where it was."""
    if kind == MOVED:
        return _readied(layout, spec, moved_prompts(layout, spec, held, moves) if moves else ())
    made = [
        each
        for each in _kept(layout, spec, kind)
        if not (held and is_held(layout, kind, each.subject, held))
    ]
    if moves is None or WHAT_MOVED not in spec.focus:
        return made
    return [each for each in made if moves.is_beside(layout, each.prompt)]


def _kept(layout: Layout, spec: RecipeSpec, kind: str) -> tuple[Ready, ...]:
    """All there is to ask where nothing is reported, kept with the layout."""
    key = (kind, spec.depth, spec.faces, spec.bags_only)
    found = layout.worked_out.get(key)
    if found is None:
        make = _MAKERS[kind]
        found = layout.worked_out[key] = tuple(_readied(layout, spec, make(layout, spec, ())))
    return found


_MAKERS = {LOCATE: locate_prompts, CONTENTS: contents_prompts, REACH: reach_prompts}


def _readied(layout: Layout, spec: RecipeSpec, prompts: Iterable[Prompt]) -> list[Ready]:
    in_order = sorted(prompts, key=lambda prompt: study_place(layout, spec, prompt))
    return [_readied_one(layout, spec, prompt) for prompt in in_order]


def _readied_one(layout: Layout, spec: RecipeSpec, prompt: Prompt) -> Ready:
    chain = layout.chain(place_of(layout, spec, prompt))
    found = ways(layout, prompt.kind, prompt.subject, prompt.answer)
    face = layout.face_of(chain[-1].code)
    return Ready(
        prompt=prompt,
        subject=prompt.subject,
        ways=tuple(tuple(map(str, facts)) for facts in found),
        deep=len(chain),
        beside=sum(layout.face_of(each.code) == face for each in layout.children[chain[-1].inside]),
        mark=mark_of(prompt),
    )


def _of_one_cabinet(layout: Layout, spec: RecipeSpec, pools: Mapping[str, Pool]) -> dict[str, Pool]:
    """Keep to the cabinet where the recipe finds the most to ask that may not be known."""
    heaviest: dict[str, float] = {}
    for kind, count in spec.kinds:
        found: dict[str, dict[str, float]] = {}
        for ready, weight in pools[kind].items():
            subjects = found.setdefault(_cabinet(layout, spec, ready), {})
            # However much lies in a place, it is one prompt.
            subjects[ready.subject] = max(min(weight, 1.0), subjects.get(ready.subject, 0.0))
        for code, subjects in found.items():
            asked = sum(nlargest(count, subjects.values()))
            heaviest[code] = heaviest.get(code, 0.0) + asked
    walk = [each.code for each in study_walk(layout) if each.code in heaviest]
    kept = max(walk, key=lambda code: heaviest[code], default="")
    return {
        kind: {
            ready: weight for ready, weight in pool.items() if _cabinet(layout, spec, ready) == kept
        }
        for kind, pool in pools.items()
    }


def _cabinet(layout: Layout, spec: RecipeSpec, ready: Ready) -> str:
    return layout.chain(place_of(layout, spec, ready.prompt))[0].code
