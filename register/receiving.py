"""Taking in an aircraft from another owner: the composer of the receive command.

The file is opened in quarantine and held to every rule; what would be written is shown first.
A second file of the same aircraft is merged three-way from the first: it adds exactly what is
new, and what was changed here meanwhile stays or becomes a question.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date
from hashlib import sha256
from pathlib import Path
from typing import Any

from msgspec import Struct

from register.fleet import Fleet
from register.git.blobs import hash_blob
from register.git.heads import read_blobs, read_tip, read_tree
from register.git.merging import Joined, commit_tree
from register.git.quarantine import Opened, open_bundle
from register.git.remotes import fetch_ref
from register.git.repository import check_place
from register.git.taking import Taken, take_joined
from register.git.wrapper import require_git
from register.ledger.ledger import Ledger
from register.merge.trees import merge_trees
from register.records.gathering import Records, build_records
from register.storage.parcel import HISTORY, MANIFEST, SIGNATURE, open_parcel
from register.storage.scratch import scratch_folder, write_scratch
from register.text.document import open_document, read_plain
from register.text.editing import edit_set
from register.text.nodes import Plain
from register.text.parsing import parse_text
from register.transfer.arrival import (
    Naming,
    RecordCollision,
    known_things,
    name_things,
    place_file,
)
from register.trouble import Exit, RegisterError

FORMAT = 1
RECEIVED = "refs/tailsheaf/received"
WORDS = b"Take in an aircraft from another owner\n"


class Arrival(Struct, frozen=True):
    """A handover file that kept all rules, beside this fleet; nothing is written yet.

    `fresh` are records that are new here, `same` those that are here already, `changed` those
    that a later file tells otherwise; `collisions` ids of other records here.
    """

    aircraft: str
    title: str
    day: date
    tip: str
    signed: bool
    namings: tuple[Naming, ...]
    fresh: int
    same: int
    changed: tuple[str, ...]
    collisions: tuple[RecordCollision, ...]
    marks: tuple[str, ...]
    files: dict[str, bytes]
    base: dict[str, bytes]
    counters: tuple[str, ...]
    ledger: Ledger
    earlier: str | None
    not_included: tuple[str, ...]
    withheld: int

    @property
    def is_update(self) -> bool:
        """Whether an earlier file of the same aircraft was taken in before."""
        return self.earlier is not None

    @property
    def local_name(self) -> str:
        """What the aircraft is called here."""
        for naming in self.namings:
            if naming.shelf == "aircraft":
                return naming.ours
        return self.aircraft


def read_arrival(
    fleet: Fleet, data: bytes, wishes: Mapping[str, str], as_name: str | None
) -> Arrival:
    """Open a handover file and hold it beside the fleet.

    Raises RegisterError: REFUSED `file-refused` where any rule is broken, USAGE for a name.
    """
    if not check_place(fleet.root):
        raise RegisterError(
            "this fleet has no history to take the aircraft's into",
            mend="tailsheaf init DIR   makes a fleet with one",
            exit_code=Exit.CANNOT_RUN,
            code="no-history",
        )
    require_git(fleet.root)
    members = open_parcel(data)
    manifest = read_manifest(members[MANIFEST])
    _check_sum(manifest, members)
    with scratch_folder(fleet.root, "quarantine") as folder:
        bundle = write_scratch(folder, "history.bundle", members[HISTORY])
        repository = folder / "in.git"
        opened = open_bundle(repository, bundle)
        _check_content(manifest, opened)
        theirs = _read_records(opened.files)
        aircraft = _only_aircraft(theirs)
        asked = {**wishes, **({aircraft: as_name} if as_name else {})}
        namings = name_things(fleet.records, theirs, asked, known_things(fleet.records))
        fetch_ref(fleet.root, "file", str(repository), "refs/heads/main", _ref(opened.tip))
    return _compare(fleet, manifest, opened, theirs, namings, SIGNATURE in members)


def _ref(tip: str) -> str:
    return f"{RECEIVED}/{tip[:20]}"


def read_manifest(data: bytes) -> dict[str, Any]:
    """The manifest. Raises RegisterError (REFUSED) for another form, CANNOT_RUN for a newer."""
    try:
        found = json.loads(data)
    except (ValueError, RecursionError) as error:
        raise refused("its manifest cannot be read") from error
    if not isinstance(found, dict) or not isinstance(found.get("format"), int):
        raise refused("its manifest is not one of this program's")
    if found["format"] > FORMAT:
        raise RegisterError(
            "this file was made by a newer program; nothing was written",
            mend="bring tailsheaf up to date, then receive it",
            exit_code=Exit.CANNOT_RUN,
            code="format-newer",
        )
    return found


def _check_sum(manifest: dict[str, Any], members: Mapping[str, bytes]) -> None:
    if manifest.get("bundle_sha256") != sha256(members[HISTORY]).hexdigest():
        raise refused("its history is not the one its manifest was made for: it was altered")


def _check_content(manifest: dict[str, Any], opened: Opened) -> None:
    """Every file is what the manifest says, none is missing and none too many."""
    found = {path: sha256(data).hexdigest() for path, data in opened.files.items()}
    if manifest.get("tip") != opened.tip or manifest.get("files") != found:
        raise refused("what it holds is not what its manifest lists: it was altered")


def _read_records(files: Mapping[str, bytes]) -> Records:
    parsed = {path: parse_text(path, data) for path, data in sorted(files.items()) if _text(path)}
    for path, one in parsed.items():
        if one.node is None or any(problem.level == "error" for problem in one.problems):
            raise refused(f"{path} cannot be read")
    records = build_records((path, one.node) for path, one in parsed.items())
    if records.is_newer:
        raise refused("its records are of a newer program: bring tailsheaf up to date")
    for problem in records.problems:
        if problem.level == "error":
            raise refused(f"{problem.place}: {problem.says}")
    return records


def _text(path: str) -> bool:
    return path.endswith(".yaml")


def _only_aircraft(theirs: Records) -> str:
    if len(theirs.aircraft) != 1:
        raise refused(f"it holds {len(theirs.aircraft)} aircraft instead of one")
    name, file = next(iter(theirs.aircraft.items()))
    if not file.id:
        raise refused("its aircraft has no id")
    return name


def _compare(
    fleet: Fleet,
    manifest: dict[str, Any],
    opened: Opened,
    theirs: Records,
    namings: tuple[Naming, ...],
    signed: bool,
) -> Arrival:
    names = {(naming.shelf, naming.theirs): naming.ours for naming in namings}
    local = next(naming for naming in namings if naming.shelf == "aircraft")
    earlier = _earlier_tip(fleet, local.ours) if local.known else None
    base = _place_all(_read_earlier(fleet.root, earlier), names) if earlier else {}
    files = _place_all(opened.files, names)
    mine = {event.id: event for event in fleet.ledger.settled.originals.values()}
    fresh = same = 0
    changed: list[str] = []
    collisions: list[RecordCollision] = []
    for event in theirs.events:
        there = mine.get(event.id)
        path = place_file(event.path, names) or event.path
        if there is None:
            fresh += 1
        elif fleet.sources.get(there.path) == opened.files[event.path]:
            same += 1
        elif base.get(path) is not None and there.path == path:
            if base[path] != opened.files[event.path]:
                changed.append(path)
            else:
                same += 1
        else:
            collisions.append(RecordCollision(event.id, path, there.path))
    own_marks = {
        mark: name
        for name, file in fleet.records.aircraft.items()
        if name != local.ours and (mark := mark_of(file.node))
    }
    mark = mark_of(theirs.aircraft[local.theirs].node)
    return Arrival(
        local.theirs,
        theirs.aircraft[local.theirs].title,
        _day(manifest),
        opened.tip,
        signed,
        namings,
        fresh,
        same,
        tuple(changed),
        tuple(collisions),
        (f"{mark} is the registration of {own_marks[mark]} here too",) if mark in own_marks else (),
        files,
        base,
        tuple(
            counter
            for counter in theirs.fleet.counters
            if counter not in fleet.records.fleet.counters
        ),
        Ledger(theirs),
        earlier,
        tuple(str(name) for name in manifest.get("not_included", ())),
        int(manifest.get("withheld_revisions", 0) or 0),
    )


def mark_of(node: Any) -> str:  # noqa: ANN401 - a mapping node or nothing
    """The registration an aircraft's file gives, as it is compared."""
    found = node.get("registration") if node is not None else None
    return str(getattr(found, "text", "")).strip().upper()


