"""Needs that an agency adds, and what else it calls the standard ones."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils.text import slugify

from drills.people.audit import record
from drills.people.models import Person
from drills.rigs.models import OWN_PREFIX, FurtherAliases, Need
from drills.rigs.retying import Retie, retie_drafts

KEY_LENGTH = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class NeedSaid:
    """All that an agency says of a need of its own."""

    name_us: str
    name_intl: str
    aliases: tuple[str, ...]
    category: str
    size: str
    is_controlled: bool
    note: str


@transaction.atomic
def add_need(said: NeedSaid, *, by: Person, now: datetime) -> tuple[Need, list[Retie]]:
    """A need of the agency's own under a key that never changes; what it ties on drafts."""
    need = Need(key=_free_key(said.name_us))
    need.full_clean(exclude=("name_us", "name_intl", "category"))
    return need, _keep(need, said, action="add need", before=None, by=by, now=now)


@transaction.atomic
def change_need(need: Need, said: NeedSaid, *, by: Person, now: datetime) -> list[Retie]:
    """Say otherwise what a need of the agency's own is; what that ties otherwise on drafts."""
    need = Need.objects.select_for_update().get(pk=need.pk)
    if not need.is_own:
        raise ValueError(f"{need.key} is a standard need. It takes further aliases alone.")
    return _keep(need, said, action="change need", before=_state(need), by=by, now=now)


@transaction.atomic
def give_aliases(need: Need, words: tuple[str, ...], *, by: Person, now: datetime) -> list[Retie]:
    """What else a standard need is called here, instead of what was said before."""
    Need.objects.select_for_update().get(pk=need.pk)
    kept = FurtherAliases.objects.filter(need=need).first()
    before = {"aliases": kept.words if kept else []}
    if words:
        FurtherAliases.objects.update_or_create(need=need, defaults={"words": list(words)})
    elif kept:
        kept.delete()
    found = retie_drafts()
    after = {"aliases": list(words), "items tied otherwise": _names(found)}
    record("give need aliases", need.key, by=by, now=now, before=before, after=after)
    return found


def _keep(
    need: Need,
    said: NeedSaid,
    *,
    action: str,
    before: dict[str, Any] | None,
    by: Person,
    now: datetime,
) -> list[Retie]:
    put_into(need, said).save()
    found = retie_drafts()
    after = _state(need) | {"items tied otherwise": _names(found)}
    record(action, need.key, by=by, now=now, before=before, after=after)
    return found


def put_into(need: Need, said: NeedSaid) -> Need:
    """The need as it is said, not stored yet."""
    need.name_us, need.name_intl = said.name_us, said.name_intl
    need.aliases, need.category, need.size = list(said.aliases), said.category, said.size
    need.is_controlled, need.note = said.is_controlled, said.note
    return need


def _state(need: Need) -> dict[str, Any]:
    names = ("name_us", "name_intl", "aliases", "category", "size", "is_controlled", "note")
    return {name: getattr(need, name) for name in names}


def _names(found: list[Retie]) -> list[str]:
    return sorted({each.terms.name for each in found})


def _free_key(name: str) -> str:
    """A key of the name, with a number behind it where there is one like it."""
    stem = f"{OWN_PREFIX}{slugify(name) or 'need'}"[: KEY_LENGTH - 4].rstrip("-")
    taken = set(Need.objects.filter(key__startswith=stem).values_list("key", flat=True))
    free = (f"{stem}-{number}" for number in range(2, len(taken) + 3))
    return stem if stem not in taken else next(key for key in free if key not in taken)
