"""Colours of an aircraft, for touching up: names of the owner's own, each with its paint.

colours:
  upper: "light grey, two-pack"
  lower: {paint: "white, two-pack", code: "W 21"}
"""

from __future__ import annotations

from msgspec import Struct

from register.records.fields import Fields
from register.text.nodes import Mapping
from register.trouble import Place


class Paint(Struct, frozen=True):
    """A colour of the aircraft: its paint in words, and the code on the tin."""

    name: str
    paint: str
    code: str | None
    place: Place

    @property
    def text(self) -> str:
        """For touching up: paint and code."""
        return f"{self.paint} ({self.code})" if self.code else self.paint


def read_colours(fields: Fields) -> dict[str, Paint]:
    """The section `colours`: names of the owner's own, each with its paint."""
    inner = fields.mapping("colours")
    found: dict[str, Paint] = {}
    for entry in inner.node.entries if inner is not None else ():
        name = entry.key.lower()
        if inner is None or not isinstance(entry.value, Mapping):
            paint = inner.text(entry.key) if inner is not None else None
            if paint:
                found[name] = Paint(name, paint, None, entry.key_place)
            continue
        item = inner.mapping(entry.key)
        paint = item.text("paint", required='"light grey, two-pack"') if item else None
        if item is not None and paint:
            code = item.scalar("code")
            found[name] = Paint(name, paint, code.text if code else None, entry.key_place)
            item.odd_keys(())
    return found