def _day(manifest: dict[str, Any]) -> date:
    try:
        return date.fromisoformat(str(manifest.get("day")))
    except ValueError as error:
        raise refused("its manifest gives no day") from error


def _earlier_tip(fleet: Fleet, aircraft: str) -> str | None:
    """The file of the same aircraft that was taken in last, by the commit it ended in."""
    node = fleet.records.aircraft[aircraft].node
    found = node.get("received") if node is not None else None
    tip = str(getattr(found, "text", ""))
    if not tip or not all(char in "0123456789abcdef" for char in tip) or len(tip) != 40:
        return None
    return read_tip(fleet.root, tip)


def _read_earlier(root: Path, tip: str) -> dict[str, bytes]:
    tree = read_tree(root, tip)
    blobs = read_blobs(root, tree.values())
    return {path: blobs[id_] for path, id_ in tree.items()}


def _place_all(
    files: Mapping[str, bytes], names: Mapping[tuple[str, str], str]
) -> dict[str, bytes]:
    """The files where they lie here; a thing with another name here keeps its old one as alias."""
    found: dict[str, bytes] = {}
    for path, data in files.items():
        target = place_file(path, names)
        if target is None:
            continue
        if target != path and not path.partition("/events/")[1] and _text(path):
            data = _with_alias(target, data, path)
        found[target] = data
    return found


