"""Mend git's names: packed refs, branches, HEAD and reflogs.

The register's own branch is found again among all readable commits; every
other name goes back to the newest id its reflog has. Nothing is renamed and no
good name moved.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from register.git.case import Case
from register.git.lineage import find_ancestors, rank_tips
from register.git.objects import Objects, complete, find_lacks, is_whole
from register.git.ref_files import (
    drop_packed,
    is_ref_name,
    mend_log,
    read_log,
    read_packed,
    read_ref,
    read_target,
)
from register.storage import rescue
from register.storage.rescue import GitFile

PACKED = ".git/packed-refs"
HEAD = ".git/HEAD"
_TRIES = 50


@dataclass
class Refs:
    """The names as they are and will be: ids by name, and what packed-refs holds."""

    ids: dict[str, str] = field(default_factory=dict)
    packed: dict[str, str] = field(default_factory=dict)
    #: Names whose own file is there and tells nothing.
    torn: set[str] = field(default_factory=set)


def examine_names(
    case: Case, files: Sequence[GitFile], objects: Objects, away: Sequence[str]
) -> str | None:
    """Mend every name, and return the commit HEAD then stands on, or None.

    `away` are folders of borrowed objects that are not there now.
    """
    refs = Refs()
    _examine_packed(case, refs)
    own = f"refs/heads/{case.branch}"
    _examine_loose(case, files, objects, refs, own)
    _examine_packed_ids(case, objects, refs, own)
    _examine_lost(case, files, objects, refs, own)
    _examine_branch(case, files, objects, refs, own, away)
    _examine_logs(case, files, objects)
    return _examine_head(case, objects, refs)


def _examine_packed(case: Case, refs: Refs) -> None:
    data = rescue.read_any(case.root, PACKED)
    if data is None:
        return
    packed = read_packed(data)
    refs.packed = dict(packed.ids)
    if packed.bad:
        lines = ", ".join(str(number) for number in packed.bad[:8])
        more = " and more" if len(packed.bad) > 8 else ""
        case.rewrite(
            "packed-refs-line",
            PACKED,
            f"line {lines}{more} cannot be read",
            packed.kept,
            "written again without it; the old file is kept aside",
        )


def _examine_loose(
    case: Case, files: Sequence[GitFile], objects: Objects, refs: Refs, own: str
) -> None:
    for file in files:
        name = file.path.removeprefix(".git/")
        if not name.startswith("refs/") or file.kind == "link" or name.endswith(".lock"):
            continue
        if file.kind == "other":
            # git would wait for ever on a pipe.
            case.move("ref-odd", file.path, "is a pipe or device")
            continue
        if name.rpartition("/")[2].startswith(".tailsheaf-"):
            continue
        data = rescue.read_any(case.root, file.path)
        id = read_ref(data)
        if not is_ref_name(name):
            _keep_odd(case, file.path, id, objects)
        elif data is not None and data.startswith(b"ref: "):
            continue
        elif id is not None and _fits(objects, name, id):
            refs.ids[name] = id
        else:
            refs.torn.add(name)
            if name != own:
                _mend_other(case, objects, refs, name, file.path)


def _fits(objects: Objects, name: str, id: str) -> bool:
    kind = objects.kinds.get(id)
    return kind == "commit" if name.startswith("refs/heads/") else kind is not None


def _keep_odd(case: Case, path: str, id: str | None, objects: Objects) -> None:
    """A name git cannot take, such as a sync service's copy: its commit gets a name."""
    if id is None or not objects.is_there(id):
        case.move("ref-odd", path, "is no name git can take, and no object is behind it")
        return
    kept = f".git/refs/rescue/{case.stamp}-{id[:12]}"
    case.move("ref-odd", path, "is no name git can take", then=f"its commit is kept as {kept[5:]}")
    if case.acts:
        rescue.replace_git_file(case.root, kept, id.encode("ascii") + b"\n")


def _mend_other(case: Case, objects: Objects, refs: Refs, name: str, path: str) -> None:
    says = "names no object that can be read"
    there = refs.packed.get(name)
    if there is not None and _fits(objects, name, there):
        refs.ids[name] = there
        case.move("ref-unreadable", path, says, then=f"packed-refs has it at {there[:12]}")
        return
    last = _last_logged(case, objects, name)
    if last is None:
        case.move("ref-unreadable", path, f"{says}, and nothing tells what it was")
        return
    refs.ids[name] = last
    case.rewrite(
        "ref-unreadable", path, says, last.encode("ascii") + b"\n",
        f"set to {last[:12]}, the newest its reflog has",
    )  # fmt: skip


def _last_logged(case: Case, objects: Objects, name: str) -> str | None:
    log = read_log(rescue.read_any(case.root, f".git/logs/{name}") or b"")
    return next((id for id in reversed(log) if _fits(objects, name, id)), None)


def _examine_packed_ids(case: Case, objects: Objects, refs: Refs, own: str) -> None:
    """Names that only packed-refs has, whose objects are gone."""
    dead: set[str] = set()
    for name, id in refs.packed.items():
        # Its own file, though torn, was newer than the packed line.
        if name in refs.ids or (name == own and name in refs.torn):
            continue
        if _fits(objects, name, id):
            refs.ids[name] = id
            continue
        dead.add(name)
        last = None if name == own else _last_logged(case, objects, name)
        if last is not None:
            refs.ids[name] = last
            path = f".git/{name}"
            says = "is packed at an object that cannot be read"
            deed = f"set to {last[:12]}, the newest its reflog has"
            case.rewrite("ref-unreadable", path, says, last.encode("ascii") + b"\n", deed)
    if dead:
        data = rescue.read_any(case.root, PACKED) or b""
        kept = drop_packed(read_packed(data).kept, dead)
        says = f"names objects that cannot be read ({', '.join(sorted(dead)[:4])})"
        case.rewrite("packed-refs-line", PACKED, says, kept, "written again without them")


