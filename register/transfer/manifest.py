"""The manifest: what is in a handover file, by content, and what was left out of it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date
from hashlib import sha256
from typing import Any

from msgspec import Struct

from register.ledger.ledger import Ledger
from register.storage.parcel import refuse_file
from register.transfer.scope import Scope
from register.trouble import Exit, RegisterError

FORMAT = 1


class LeftOut(Struct, frozen=True):
    """What stayed behind, by number and kind; nothing here says what it was.

    `records` were left out by wish; `revisions` could not be read; `words` were masked;
    `files` are kept files that are no pictures; `keys` those of hand-made files.
    """

    parts: tuple[str, ...]
    records: int
    revisions: int
    words: int
    files: int
    keys: int


def make_manifest(
    scope: Scope,
    ledger: Ledger,
    files: Mapping[str, bytes],
    left: LeftOut,
    bundle: bytes,
    tip: str,
    revisions: int,
    program: str,
    day: date,
) -> bytes:
    """The manifest's bytes: the same content gives the same bytes."""
    file = ledger.records.aircraft[scope.aircraft]
    data = {
        "format": FORMAT,
        "program": program,
        "day": day.isoformat(),
        "aircraft": {"name": scope.aircraft, "id": file.id, "title": file.title},
        "parts": list(scope.parts),
        "tip": tip,
        "bundle_sha256": sha256(bundle).hexdigest(),
        "revisions": revisions,
        "left_out": {
            "parts": list(left.parts),
            "records": left.records,
            "revisions": left.revisions,
            "words": left.words,
            "files": left.files,
            "keys": left.keys,
        },
        "records": {
            event.id: sha256(files[event.path]).hexdigest()
            for event in sorted(ledger.records.events, key=lambda event: event.id)
        },
        "files": {path: sha256(content).hexdigest() for path, content in sorted(files.items())},
    }
    return json.dumps(data, indent=1, ensure_ascii=True).encode("ascii") + b"\n"


class Manifest(Struct, frozen=True):
    """A manifest as it was read: nothing in it is believed before it is compared."""

    day: date
    tip: str
    bundle_sum: str
    files: dict[str, str]
    left: LeftOut


def read_manifest(data: bytes) -> Manifest:
    """Raises RegisterError: REFUSED for another form, CANNOT_RUN for a newer one."""
    try:
        found = json.loads(data)
    except (ValueError, RecursionError) as error:
        raise refuse_file("its manifest cannot be read") from error
    if not isinstance(found, dict) or not _is_count(found.get("format")):
        raise refuse_file("its manifest is not one of this program's")
    if found["format"] > FORMAT:
        raise RegisterError(
            "this file was made by a newer program; nothing was written",
            mend="bring tailsheaf up to date, then receive it",
            exit_code=Exit.CANNOT_RUN,
            code="format-newer",
        )
    try:
        day = date.fromisoformat(str(found.get("day")))
    except ValueError as error:
        raise refuse_file("its manifest gives no day") from error
    files = found.get("files")
    if not isinstance(files, dict):
        raise refuse_file("its manifest lists no files")
    return Manifest(
        day,
        str(found.get("tip", "")),
        str(found.get("bundle_sha256", "")),
        {str(path): str(total) for path, total in files.items()},
        _read_left(found.get("left_out")),
    )


def _is_count(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and value >= 0


def _read_left(found: Any) -> LeftOut:  # noqa: ANN401 - whatever stands in the file
    left = found if isinstance(found, dict) else {}
    counts = [
        left[key] if _is_count(left.get(key)) else 0
        for key in ("records", "revisions", "words", "files", "keys")
    ]
    parts = left.get("parts")
    return LeftOut(tuple(str(name) for name in parts) if isinstance(parts, list) else (), *counts)
