"""Files of a handover where they lie in this fleet, and what fleet.yaml must say for them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from register.records.gathering import Records
from register.records.standing_files import Soon
from register.records.values import format_amount
from register.text.document import open_document, read_plain
from register.text.editing import edit_set
from register.text.nodes import Plain
from register.transfer.arrival import Naming, place_file

FLEET = "fleet.yaml"


def mark_of(node: Any) -> str:  # noqa: ANN401 - a mapping node or nothing
    """The registration an aircraft's file gives, as it is compared."""
    found = node.get("registration") if node is not None else None
    return str(getattr(found, "text", "")).strip().upper()


def find_serials(own: Records, theirs: Records, namings: Iterable[Naming]) -> tuple[str, ...]:
    """Parts that are new here and have the serial of one that is here: perhaps the same part."""
    here: dict[str, list[str]] = {}
    for name, file in sorted(own.parts.items()):
        here.setdefault(_serial(file.serial), []).append(name)
    return tuple(
        f"{naming.ours}: serial {theirs.parts[naming.theirs].serial} is that of {same} here too; "
        "if it is one part, each has a share of its life"
        for naming in namings
        if naming.shelf == "parts" and not naming.known
        for same in here.get(_serial(theirs.parts[naming.theirs].serial), ())
    )


def _serial(written: str | None) -> str:
    """As it is compared; one that is empty is like no other."""
    found = "".join((written or "").casefold().split())
    return found or "\0"


def find_missing(own: Records, theirs: Records) -> dict[str, Any]:
    """What fleet.yaml here must say more, for the same records to give the same totals."""
    found: dict[str, Any] = {}
    counters = [name for name in theirs.fleet.counters if name not in own.fleet.counters]
    if counters:
        found["counters"] = counters
    kinds = {
        kind: list(gains)
        for kind, gains in theirs.fleet.part_kinds.items()
        if kind not in own.fleet.part_kinds
    }
    if kinds:
        found["part_kinds"] = kinds
    return found


def find_differing(own: Records, theirs: Records) -> tuple[str, ...]:
    """Lines of fleet.yaml there by which days fall due otherwise than here, with what is here."""
    here, there = own.fleet, theirs.fleet
    lines = []
    if there.season_gap_days not in (None, here.season_gap_days):
        now = "none" if here.season_gap_days is None else str(here.season_gap_days)
        lines.append(f"season_gap_days: {there.season_gap_days}  (here: {now})")
    if there.season_start != here.season_start:
        was, now = (
            f"{month:02d}-{day:02d}" for month, day in (there.season_start, here.season_start)
        )
        lines.append(f'season_start: "{was}"  (here: {now})')
    if there.soon != here.soon:
        lines.append(f"soon: {{{_soon_words(there.soon)}}}  (here: {_soon_words(here.soon)})")
    return tuple(lines)


def _soon_words(soon: Soon) -> str:
    flights, minutes = format_amount(soon.flights), format_amount(soon.minutes)
    return f"days: {soon.days}, flights: {flights}, minutes: {minutes}"


def place_all(files: Mapping[str, bytes], names: Mapping[tuple[str, str], str]) -> dict[str, bytes]:
    """The files where they lie here; a thing with another name here keeps its old one as alias."""
    found: dict[str, bytes] = {}
    for path, data in files.items():
        target = place_file(path, names)
        if target is None:
            continue
        if target != path and not path.partition("/events/")[1] and path.endswith(".yaml"):
            data = _with_alias(target, data, path)
        found[target] = data
    return found


def _with_alias(target: str, data: bytes, path: str) -> bytes:
    parts = path.split("/")
    old = parts[1] if len(parts) > 2 else parts[1].removesuffix(".yaml")
    return edit_set(target, data, ("aliases",), [old])


def add_declared(data: bytes, declares: Mapping[str, Any]) -> dict[str, bytes]:
    """fleet.yaml with the counters and kinds of part that it lacked; nothing where none."""
    if not declares:
        return {}
    plain = read_plain(open_document(FLEET, data).root)
    own = plain if isinstance(plain, dict) else {}
    for key, more in declares.items():
        there = own.get(key)
        value: Plain
        if isinstance(more, dict):
            value = {**(there if isinstance(there, dict) else {}), **more}
        else:
            value = [*(there if isinstance(there, list) else []), *more]
        data = edit_set(FLEET, data, (key,), value)
    return {FLEET: data}
