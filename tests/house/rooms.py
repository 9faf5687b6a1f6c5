"""The rooms in their order, and what their tables and addresses may be."""

import ast
import inspect
from collections.abc import Iterator

from django.db import models
from django.urls import URLPattern, URLResolver, get_resolver

# From the bottom up, as the house is built; `formulary` joins with its first table.
ROOMS = ("people", "rigs", "formulary", "competency", "scenarios", "runs", "boards", "demo")
TABLELESS = {"boards", "demo"}


def misplaced_keys(model: type[models.Model]) -> list[str]:
    """Keys of a model that point to a room above its own.

    A generic key is one too: it may point anywhere, and no one can see where.
    """
    label = model._meta.app_label
    if label not in ROOMS:
        return []
    keys = [*model._meta.local_fields, *model._meta.local_many_to_many]
    targets = [(k.name, k.related_model._meta.app_label) for k in keys if k.related_model]
    generic = [(key.name, "anywhere") for key in model._meta.private_fields]
    return [
        f"{model._meta.label}.{name} -> {target}"
        for name, target in [*targets, *generic]
        if target == "anywhere" or target in ROOMS[ROOMS.index(label) + 1 :]
    ]


def addresses() -> list[tuple[str, URLPattern]]:
    """Every named address inside a room, as `room:name`."""
    return list(_addresses(get_resolver(), room=""))


def _addresses(resolver: URLResolver, room: str) -> Iterator[tuple[str, URLPattern]]:
    for each in resolver.url_patterns:
        if isinstance(each, URLResolver):
            yield from _addresses(each, each.namespace or room)
        elif room in ROOMS and each.name:
            yield f"{room}:{each.name}", each


def view_name(pattern: URLPattern) -> str:
    """Room and function of the view; the underscore that keeps a name off a keyword is dropped."""
    view = inspect.unwrap(pattern.callback)
    return f"{view.__module__.split('.')[1]}.{view.__name__.removesuffix('_')}"


def drawn_beside(pattern: URLPattern) -> set[str]:
    """The templates that the module of a view names."""
    module = inspect.getmodule(inspect.unwrap(pattern.callback))
    assert module is not None
    nodes = ast.walk(ast.parse(inspect.getsource(module)))
    return {str(node.value).partition("#")[0] for node in nodes if isinstance(node, ast.Constant)}
