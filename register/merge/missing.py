"""The value of a key that a side does not have."""

from __future__ import annotations

from typing import TypeAlias

from msgspec import Struct

from register.text.nodes import Plain


class Missing(Struct, frozen=True):
    """The value of a key that a side does not have."""


MISSING = Missing()
Value: TypeAlias = "Plain | Missing"
