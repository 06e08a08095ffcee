"""Every address of the desk, found in its table of addresses, and filled with the identities of records."""

from __future__ import annotations

import itertools
import uuid
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from django.apps import apps
from django.db import models
from django.urls import URLPattern, URLResolver, get_resolver
from django.urls.converters import IntConverter, UUIDConverter

TOKEN = "a-token-that-nobody-made-000000"


@dataclass(frozen=True)
class Address:
    """One entry of the table: name, view, and the kinds of what its path takes."""

    name: str
    view: Callable[..., Any]
    route: str
    takes: tuple[tuple[str, str], ...]

    @property
    def is_open(self) -> bool:
        """True for a view that needs nobody known."""
        return bool(getattr(self.view, "is_open_to_all", False))

    def paths(self, identities: list[uuid.UUID], numbers: list[int]) -> list[str]:
        """The path for every combination of records that it could be about."""
        kinds = {"uuid": [str(one) for one in identities], "int": [str(one) for one in numbers]}
        choices = [kinds.get(kind, [TOKEN]) for _, kind in self.takes]
        made = []
        for values in itertools.product(*choices):
            path = "/" + self.route
            for (name, kind), value in zip(self.takes, values, strict=True):
                path = path.replace(f"<{kind}:{name}>", value).replace(f"<{name}>", value)
            made.append(path)
        return made


def addresses() -> list[Address]:
    """Every address of the desk."""
    return list(_walk(get_resolver().url_patterns, ""))


def _walk(patterns: list[Any], before: str) -> Iterator[Address]:
    for found in patterns:
        route = before + str(found.pattern)
        if isinstance(found, URLResolver):
            yield from _walk(found.url_patterns, route)
        elif isinstance(found, URLPattern):
            takes = tuple((name, _kind(one)) for name, one in found.pattern.converters.items())
            yield Address(found.name or route, found.callback, route, takes)


def _kind(converter: object) -> str:
    if isinstance(converter, UUIDConverter):
        return "uuid"
    return "int" if isinstance(converter, IntConverter) else "str"


def kept_records(*, but: tuple[str, ...] = ("session",)) -> dict[str, list[dict[str, Any]]]:
    """All that the desk's tables hold, by table."""
    found = {}
    for model in apps.get_models():
        if model._meta.model_name not in but:
            found[model._meta.label] = [_plain(row) for row in model._default_manager.order_by("pk").values()]
    return found


def _plain(row: dict[str, Any]) -> dict[str, Any]:
    # PostgreSQL gives bytes as a view that equals nothing but itself.
    return {name: bytes(value) if isinstance(value, memoryview) else value for name, value in row.items()}


def identities() -> tuple[list[uuid.UUID], list[int]]:
    """The identity of every record that is kept: those that are UUIDs, and those that are numbers."""
    keys = [key for model in apps.get_models() for key in _keys(model)]
    return [key for key in keys if isinstance(key, uuid.UUID)], sorted(
        {key for key in keys if isinstance(key, int)}
    )


def _keys(model: type[models.Model]) -> list[Any]:
    return list(model._default_manager.order_by("pk").values_list("pk", flat=True))
