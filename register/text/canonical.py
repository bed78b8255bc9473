"""The fast reader of the canonical form."""

from __future__ import annotations

from register.text.nodes import Mapping


def read_canonical(file: str, text: str) -> Mapping | None:
    """Decline everything."""
    return None