def _with_alias(target: str, data: bytes, path: str) -> bytes:
    parts = path.split("/")
    old = parts[1] if len(parts) > 2 else parts[1].removesuffix(".yaml")
    plain = read_plain(open_document(target, data).root)
    listed = plain.get("aliases") if isinstance(plain, dict) else None
    names: list[Plain] = list(listed) if isinstance(listed, list) else []
    return data if old in names else edit_set(target, data, ("aliases",), [*names, old])


def take_arrival(fleet: Fleet, arrival: Arrival) -> Taken:
    """Write what comes in, in one commit whose second parent is the received history."""
    if arrival.collisions:
        raise RegisterError(
            f"{len(arrival.collisions)} records have ids of other records here "
            f"(the first: {arrival.collisions[0].id}); nothing was written",
            mend="ask the sender for a new file; a copy of your own fleet is for tailsheaf sync",
            exit_code=Exit.REFUSED,
            code="id-clash",
        )
    root = fleet.root
    home = f"aircraft/{arrival.local_name}/aircraft.yaml"
    files = dict(arrival.files)
    files[home] = edit_set(home, files[home], ("received",), arrival.tip)
    base = dict(arrival.base)
    if arrival.earlier is not None and home in base:
        # As this program wrote it then: else the mark itself would look like a change.
        base[home] = edit_set(home, base[home], ("received",), arrival.earlier)

    def join(own: str | None) -> Joined:
        if own is None:
            raise RegisterError("the fleet has no commit yet", mend="tailsheaf save")
        ours = read_tree(root, own)
        blobs = {hash_blob(data, own): data for data in (*files.values(), *base.values())}
        trees = [
            {path: hash_blob(data, own) for path, data in side.items()} for side in (base, files)
        ]

        def load(id_: str) -> bytes:
            return blobs[id_] if id_ in blobs else read_blobs(root, [id_])[id_]

        merged = merge_trees(
            trees[0], ours, {**_others(ours, trees), **trees[1]}, load, lambda d: hash_blob(d, own)
        )
        if merged.tree == ours:
            return Joined(own, ours)
        fresh = {**blobs, **merged.fresh}
        parents = (own, arrival.tip)
        return Joined(commit_tree(root, parents, ours, merged.tree, fresh, WORDS), merged.tree)

    return take_joined(root, join)


def _others(ours: Mapping[str, str], trees: list[dict[str, str]]) -> dict[str, str]:
    """The rest of this fleet, which the file says nothing about."""
    told = {*trees[0], *trees[1]}
    return {path: id_ for path, id_ in ours.items() if path not in told}


def refused(why: str) -> RegisterError:
    """The refusal of a file as a whole."""
    return RegisterError(
        f"this file is not taken in: {why}; nothing was written",
        mend="ask the sender for it again, by another way if need be",
        exit_code=Exit.REFUSED,
        code="file-refused",
    )