def _examine_lost(
    case: Case, files: Sequence[GitFile], objects: Objects, refs: Refs, own: str
) -> None:
    """Names that only their reflog remembers: git removes it with the name itself."""
    there = {file.path for file in files}
    for file in files:
        name = file.path.removeprefix(".git/logs/")
        if not name.startswith("refs/") or name == own or name in refs.ids or name in refs.torn:
            continue
        path = f".git/{name}"
        last = _last_logged(case, objects, name)
        if path in there or last is None or not is_ref_name(name):
            continue
        refs.ids[name] = last
        deed = f"set to {last[:12]}, the newest its reflog has"
        case.rewrite("ref-unreadable", path, "is missing", last.encode("ascii") + b"\n", deed)


def _examine_branch(
    case: Case,
    files: Sequence[GitFile],
    objects: Objects,
    refs: Refs,
    own: str,
    away: Sequence[str],
) -> None:
    """The register's branch: keep it where its commit is whole, else find it again."""
    there = refs.ids.get(own)
    path = f".git/{own}"
    if there is not None:
        complete(case, objects, there)
        if complete(case, objects, there, only_this=True):
            _note_lost_past(case, objects, there, path)
            return
    elif _is_unborn(case, files, objects, refs, own):
        return
    if away:
        says = f"cannot be judged while borrowed objects are away ({away[0]})"
        case.note("alternates-gone", path, says, still_wrong=True)
        return
    chosen = _choose_tip(case, objects, refs, own)
    if chosen is None:
        case.note("branch-unreadable", path, "no readable commit was found", still_wrong=True)
        return
    refs.ids[own] = chosen
    was = "names no commit that can be read whole" if there else "does not name a commit"
    case.rewrite(
        "branch-unreadable", path, was, chosen.encode("ascii") + b"\n",
        f"set to {chosen[:12]}, the longest readable history",
    )  # fmt: skip


def _note_lost_past(case: Case, objects: Objects, tip: str, path: str) -> None:
    lacks = find_lacks(case, objects, tip)
    if lacks is None or lacks:
        many = "some objects" if lacks is None else f"{len(lacks)} object(s)"
        says = (
            f"its newest state is whole, but its past lacks {many}; put back an older copy of "
            ".git/objects if you have one"
        )
        case.note("past-incomplete", path, says, still_wrong=True)


def _is_unborn(
    case: Case, files: Sequence[GitFile], objects: Objects, refs: Refs, own: str
) -> bool:
    """Whether the branch never had a commit, or was renamed: nothing to find again."""
    if own in refs.packed or any(file.path == f".git/{own}" for file in files):
        return False
    if rescue.read_any(case.root, f".git/logs/{own}"):
        return False
    on = read_target(rescue.read_any(case.root, HEAD))
    if on not in (None, case.branch) and f"refs/heads/{on}" in refs.ids:
        says = f"the register's branch is gone, and HEAD is on {on}; if it was renamed: "
        case.note("branch-missing", f".git/{own}", f"{says}tailsheaf adopt", still_wrong=True)
        return True
    elsewhere = find_ancestors(objects.commits, refs.ids.values())
    return not objects.commits.keys() - elsewhere


def _choose_tip(case: Case, objects: Objects, refs: Refs, own: str) -> str | None:
    """The first by rank with a whole history, else the first that is whole itself."""
    log = read_log(rescue.read_any(case.root, f".git/logs/{own}") or b"")
    on = read_target(rescue.read_any(case.root, HEAD))
    if not log and on in (None, case.branch):
        # HEAD was on the branch, so its reflog ends where the branch did.
        log = read_log(rescue.read_any(case.root, ".git/logs/HEAD") or b"")
    others = [id for name, id in refs.ids.items() if name != own]
    elsewhere = find_ancestors(objects.commits, others)
    ranked = rank_tips(objects.commits, log, elsewhere)
    whole = [id for id in ranked[:_TRIES] if complete(case, objects, id, only_this=True)]
    for id in whole:
        if is_whole(case, objects, id):
            return id
    if whole:
        return whole[0]
    rest = (id for id in ranked[_TRIES:] if is_whole(case, objects, id, only_this=True))
    return next(rest, None)


def _examine_logs(case: Case, files: Sequence[GitFile], objects: Objects) -> None:
    for file in files:
        if not file.path.startswith(".git/logs/") or file.kind != "file":
            continue
        data = rescue.read_any(case.root, file.path)
        mended = data if data is None else mend_log(data, objects.is_there)
        if data is not None and mended is not None and mended != data:
            says = "has lines that are torn or name objects that are gone"
            deed = "written again without them; the old file is kept aside"
            case.rewrite("reflog-line", file.path, says, mended, deed)


def _examine_head(case: Case, objects: Objects, refs: Refs) -> str | None:
    data = rescue.read_any(case.root, HEAD)
    target = read_target(data)
    own = f"refs/heads/{case.branch}"
    cut = (
        target is not None
        and f"refs/heads/{target}" not in refs.ids
        and target != case.branch
        and case.branch.startswith(target)
    )
    if target is not None and not cut:
        return refs.ids.get(f"refs/heads/{target}")
    id = read_ref(data)
    if id is not None and objects.kinds.get(id) == "commit":
        return id
    says = "is missing" if data is None else "names no branch and no readable commit"
    case.rewrite(
        "head-unreadable", HEAD, says, f"ref: {own}\n".encode(), f"set to branch {case.branch}"
    )
    return refs.ids.get(own)
