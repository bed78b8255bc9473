"""git's index: rebuilt where it cannot be read, else kept with all that is staged in it."""

from __future__ import annotations

from hashlib import sha1, sha256

from register.git.case import Case
from register.git.objects import INDEX, Objects, restore_lost
from register.git.wrapper import is_ours
from register.storage import rescue

_LINK = b"160000"
_NEW = "built from the readable commit; files of the fleet were not touched"


def examine_index(case: Case, objects: Objects, commit: str | None) -> None:
    """Rebuild a broken or missing index from `commit`, on which HEAD stands.

    A readable one is kept with everything that is staged in it; only entries
    whose object is gone go back to what `commit` has.
    """
    data = rescue.read_any(case.root, INDEX)
    if data is None and commit is None:
        return
    fault = "is missing" if data is None else find_index_fault(data)
    listed = None if fault else _list_entries(case)
    if fault is None and listed is None:
        fault = "cannot be read by git"
    if fault is not None:
        _rebuild(case, commit, fault)
    elif listed:
        _examine_entries(case, objects, listed, commit)


def find_index_fault(data: bytes) -> str | None:
    """Return what is wrong with an index's bytes, or None (gitformat-index).

    Its last 20 or 32 bytes are the hash of the rest, or zero where git was told
    to leave it out.
    """
    if not data:
        return "is empty"
    if len(data) < 32 or data[:4] != b"DIRC" or int.from_bytes(data[4:8]) not in (2, 3, 4):
        return "is no index"
    for size, algorithm in ((20, sha1), (32, sha256)):
        end = data[-size:]
        if not any(end) or algorithm(data[:-size], usedforsecurity=False).digest() == end:
            return None
    return "is cut short or altered"


def _list_entries(case: Case) -> list[tuple[bytes, str, bytes]] | None:
    """Return mode, object id and path of each entry, or None where git cannot tell."""
    args = ["ls-files", "--stage", "-z"]
    result = case.ask(args, index=case.root.absolute() / INDEX)
    if result.returncode != 0 and is_ours(case.root):
        # A split index is whole only in its own folder.
        result = case.look(args)
    if result.returncode != 0:
        return None
    entries = []
    for line in result.stdout.split(b"\0")[:-1]:
        head, _, path = line.partition(b"\t")
        mode, id, _ = head.split(b" ")
        entries.append((mode, id.decode("ascii"), path))
    return entries


def _rebuild(case: Case, commit: str | None, fault: str) -> None:
    there = fault != "is missing"
    if commit is None:
        case.move("index-unreadable", INDEX, fault)
        return
    if there:
        case.move("index-unreadable", INDEX, fault, then=_NEW)
    else:
        case.note("index-unreadable", INDEX, fault, _NEW)
    if case.acts:
        case.write(["read-tree", commit])


def _examine_entries(
    case: Case, objects: Objects, entries: list[tuple[bytes, str, bytes]], commit: str | None
) -> None:
    lost = {id for mode, id, _ in entries if mode != _LINK and not objects.is_there(id)}
    restore_lost(case, objects, lost)
    lost -= objects.kinds.keys()
    if not lost:
        return
    paths = [path for _, id, path in entries if id in lost]
    shown = ", ".join(path.decode("utf-8", "replace") for path in paths[:4])
    says = f"has entries whose objects are gone ({shown})"
    deed = "set to what the commit has; the files of the fleet are as they were"
    if case.acts:
        rescue.keep_copy(case.root, INDEX, case.begin())
        zero = b"0" * len(next(iter(lost)))
        stdin = b"".join(b"0 %s\t%s\0" % (zero, path) for path in paths)
        kept = case.look(["ls-tree", "-r", "-z", "--full-tree", commit]).stdout if commit else b""
        wanted = set(paths)
        for line in kept.split(b"\0")[:-1]:
            if line.partition(b"\t")[2] in wanted:
                stdin += line + b"\0"
        case.write(["update-index", "-z", "--index-info"], stdin)
    case.note("index-entry-lost", INDEX, says, deed)
