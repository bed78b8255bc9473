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

    `fleet` names the fleet's part of a mailbox; `worked` is when it last worked (ISO 8601);
    `seen` the number of the last letter read from each machine; `sent` the last commit sent.
    """

    name: str
    kind: str
    where: str
    protocol: str = "file"
    fleet: str = ""
    worked: str | None = None
    seen: dict[str, int] = {}
    sent: str | None = None


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
    seen = row.get("seen")
    numbers = {
        str(key): value
        for key, value in (seen.items() if isinstance(seen, dict) else ())
        if isinstance(value, int)
    }
    texts = [row.get(key) for key in ("worked", "sent")]
    worked, sent = (text if isinstance(text, str) else None for text in texts)
    protocol, fleet = (str(row.get(key) or "") for key in ("protocol", "fleet"))
    return Carrier(name, kind, where, protocol or "file", fleet, worked, numbers, sent)


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
