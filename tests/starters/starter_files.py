"""The starter programmes as plain values, for the tests beside this module."""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest
from ruamel.yaml import YAML

from register.starters.catalogue import read_starter, starter_names

Task = dict[str, Any]

every_starter = pytest.mark.parametrize("name", starter_names())


@cache
def load(name: str) -> dict[str, Any]:
    """The whole file as plain values; read once, never changed by a test."""
    loaded: dict[str, Any] = YAML(typ="safe", pure=True).load(read_starter(name))
    return loaded


def tasks_of(name: str) -> dict[str, Task]:
    """Tasks by id, in file order; a doubled id would be lost here and is tested apart."""
    return {task["id"]: task for task in load(name)["tasks"]}


def as_list(value: Any) -> list[Task]:
    """One mapping or several, always several."""
    if value is None:
        return []
    return value if isinstance(value, list) else [value]
