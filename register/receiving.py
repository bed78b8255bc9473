"""Taking in an aircraft from another owner: the composer of the receive command.

The file is opened in quarantine and held to every rule; what would be written is shown first.
A second file of the same aircraft is merged three-way from the first: it adds exactly what is
new, and what was changed here meanwhile stays or becomes a question.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Mapping
from fnmatch import fnmatchcase as fnmatch
from hashlib import sha256
from pathlib import Path

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
from register.ledger.places import HANDOVER
from register.merge.trees import merge_trees
from register.records.gathering import Records, build_records
from register.records.received import UNSIGNED, machines_elsewhere, make_mark, put_mark, read_mark
from register.storage.journal import machine_id
from register.storage.parcel import HISTORY, MANIFEST, SIGNATURE, open_parcel, refuse_file
from register.storage.scratch import scratch_folder, write_scratch
from register.text.parsing import Parsed, parse_text
from register.transfer.arrival import SHELVES, Naming, known_things, name_things
from register.transfer.beside import Compared, compare_records, is_older, keep_ours, pictures_here
from register.transfer.incoming import Arrival, Signature, Wanted
from register.transfer.manifest import Manifest, read_manifest
from register.transfer.placing import (
    add_declared,
    find_differing,
    find_missing,
    find_serials,
    mark_of,
    place_all,
)
from register.transfer.stages import Tell, say_nothing
from register.transfer.stubs import find_true, keep_true
from register.trouble import Exit, RegisterError

RECEIVED = "refs/tailsheaf/received"
WORDS = b"Take in an aircraft from another owner\n"


@contextlib.contextmanager
def opened_arrival(
    fleet: Fleet, data: bytes, wanted: Wanted, tell: Tell = say_nothing
) -> Iterator[Arrival]:
    """Open a handover file in quarantine and hold it beside the fleet, for a while.

    Raises RegisterError: REFUSED `file-refused` where any rule is broken, `signature-wrong`
    where it is not the sender's; USAGE for a name.
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
    if manifest.bundle_sum != sha256(members[HISTORY]).hexdigest():
        raise refuse_file("its history is not the one its manifest was made for: it was altered")
    with scratch_folder(fleet.root, "quarantine") as folder:
        signature = _check_signature(folder, members, wanted)
        bundle = write_scratch(folder, "history.bundle", members[HISTORY])
        repository = folder / "in.git"
        tell("checking the history", 0, 0)
        opened = open_bundle(repository, bundle)
        _check_content(manifest, opened)
        theirs = _read_records(opened.files, tell)
        tell("holding it beside this fleet", 0, 0)
        yield _hold_beside(fleet, manifest, opened, theirs, wanted, signature, repository)


def _check_signature(folder: Path, members: Mapping[str, bytes], wanted: Wanted) -> Signature:
    from register.git.signing import fingerprint_of, is_signed_by

    if SIGNATURE not in members:
        found = Signature("none")
    else:
        path = write_scratch(folder, "manifest.sig", members[SIGNATURE])
        print_ = fingerprint_of(path, members[MANIFEST])
        if print_ is None:
            found = Signature("wrong")
        elif wanted.key is None:
            found = Signature("unknown", print_)
        elif is_signed_by(members[MANIFEST], path, wanted.key, folder):
            found = Signature("good", print_)
        else:
            found = Signature("wrong", print_)
    is_bad = found.state == "wrong" or (found.state == "none" and wanted.key is not None)
    if is_bad and not wanted.unverified:
        if found.state == "none":
            why = "it is not signed, and you named a key that it should be signed with"
        elif found.fingerprint is None:
            why = "its signature is not of this file: it was altered, or signed for another use"
        else:
            why = f"it is signed by another key than the one you named: {found.fingerprint}"
        raise RegisterError(
            f"this file is not taken in: {why}; nothing was written",
            mend="ask the sender for the file and the key's fingerprint again; --unverified takes "
            "it all the same",
            exit_code=Exit.REFUSED,
            code="signature-wrong",
        )
    return found


def _check_content(manifest: Manifest, opened: Opened) -> None:
    """Every file is what the manifest says, none is missing and none too many."""
    found = {path: sha256(data).hexdigest() for path, data in opened.files.items()}
    if manifest.tip != opened.tip or manifest.files != found:
        raise refuse_file("what it holds is not what its manifest lists: it was altered")


def _parse_all(files: Mapping[str, bytes], tell: Tell) -> dict[str, Parsed]:
    parsed = {}
    for number, path in enumerate(sorted(path for path in files if path.endswith(".yaml"))):
        if number % 50 == 0:
            tell("reading the records", number, len(files))
        parsed[path] = parse_text(path, files[path])
    return parsed


