"""Parts known by name alone, which stayed with an owner before: here, and in a file."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from msgspec import Struct

from register.records.gathering import Records
from register.text.document import read_plain
from register.text.emitting import render_yaml
from register.text.parsing import parse_text
from register.transfer.allowed import STUB
from register.transfer.arrival import Naming
from register.transfer.placing import place_all


class ComesTrue(Struct, frozen=True):
    """A part that was known by name alone and is in the file: its file here, as it came then."""

    name: str
    path: str
    before: bytes


def find_true(
    own: Records,
    theirs: Records,
    namings: Iterable[Naming],
    sources: Mapping[str, bytes],
    received: Iterable[Mapping[str, bytes]],
) -> tuple[ComesTrue, ...]:
    """Parts of a file that are here by name alone. `received` are the part files of every
    handover file that was taken in last for its aircraft, by their paths there."""
    wanted = {
        naming.ours: theirs.parts[naming.theirs].id or ""
        for naming in namings
        if naming.shelf == "parts" and naming.known and not theirs.parts[naming.theirs].stayed
    }
    if not wanted:
        return ()
    came = _find_came(own, wanted, received)
    found = []
    for name in wanted:
        path, stubs = f"parts/{name}/part.yaml", came.get(name, ())
        if path not in sources or None in stubs:
            continue
        if own.parts[name].stayed or stubs:
            same = next((stub for stub in stubs if stub == sources[path]), None)
            before = same or next((stub for stub in stubs if stub), None)
            found.append(ComesTrue(name, path, before or _bare(path, sources[path])))
    return tuple(found)


def _find_came(
    own: Records, wanted: Mapping[str, str], received: Iterable[Mapping[str, bytes]]
) -> dict[str, list[bytes | None]]:
    """Each part's file as it came, by its name here; None where it came as the part itself."""
    local = {id_: name for name, id_ in wanted.items() if id_}
    found: dict[str, list[bytes | None]] = {}
    for files in received:
        for path, data in files.items():
            node = parse_text(path, data).node
            plain = None if node is None else read_plain(node)
            if not isinstance(plain, dict) or str(plain.get("id", "")) not in local:
                continue
            name = local[str(plain["id"])]
            placed = place_all({path: data}, {("parts", path.split("/")[1]): name})
            stub = next(iter(placed.values()), None) if plain.get("stayed") is True else None
            found.setdefault(name, []).append(stub)
    return found


def _bare(path: str, data: bytes) -> bytes:
    """What a stub had of all that stands in the file, where it cannot be looked up."""
    node = parse_text(path, data).node
    plain = None if node is None else read_plain(node)
    whole = plain if isinstance(plain, dict) else {}
    keys = {*STUB, "stayed", "aliases"}
    return render_yaml({key: value for key, value in whole.items() if key in keys}).encode()


def keep_true(own: Records, theirs: Records, namings: Iterable[Naming]) -> tuple[str, ...]:
    """Files of parts that are in this fleet and that a file knows by name alone: they stay."""
    return tuple(
        f"parts/{naming.ours}/part.yaml"
        for naming in namings
        if naming.shelf == "parts"
        and naming.known
        and theirs.parts[naming.theirs].stayed
        and not own.parts[naming.ours].stayed
    )
