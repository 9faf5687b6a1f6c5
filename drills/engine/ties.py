"""Tying an agency's items to the standard needs, by rule and never by guess."""

import re
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from drills.engine.packing import read_packing

# Words and numbers; commas, brackets and strokes between them say nothing of what a thing is.
TOKEN = re.compile(r"[^\W_]+(?:[.:]\d+)?")

BY_KEY, BY_NAME, BY_ALIAS = "by key", "by name", "by alias"


@dataclass(frozen=True, slots=True)
class NeedWords:
    """A need's stable key, its names in both spellings, and its other words.

    `packed` is how a medicine is packed, such as `10 mg / 2 mL`; empty for anything else.
    `medicine` is the key of the medicine it is, whatever its strength.
    """

    key: str
    names: tuple[str, ...]
    aliases: tuple[str, ...]
    packed: str = ""
    medicine: str = ""

    def is_packed_as(self, presentation: str) -> bool:
        """Whether an item of that presentation may be it: another strength is another medicine."""
        if not self.packed:
            return True
        if presentation == self.packed or presentation.startswith(f"{self.packed} "):
            return True
        mine, theirs = read_packing(self.packed), read_packing(presentation)
        is_drawn_up = mine is not None and mine.volume_ml is not None
        return is_drawn_up and mine == theirs  # 1 g / 10 mL is 1000 mg / 10 mL


@dataclass(frozen=True, slots=True)
class Ruled:
    """A need by its key, and the rule by which an item ties to it."""

    need: str = ""
    rule: str = ""


class NeedIndex:
    """Finds the one need that a word belongs to."""

    def __init__(self, needs: Iterable[NeedWords]) -> None:
        self._needs: dict[str, NeedWords] = {}
        self._by_name: dict[str, set[str]] = defaultdict(set)
        self._by_word: dict[str, set[str]] = defaultdict(set)
        for need in needs:
            self._needs[need.key] = need
            for name in need.names:
                self._by_name[plain(name)].add(need.key)
            for word in (*need.names, *need.aliases):
                self._by_word[plain(word)].add(need.key)

    def tie(self, *, given: str, name: str, aliases: Iterable[str], presentation: str = "") -> str:
        """The key of the need an item ties to, empty when no rule ties it."""
        return self.ruled(given=given, name=name, aliases=aliases, presentation=presentation).need

    def ruled(
        self, *, given: str, name: str, aliases: Iterable[str], presentation: str = ""
    ) -> "Ruled":
        """The need an item ties to and the rule that ties it, both empty when none does.

        In this order: the need it names; the only need with its name in either spelling; the need
        to which all of its name and aliases lead, of those that only one need has. No word ties
        a medicine that is packed otherwise: a shared word says nothing of the strength.
        """
        if given in self._needs:
            return Ruled(given, BY_KEY)
        found = self._worded(name, aliases)
        need = self._needs.get(found.need)
        return found if need is None or need.is_packed_as(presentation) else Ruled()

    def called(self, words: str) -> str:
        """The key of the need that a person means by its key, its name or a word of its own."""
        return words if words in self._needs else self._worded(words, ()).need

    def _worded(self, name: str, aliases: Iterable[str]) -> Ruled:
        named = self._by_name.get(plain(name), set())
        if len(named) == 1:
            return Ruled(next(iter(named)), BY_NAME)
        words = [self._by_word.get(plain(word), set()) for word in (name, *aliases)]
        led_to = {next(iter(keys)) for keys in words if len(keys) == 1}
        return Ruled(led_to.pop(), BY_ALIAS) if len(led_to) == 1 else Ruled()


def plain(text: str) -> str:
    """The words and numbers of a name, without differences of case, spacing and signs."""
    return " ".join(TOKEN.findall(text.casefold()))
