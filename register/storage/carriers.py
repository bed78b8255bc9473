"""The carriers of this machine: by which ways the fleet goes to other machines.

They are this machine's own (a path is true on one machine only) and lie in git's folder, where
nothing of them is committed or carried.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from register.storage import keeping

_FILE = "carriers.json"


class Carrier(Struct, frozen=True):
    """One way to other machines. `kind` is remote (a repository) or mailbox (a folder).

    `fleet` is the fleet's mark; `worked` is when the carrier last worked (ISO 8601); `waiting`
    gives, for each letter that is not wholly there, the day on which that was first noticed.
    """

    name: str
    kind: str
    where: str
    protocol: str = "file"
    fleet: str = ""
    worked: str | None = None
    waiting: dict[str, str] = {}


def read_carriers(root: Path) -> dict[str, Carrier]:
    """The carriers by name. A list that cannot be read is an empty one: they are added again."""
    data = keeping.read_kept(root, _FILE) if keeping.has_own_git(root) else None
    try:
        rows = json.loads(data) if data is not None else []
        return {carrier.name: carrier for row in rows if (carrier := _build(row)) is not None}
    except (ValueError, TypeError, RecursionError):
        return {}


def _build(row: Any) -> Carrier | None:  # noqa: ANN401 - whatever a hand put into the file
    if not isinstance(row, dict):
        return None
    texts = [row.get(key) for key in ("name", "kind", "where")]
    if not all(isinstance(text, str) and text for text in texts):
        return None
    name, kind, where = (str(text) for text in texts)
    waiting = row.get("waiting")
    days = {
        str(key): value
        for key, value in (waiting.items() if isinstance(waiting, dict) else ())
        if isinstance(value, str)
    }
    worked, protocol, fleet = (row.get(key) for key in ("worked", "protocol", "fleet"))
    return Carrier(
        name,
        kind,
        where,
        protocol if isinstance(protocol, str) and protocol else "file",
        fleet if isinstance(fleet, str) else "",
        worked if isinstance(worked, str) else None,
        days,
    )


def write_carriers(root: Path, carriers: dict[str, Carrier]) -> None:
    """Keep the list, whole and flushed."""
    rows = [
        {key: getattr(carrier, key) for key in Carrier.__struct_fields__}
        for carrier in carriers.values()
    ]
    keeping.write_kept(root, _FILE, json.dumps(rows, indent=1, ensure_ascii=True).encode("ascii"))


def note_worked(carrier: Carrier, when: str) -> Carrier:
    """The carrier, with the moment it last worked."""
    return replace(carrier, worked=when)
