"""How the events of a change of owner are read from their fields."""

from __future__ import annotations

from register.records.fields import Fields
from register.records.opening import read_spans
from register.records.owner_bodies import WAYS, ChangeOfOwner, UsageElsewhere


def read_change(fields: Fields) -> ChangeOfOwner:
    """An aircraft that went to another owner, or came from one."""
    return ChangeOfOwner(
        fields.ref("aircraft", required=True),
        fields.choice("way", WAYS, "out") or "out",
        fields.text("text") or "",
        fields.refs("parts"),
    )


def read_usage(fields: Fields) -> UsageElsewhere:
    """What a part gained where this register does not look."""
    if not fields.has("counters"):
        fields.missing("counters", "{flights: {value: 12}}")
    return UsageElsewhere(
        fields.ref("part", required=True),
        fields.day("since"),
        fields.day("until"),
        tuple(read_spans(fields, "counters").items()),
        frozenset((fields.text("stands_for") or "").split()),
    )