def _read_records(files: Mapping[str, bytes], tell: Tell = say_nothing) -> Records:
    parsed = _parse_all(files, tell)
    for path, one in parsed.items():
        if one.node is None or any(problem.level == "error" for problem in one.problems):
            raise refuse_file(f"{path} cannot be read")
    records = build_records((path, one.node) for path, one in parsed.items())
    if records.is_newer:
        raise refuse_file("its records are of a newer program: bring tailsheaf up to date")
    for problem in records.problems:
        if problem.level == "error":
            raise refuse_file(f"{problem.place}: {problem.says}")
    if len(records.aircraft) != 1:
        raise refuse_file(f"it holds {len(records.aircraft)} aircraft instead of one")
    for shelf in SHELVES:
        for name, file in getattr(records, shelf).items():
            if not file.id:
                raise refuse_file(f"{name} has no id")
    return records


def _hold_beside(
    fleet: Fleet,
    manifest: Manifest,
    opened: Opened,
    theirs: Records,
    wanted: Wanted,
    signature: Signature,
    repository: Path,
) -> Arrival:
    aircraft, file = next(iter(theirs.aircraft.items()))
    asked = {**wanted.names, **({aircraft: wanted.as_name} if wanted.as_name else {})}
    namings = name_things(fleet.records, theirs, asked, known_things(fleet.records))
    names = {(naming.shelf, naming.theirs): naming.ours for naming in namings}
    local = next(naming for naming in namings if naming.shelf == "aircraft")
    earlier, earlier_day = _earlier(fleet, local.ours) if local.known else (None, "")
    old = _read_earlier(fleet.root, earlier) if earlier else {}
    before = None if not old else theirs if old == opened.files else _read_records(old)
    bytes_of = (fleet.sources, opened.files, old)
    compared = compare_records(
        theirs,
        before,
        names,
        fleet.ledger,
        bytes_of,
        _received_ids(fleet),
        is_known=local.known,
    )
    laid = _lay_beside(fleet, theirs, namings, compared, (old, opened.files))
    return Arrival(
        aircraft,
        file.title,
        manifest.day,
        opened.tip,
        signature,
        namings,
        compared,
        laid.standing,
        _same_marks(fleet, local.ours, mark_of(file.node)),
        laid.files,
        laid.base,
        find_missing(fleet.records, theirs),
        Ledger(theirs),
        earlier,
        local.known and earlier is None,
        is_older(theirs, before, (manifest.day.isoformat(), earlier_day)),
        manifest.left,
        repository,
        find_differing(fleet.records, theirs),
        laid.come_true,
        _signed_before(fleet, local.ours),
        find_serials(fleet.records, theirs, namings),
    )


def _signed_before(fleet: Fleet, aircraft: str) -> str:
    signer = read_mark(fleet.records, aircraft).signer
    return "" if signer == UNSIGNED else signer


class Laid(Struct, frozen=True):
    """What would be written, what it was before, what stays, and which parts come true."""

    files: dict[str, bytes]
    base: dict[str, bytes]
    standing: tuple[str, ...]
    come_true: tuple[str, ...]


def _lay_beside(
    fleet: Fleet,
    theirs: Records,
    namings: tuple[Naming, ...],
    compared: Compared,
    sides: tuple[Mapping[str, bytes], Mapping[str, bytes]],
) -> Laid:
    """Lay the files of the file before and of this one beside those that are here."""
    names = {(naming.shelf, naming.theirs): naming.ours for naming in namings}
    base, files = (place_all(side, names) for side in sides)
    first = tuple(naming for naming in namings if _path_of(naming) not in base)
    true = find_true(fleet.records, theirs, first, fleet.sources, _read_received(fleet))
    base.update((one.path, one.before) for one in true)
    standing = tuple(
        path
        for path in files
        if path in fleet.sources and path not in base and "/events/" not in path
    )
    stay = keep_true(fleet.records, theirs, namings)
    held = {path: fleet.sources[path] for path in compared.joined}
    pictures = pictures_here(theirs, fleet.ledger, names, base)
    kept = {*compared.ours, *compared.doubled, *standing, *stay, *pictures}
    return Laid(
        {**keep_ours(files, kept), **compared.joined},
        {**keep_ours(base, kept), **held},
        standing,
        tuple(one.name for one in true),
    )


def _received_ids(fleet: Fleet) -> frozenset[str]:
    """Ids of the records that came by a handover: those in the files taken in last."""
    tips = (_earlier(fleet, aircraft)[0] for aircraft in fleet.records.aircraft)
    paths = (path for tip in tips if tip is not None for path in read_tree(fleet.root, tip))
    return frozenset(
        path.removesuffix(".yaml").rpartition("-")[2] for path in paths if "/events/" in path
    )


def _path_of(naming: Naming) -> str:
    return SHELVES[naming.shelf][0].format(naming.ours)


def _read_received(fleet: Fleet) -> Iterator[dict[str, bytes]]:
    """Part files of each handover file that was taken in last for its aircraft."""
    for aircraft in fleet.records.aircraft:
        tip, _ = _earlier(fleet, aircraft)
        if tip is not None:
            yield _read_earlier(fleet.root, tip, "parts/*/part.yaml")


