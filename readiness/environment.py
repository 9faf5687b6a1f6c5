"""Reads the environment, in one place, and fails loudly."""

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from django.core.exceptions import ImproperlyConfigured

DEVELOPMENT_KEY = "development-only-key-never-for-a-real-service-0123456789"
SHORTEST_KEY = 50


@dataclass(frozen=True, slots=True)
class Environment:
    """What the surroundings decide. `hosts` are the names the site answers to."""

    debug: bool
    secret_key: str
    database_url: str
    hosts: tuple[str, ...]
    demo: bool


def read_environment(values: Mapping[str, str], *, base: Path) -> Environment:
    """Turn the variables into settings; a variable that makes no sense stops the start."""
    debug = _switch(values, "DJANGO_DEBUG")
    key = values.get("SECRET_KEY", "")
    if debug:
        key = key or DEVELOPMENT_KEY
    elif len(key) < SHORTEST_KEY or key == DEVELOPMENT_KEY:
        raise ImproperlyConfigured(
            f"SECRET_KEY has {len(key)} characters; a service needs its own key of at least "
            f"{SHORTEST_KEY}, or DJANGO_DEBUG=1 for development."
        )
    hosts = tuple(name.strip() for name in values.get("HOST", "").split(",") if name.strip())
    if not hosts and not debug:
        raise ImproperlyConfigured("HOST is empty; give the name the service is reached by.")
    return Environment(
        debug=debug,
        secret_key=key,
        database_url=values.get("DATABASE_URL", "") or f"sqlite:///{base / 'readiness.sqlite3'}",
        hosts=(*hosts, "localhost", "127.0.0.1") if debug else hosts,
        demo=_switch(values, "READINESS_DEMO"),
    )


def from_process(base: Path) -> Environment:
    return read_environment(os.environ, base=base)


def _switch(values: Mapping[str, str], name: str) -> bool:
    given = values.get(name, "0") or "0"
    if given not in {"0", "1"}:
        raise ImproperlyConfigured(f"{name} is {given!r}; it takes 0 or 1.")
    return given == "1"
