"""Needs: the standard kinds of thing that calls, lists and medicines speak in."""

from typing import ClassVar

from django.db import models

OWN_PREFIX = "own-"


class NeedManager(models.Manager["Need"]):
    def get_by_natural_key(self, key: str) -> "Need":
        return self.get(key=key)


class Need(models.Model):
    """A standard kind of thing with a stable key and its name in both spellings."""

    key = models.SlugField(max_length=60, unique=True)
    name_us = models.CharField(max_length=120)
    name_intl = models.CharField(max_length=120)
    aliases = models.JSONField(default=list, blank=True)
    category = models.CharField(max_length=40)
    size = models.CharField(max_length=40, blank=True)
    is_controlled = models.BooleanField(default=False)
    medicine = models.CharField(max_length=60, blank=True)
    note = models.CharField(max_length=300, blank=True)

    objects = NeedManager()

    class Meta:
        ordering: ClassVar = ["key"]

    def __str__(self) -> str:
        return self.name_us

    @property
    def is_own(self) -> bool:
        """Whether the agency made it; no key of the reference data begins so."""
        return self.key.startswith(OWN_PREFIX)

    @property
    def every_alias(self) -> tuple[str, ...]:
        """Its other words, those that a keeper gave it last."""
        further: FurtherAliases | None = getattr(self, "further", None)
        return (*self.aliases, *(further.words if further else ()))

    def natural_key(self) -> tuple[str]:
        return (self.key,)


class FurtherAliases(models.Model):
    """What a keeper calls a standard need besides; a later release of the need leaves it alone."""

    need = models.OneToOneField(Need, on_delete=models.CASCADE, related_name="further")
    words = models.JSONField(default=list)

    class Meta:
        ordering: ClassVar = ["need"]

    def __str__(self) -> str:
        return f"{self.need}: {'; '.join(self.words)}"