def _same_marks(fleet: Fleet, local: str, mark: str) -> tuple[str, ...]:
    return tuple(
        f"{mark} is the registration of {name} here too"
        for name, file in fleet.records.aircraft.items()
        if mark and name != local and mark_of(file.node) == mark
    )


def _earlier(fleet: Fleet, aircraft: str) -> tuple[str | None, str]:
    """The file of the same aircraft that was taken in last: the commit it ended in, its day."""
    mark = read_mark(fleet.records, aircraft)
    return (None, "") if mark.tip is None else (read_tip(fleet.root, mark.tip), mark.day)


def _read_earlier(root: Path, tip: str, pattern: str = "*") -> dict[str, bytes]:
    tree = {path: id_ for path, id_ in read_tree(root, tip).items() if fnmatch(path, pattern)}
    blobs = read_blobs(root, tree.values())
    return {path: blobs[id_] for path, id_ in tree.items()}


def take_arrival(fleet: Fleet, arrival: Arrival, beside: Mapping[str, bytes]) -> Taken:
    """Write what comes in, in one commit whose second parent is the received history.

    `beside` are files of this fleet's own that go into the same commit (the change of owner).
    Raises RegisterError: REFUSED `id-clash`, `file-older`, or as `take_joined` does.
    """
    _refuse_clashes(arrival)
    root = fleet.root
    home = f"aircraft/{arrival.local_name}/aircraft.yaml"
    before = read_mark(fleet.records, arrival.local_name)
    machines = {*before.machines, *_strangers(fleet, arrival)}
    mark = make_mark(arrival.tip, arrival.day.isoformat(), arrival.signature.signer, machines)
    files = dict(arrival.files)
    base = dict(arrival.base)
    if home in files:
        files[home] = put_mark(home, files[home], mark)
    if arrival.earlier is not None and home in base:
        # As this program wrote it then: else the mark itself would look like a change.
        base[home] = put_mark(home, base[home], before)
    edited = add_declared(fleet.sources.get("fleet.yaml", b""), arrival.declares)
    if home in arrival.standing:
        edited[home] = put_mark(home, fleet.sources[home], mark)
    kept = f"{RECEIVED}/{arrival.tip[:20]}"

    def join(own: str | None) -> Joined:
        if own is None:
            raise RegisterError("the fleet has no commit yet", mend="tailsheaf save")
        fetch_ref(root, "file", str(arrival.repository), "refs/heads/main", kept)
        ours = read_tree(root, own)
        known = (*files.values(), *base.values(), *edited.values(), *beside.values())
        blobs = {hash_blob(data, own): data for data in known}
        was, now, mine = (
            {path: hash_blob(data, own) for path, data in side.items()}
            for side in (base, files, {**edited, **beside})
        )

        def load(id_: str) -> bytes:
            return blobs[id_] if id_ in blobs else read_blobs(root, [id_])[id_]

        told = {*was, *now}
        theirs = {**{path: id_ for path, id_ in ours.items() if path not in told}, **now}
        rest = {path: id_ for path, id_ in ours.items() if path not in told}
        merged = merge_trees({**rest, **was}, ours, theirs, load, lambda data: hash_blob(data, own))
        tree = {**merged.tree, **mine}
        if tree == ours:
            return Joined(own, ours)
        fresh = {**blobs, **merged.fresh}
        return Joined(commit_tree(root, (own, arrival.tip), ours, tree, fresh, WORDS), tree)

    return take_joined(root, join)


def _strangers(fleet: Fleet, arrival: Arrival) -> set[str]:
    """Machines that wrote what comes in and are not of this fleet: nothing else here is theirs."""
    theirs = arrival.ledger.settled.originals
    own = {machine_id(fleet.root) or "m-none", HANDOVER, "", *fleet.records.fleet.machines}
    apart = {*machines_elsewhere(fleet.records)}
    for event in fleet.ledger.settled.originals.values():
        # What the file before brought was not written here either.
        is_own = event.id not in theirs or not arrival.is_update
        if is_own and event.machine not in apart:
            own.add(event.machine)
    return {event.machine for event in theirs.values()} - own


def _refuse_clashes(arrival: Arrival) -> None:
    collisions = arrival.compared.collisions
    if collisions:
        raise RegisterError(
            f"{len(collisions)} records have ids of other records here "
            f"(the first: {collisions[0].id}); nothing was written",
            mend="ask the sender for a new file; a copy of your own fleet is for tailsheaf sync",
            exit_code=Exit.REFUSED,
            code="id-clash",
        )
    if arrival.older:
        raise RegisterError(
            f"this file is of {arrival.day.isoformat()}, older than the one of this aircraft "
            "that was taken in last; nothing was written",
            mend="nothing: what it has is here already",
            exit_code=Exit.REFUSED,
            code="file-older",
        )
