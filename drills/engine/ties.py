"""Tying an agency's items to the standard needs, by rule and never by guess."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from drills.engine.layout import item_key

BY_KEY, BY_NAME, BY_ALIAS = "by key", "by name", "by alias"


@dataclass(frozen=True, slots=True)
class NeedWords:
    """A need's stable key, its names in both spellings, and its other words."""

    key: str
    names: tuple[str, ...]
    aliases: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Ruled:
    """A need by its key, and the rule by which an item ties to it."""

    need: str = ""
    rule: str = ""


class NeedIndex:
    """Finds the one need that a word belongs to."""

    def __init__(self, needs: Iterable[NeedWords]) -> None:
        self._keys: set[str] = set()
        self._by_name: dict[str, set[str]] = defaultdict(set)
        self._by_word: dict[str, set[str]] = defaultdict(set)
        for need in needs:
            self._keys.add(need.key)
            for name in need.names:
                self._by_name[item_key(name)].add(need.key)
            for word in (*need.names, *need.aliases):
                self._by_word[item_key(word)].add(need.key)

    def tie(self, *, given: str, name: str, aliases: Iterable[str]) -> str:
        """The key of the need an item ties to, empty when no rule ties it."""
        return self.ruled(given=given, name=name, aliases=aliases).need

    def ruled(self, *, given: str, name: str, aliases: Iterable[str]) -> "Ruled":
        """The need an item ties to and the rule that ties it, both empty when none does.

        In this order: the need it names; the only need with its name in either spelling; the need
        to which all of its name and aliases lead, of those that only one need has.
        """
        if given in self._keys:
            return Ruled(given, BY_KEY)
        named = self._by_name.get(item_key(name), set())
        if len(named) == 1:
            return Ruled(next(iter(named)), BY_NAME)
        words = [self._by_word.get(item_key(word), set()) for word in (name, *aliases)]
        led_to = {next(iter(keys)) for keys in words if len(keys) == 1}
        return Ruled(led_to.pop(), BY_ALIAS) if len(led_to) == 1 else Ruled()
