"""What a recipe asks for, in the engine's terms, and the plain refusals."""

from dataclasses import dataclass, replace

from drills.engine.knobs import GRADE, setting
from drills.engine.scoring import DEPTHS, POCKET

LOCATE, CONTENTS, STAGE, DOSE, MOVED = "locate", "contents", "stage", "dose", "moved"
SUPPLY, TRIAGE, ALLOCATE, ARRIVE = "supply", "triage", "allocate", "arrive"
REACH = "reach"
# Of a recipe: patients judged by the field criteria of 2021, whose prompts are of kind triage.
FIELD = "field"
KINDS = (
    "locate",
    "contents",
    REACH,
    ARRIVE,
    "stage",
    TRIAGE,
    FIELD,
    "dose",
    "supply",
    ALLOCATE,
    "moved",
)
BUILT_KINDS = (LOCATE, CONTENTS, REACH, ARRIVE, STAGE, TRIAGE, FIELD, DOSE, SUPPLY, ALLOCATE, MOVED)
CALL_KINDS = (ARRIVE, STAGE, TRIAGE, DOSE, SUPPLY, ALLOCATE)
# What asks for no place, has no limit and tells of a skill.
PLACELESS_KINDS = (*CALL_KINDS, REACH)
# Of which a call may ask as many as there are.
OPEN_KINDS = (MOVED, ARRIVE, TRIAGE, ALLOCATE)
# What is answered with a number and its unit.
NUMBER_KINDS = (DOSE, SUPPLY)
PLACE_KINDS = (LOCATE, MOVED)
ANY_CALL = "any"
MIXED, AS_A_CALL_RUNS, RISING = "mixed", "as a call runs", "rising"
BY_COMPARTMENT = "by compartment"

WHAT_I_MISS, CRITICAL, ONE_CABINET = "what I miss", "what is critical", "one cabinet"
WHAT_MOVED, PAEDIATRIC, CONTROLLED = "what moved", "paediatric", "controlled drugs"
BUILT_FOCUSES = (WHAT_I_MISS, CRITICAL, ONE_CABINET, WHAT_MOVED, PAEDIATRIC, CONTROLLED)
# Before the one prompt that a focus names; with it a recipe asks what is named, and nothing else.
ONLY = "only:"
# Of these it takes more than a layout to know which things they are.
TOLD_FOCUSES = (PAEDIATRIC, CONTROLLED)


class CannotApplyError(ValueError):
    """A recipe that makes no drill here; the text is one line saying why."""


@dataclass(frozen=True, slots=True)
class RecipeSpec:
    """Kinds with their counts, how deep to ask, in which order, and the share of probes.

    A count of 0 is as many as there are to ask, for what moved, for arriving, for patients to sort
    and for what is scarce, and none of any other kind. Of a call that is sorted everybody is; the
    count is how many patients it has at least.
    `order` is `mixed`, `as a call runs`, or any other words: then prompts follow the study order of
    the layout and the seed changes nothing. `faces` limits the drill to some faces, empty means
    all; `bags_only` limits it to what lies in bags; `call_types` empty means any. Without
    `rule_shown` a dose is worked out from memory. `difficulty` is 1 to 5.
    """

    slug: str
    kinds: tuple[tuple[str, int], ...]
    depth: str = POCKET
    order: str = MIXED
    focus: tuple[str, ...] = ()
    faces: tuple[str, ...] = ()
    bags_only: bool = False
    probes_share: float = 0.0
    rule_shown: bool = True
    call_types: tuple[str, ...] = ()
    patients_least: int | None = None
    patients_most: int | None = None
    difficulty: int = 2

    @property
    def comes_from_calls(self) -> bool:
        """Whether some of its prompts need a call to be made."""
        return any(kind in CALL_KINDS for kind, _ in self.kinds)

    @property
    def of_places(self) -> "RecipeSpec":
        """The same without what is drawn from no rig."""
        return replace(self, kinds=tuple(each for each in self.kinds if each[0] != FIELD))

    @property
    def grade(self) -> int:
        """How hard what is worked out is: one step, several, several with a trap."""
        return int(setting(GRADE, self.difficulty))

    @property
    def asks_something(self) -> bool:
        return any(count or kind in OPEN_KINDS for kind, count in self.kinds)

    @property
    def asks_what_moved(self) -> bool:
        """Whether it takes the revision that was known before to make it."""
        return WHAT_MOVED in self.focus or any(kind == MOVED for kind, _ in self.kinds)

    @property
    def told_focuses(self) -> tuple[str, ...]:
        """What it looks to, that it takes more than a layout to know."""
        return tuple(each for each in self.focus if each in TOLD_FOCUSES)

    @property
    def asks_only(self) -> frozenset[str]:
        """The prompts that it asks and no others, as `only` writes them; empty of any."""
        return frozenset(each for each in self.focus if each.startswith(ONLY))

    @property
    def draws_at_random(self) -> bool:
        """Whether things are drawn by weight, and not taken in the order of the rig."""
        return self.order in (MIXED, AS_A_CALL_RUNS, RISING)

    @property
    def is_mixed(self) -> bool:
        return self.order == MIXED


def read_kinds(text: str) -> tuple[tuple[str, int], ...]:
    """Read `locate:8;contents:1`. `auto` counts as 0: as many as the call or the change has."""
    found = []
    for part in filter(None, (each.strip() for each in text.split(";"))):
        kind, _, count = part.partition(":")
        if kind not in KINDS:
            raise CannotApplyError(
                f"{kind!r} is not a kind of prompt; there are {', '.join(KINDS)}."
            )
        if not (count == "auto" or count.isdecimal()):
            raise CannotApplyError(f"{part!r} needs a count, such as {kind}:8 or {kind}:auto.")
        found.append((kind, 0 if count == "auto" else int(count)))
    return tuple(found)


def only(kind: str, subject: str, category: str) -> str:
    """One prompt as a focus names it: for a thing its key, for a place its code, and a category."""
    return f"{ONLY}{kind}:{subject}:{category}"


def _plainly(names: list[str]) -> str:
    return " and ".join(names)


def refuse_unbuilt(spec: RecipeSpec) -> None:
    """Raise `CannotApplyError` naming the kinds, focus or depth that cannot be drilled yet."""
    kinds = [kind for kind, _ in spec.kinds if kind not in BUILT_KINDS]
    named = {*BUILT_FOCUSES, *spec.asks_only}
    focus = [words for words in spec.focus if words not in named]
    if kinds:
        raise CannotApplyError(
            f"{spec.slug}: it asks {_plainly(kinds)}, and that cannot be asked yet."
        )
    if focus:
        raise CannotApplyError(
            f"{spec.slug}: it asks first for {_plainly(focus)}, and that cannot be picked out yet."
        )
    if spec.depth not in DEPTHS:
        raise CannotApplyError(
            f"{spec.slug}: depth {spec.depth!r} is not one of {', '.join(DEPTHS)}."
        )
    if not spec.asks_something:
        raise CannotApplyError(f"{spec.slug}: asks for no prompts.")
