"""Second versions that file-sync services left: taken in, merged or set aside, never deleted.

A copy is never loaded as a record. One that says nothing new goes to the rescue folder; an event
that is not here is adopted under its own id; an edit of a hand-made file is merged with the
version of its time; whatever is left needs the owner.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from msgspec import Struct

from register.fleet import Fleet
from register.git.apply import apply_changes
from register.git.arriving import accept, read_mark
from register.git.heads import read_tip
from register.git.repository import read_own_marker
from register.git.versions import Version, read_versions
from register.git.wrapper import is_ours
from register.merge.texts import merge_texts
from register.records.events import Event
from register.records.gathering import build_file
from register.storage import rescue
from register.storage.folder import exists, read_file
from register.storage.names import copied_from, is_plain_record
from register.storage.writing import FileChange
from register.text.parsing import parse_text
from register.trouble import RegisterError

_EVENTS = "/events/"
_HEADS = ".git/refs/heads"


class CopyDeed(Struct, frozen=True):
    """What became of one copy. `moved` is where it lies now; None where it needs the owner."""

    path: str
    says: str
    moved: str | None = None


def list_copies(fleet: Fleet) -> tuple[str, ...]:
    """The second versions that lie in the fleet's folder."""
    found = {item.place.file for item in fleet.disk_problems if item.code == "conflict-copy"}
    return tuple(sorted(found))


def settle_copies(fleet: Fleet, stamp: str) -> tuple[CopyDeed, ...]:
    """Deal with every copy in the folder and among git's branches. `stamp` names the rescue folder.

    Raises RegisterError as every write does; what was done until then holds.
    """
    if not is_ours(fleet.root):
        return ()
    copies = list_copies(fleet)
    branches = tuple(_list_branches(fleet.root))
    if not copies and not branches:
        return ()
    name = rescue.choose_rescue(fleet.root, stamp)
    deeds = [_settle(fleet, path, name) for path in copies]
    deeds.extend(_settle_branch(fleet.root, path, name) for path in branches)
    return tuple(deeds)


def _settle(fleet: Fleet, path: str, name: str) -> CopyDeed:
    data = read_file(fleet.root, path)
    if data is None:
        return CopyDeed(path, "needs you: it is not a plain file")
    folder, _, last = path.rpartition("/")
    siblings = {
        name for home, _, name in (one.rpartition("/") for one in fleet.sources) if home == folder
    }
    original = copied_from(last, siblings)
    first = f"{folder}/{original}" if folder else original
    if _EVENTS in path:
        deed = _settle_event(fleet, path, first, data, name)
        if deed is not None:
            return deed
    return _merge(fleet, path, first, data, name)


def _settle_event(fleet: Fleet, path: str, first: str, data: bytes, name: str) -> CopyDeed | None:
    """An event by its id: known with these bytes, or new; None where both have it differently."""
    built = build_file(first, parse_text(first, data).node, fleet.zone)
    event = built.record
    if not isinstance(event, Event) or not event.id:
        return CopyDeed(path, "needs you: it cannot be read as a record")
    known = [one for one in fleet.find_paths(event.id) if one != path]
    if any(fleet.sources.get(one) == data for one in known):
        return _aside(fleet, path, name, "says what is recorded already")
    if known:
        return None if first in known else CopyDeed(path, f"needs you: {known[0]} has its id")
    if not is_plain_record(first.rpartition("/")[2]) or exists(fleet.root, first):
        return CopyDeed(path, "needs you: its name does not say which record it is")
    apply_changes(fleet.root, [FileChange(first, None, data)], f"Take in a copy as {first}")
    return _aside(fleet, path, name, f"was not here yet: taken in as {first}")


def _merge(fleet: Fleet, path: str, first: str, data: bytes, name: str) -> CopyDeed:
    """A hand-made file: three-way with what stands and what it was made from."""
    now = fleet.sources.get(first)
    if now is None:
        return CopyDeed(path, "needs you: the file it was copied from is not there")
    if now == data:
        return _aside(fleet, path, name, "is the same as the file it was copied from")
    versions = read_versions(fleet.root, first)
    if any(version.data == data for version in versions):
        return _aside(fleet, path, name, "is an older version, which history has")
    base = _base_of(versions, rescue.changed_at(fleet.root, path))
    merged = merge_texts(first, base, now, data)
    if base is None or merged.clashes:
        return CopyDeed(path, f"needs you: it and {first} say different things; compare them")
    if merged.data != now:
        apply_changes(
            fleet.root, [FileChange(first, now, merged.data)], f"Take in a copy of {first}"
        )
    return _aside(fleet, path, name, f"merged into {first}")


def _base_of(versions: tuple[Version, ...], changed: float) -> bytes | None:
    """The version that stood when the copy was last changed, by the clocks there are."""
    older = [version for version in versions if version.since <= changed]
    return older[0].data if older else versions[-1].data if versions else None


def _aside(fleet: Fleet, path: str, name: str, says: str) -> CopyDeed:
    return CopyDeed(path, says, rescue.set_aside(fleet.root, path, name))


def _list_branches(root: Path) -> Iterator[str]:
    """Files beside the branch's own that a service made of it: some are names git obeys."""
    branch = read_own_marker(root).branch
    for file in rescue.list_git_files(root):
        folder, _, last = file.path.rpartition("/")
        is_other = folder == _HEADS and file.kind == "file" and last != branch
        if is_other and copied_from(last, {branch}) == branch:
            yield file.path


def _settle_branch(root: Path, path: str, name: str) -> CopyDeed:
    """The other machine's commits are heard like any; the name is set aside."""
    data = rescue.read_any(root, path) or b""
    said = data.decode("ascii", "replace").strip()
    known = said if len(said) in (40, 64) and all(c in "0123456789abcdef" for c in said) else ""
    commit = read_tip(root, known) if known else None
    if commit is None:
        return CopyDeed(path, "needs you: its commit is not here; tailsheaf doctor")
    try:
        mark = read_mark(root, f"refs/heads/{read_own_marker(root).branch}")
        accept(root, commit, mark, "copy")
    except RegisterError as error:
        return CopyDeed(path, f"needs you: {error.says}")
    moved = rescue.set_aside(root, path, name)
    return CopyDeed(path, "names another machine's commits: taken in with this sync", moved)
