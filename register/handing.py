"""Handing one aircraft over: the composer of the handover command.

Ledger -> scope -> every revision rewritten -> a fresh repository -> checks -> one file. The
leak scan looks at everything that is about to go, and one leak stops all of it.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from datetime import date
from decimal import Decimal
from hashlib import sha256
from pathlib import Path

from msgspec import Struct

from register.fleet import Fleet
from register.git.handing import (
    NewCommit,
    PastCommit,
    bundle_repository,
    check_repository,
    count_reachable,
    fill_repository,
    list_all_past,
    list_past,
    make_repository,
    read_objects,
)
from register.git.heads import read_blobs
from register.git.repository import read_own_marker
from register.ledger.ledger import Ledger
from register.records.gathering import build_records
from register.text.emitting import render_yaml
from register.text.nodes import Plain
from register.text.parsing import parse_text
from register.transfer.masking import Masker, Tokens, collect_marked, collect_private, make_tokens
from register.transfer.objects import texts_of
from register.transfer.past import PastChange, Retelling, Step, collect_tokens, event_path
from register.transfer.rewriting import FreeText, Rewriter
from register.transfer.scanning import Leak, Scanner
from register.transfer.scope import Scope, find_scope
from register.transfer.usage import Usage, find_usage
from register.trouble import Exit, RegisterError

Tell = Callable[[int, int], None]
FORMAT = 1


class Wish(Struct, frozen=True):
    """What the owner wants of a handover: parts more and less, records to leave out."""

    aircraft: str
    more: tuple[str, ...] = ()
    less: tuple[str, ...] = ()
    leave: tuple[str, ...] = ()


class Prepared(Struct, frozen=True):
    """A handover put together in memory: nothing is written yet.

    `files` is the new owner's fleet as it will be; `steps` how it came about; `ledger` what
    they compute from it.
    """

    scope: Scope
    tokens: Tokens
    usage: tuple[Usage, ...]
    steps: tuple[Step, ...]
    files: dict[str, bytes]
    texts: tuple[FreeText, ...]
    dropped: dict[str, int]
    withheld: int
    masked: int
    salt: str
    ledger: Ledger


def prepare(fleet: Fleet, wish: Wish, salt: str, day: date, tell: Tell | None = None) -> Prepared:
    """Put a handover together: everything that would go, rewritten and compared.

    Raises RegisterError: USAGE as `find_scope` does; REFUSED `totals-differ` where the new
    owner would compute other totals than this register does.
    """
    ledger = fleet.ledger
    scope = find_scope(ledger, wish.aircraft, wish.more, wish.less, wish.leave)
    past = _read_past(fleet, list_past(fleet.root, read_own_marker(fleet.root).branch), tell)
    tokens = _find_tokens(fleet, scope, _read_past(fleet, list_all_past(fleet.root), None))
    usage = find_usage(ledger, scope)
    stand_ins = {id_: item.id for item in usage for id_ in item.stands_for}
    masker = Masker(tokens)
    rewriter = Rewriter(ledger, scope, masker, salt, stand_ins)
    kinds = {id_: event.kind for id_, event in ledger.settled.originals.items()}
    retelling = Retelling(rewriter, kinds)
    steps = list(retelling.retell(past))
    files = _as_it_is(fleet, retelling, usage, scope, rewriter)
    steps.append(Step(_last_date(past), "As it is now", tuple(sorted(files.items()))))
    theirs = read_files(files)
    _compare(ledger, theirs, scope, day)
    return Prepared(
        scope,
        tokens,
        usage,
        tuple(steps),
        files,
        tuple(rewriter.texts.values()),
        rewriter.dropped.keys,
        retelling.withheld.count,
        masker.masked,
        salt,
        theirs,
    )


def _last_date(past: Sequence[PastChange]) -> bytes:
    return past[-1].date if past else b"0 +0000"


def _read_past(
    fleet: Fleet, commits: Sequence[PastCommit], tell: Tell | None
) -> tuple[PastChange, ...]:
    """Every change in a history, with its bytes."""
    wanted = {id_ for commit in commits for path, id_ in commit.changes if id_ and _is_text(path)}
    blobs = read_blobs(fleet.root, sorted(wanted))
    found = []
    for number, commit in enumerate(commits):
        if tell is not None and number % 100 == 0:
            tell(number, len(commits))
        files = tuple(
            (path, None if id_ is None else blobs[id_])
            for path, id_ in commit.changes
            if _is_text(path)
        )
        found.append(PastChange(commit.date, files))
    return tuple(found)


def _is_text(path: str) -> bool:
    return path.endswith(".yaml")


def _find_tokens(fleet: Fleet, scope: Scope, past: Sequence[PastChange]) -> Tokens:
    """Every private value that any revision ever held, and the names of all other aircraft."""
    private: set[str] = set()
    records = fleet.records

    def take(path: str, data: dict[str, Plain]) -> None:
        if path == "private.yaml":
            collect_private(data, private)
        else:
            collect_marked(data, private)
        where = data.get("where") if path == "stock.yaml" else None
        if where is not None:
            collect_private(where, private)

    collect_tokens(past, take)
    private.update(title for title in records.fleet.machines.values() if title)
    private.update((records.fleet.name,) if len(records.fleet.name) > 3 else ())
    others: set[str] = set()
    for name, file in records.aircraft.items():
        if name != scope.aircraft:
            others.update(word for word in (name, file.title, file.id or "") if word)
    own = records.aircraft[scope.aircraft]
    # A price list has parts for its keys: their names are in every record of theirs.
    kept = {scope.aircraft, own.title, *records.parts, *records.kits, *PRIVATE_WORDS}
    return make_tokens(private, others, kept)


#: Keys of private.yaml itself, which say nothing about anybody.
PRIVATE_WORDS = frozenset(
    ("people", "name", "owner", "second", "prices", "suppliers", "places", "address", "salt",
     "handover", "phone", "email", "title", "cost", "costs")
)  # fmt: skip


def _as_it_is(
    fleet: Fleet, retelling: Retelling, usage: Sequence[Usage], scope: Scope, rewriter: Rewriter
) -> dict[str, bytes]:
    """The new owner's files as they will be: what stands on the disk now, rewritten."""
    files: dict[str, bytes] = {}
    for path, data in fleet.sources.items():
        found = retelling.rewrite(path, data)
        if found is not None:
            files[found[0]] = found[1]
    for item in usage:
        record = {**item.record, "machine": "handover"}
        path = event_path(f"parts/{item.part}", str(record["when"]), "usage-elsewhere", item.id)
        files[path] = render_yaml(record).encode()
    name: dict[str, Plain] = {"schema": 1, "name": f"{scope.aircraft}, handed over"}
    ours = parse_text("fleet.yaml", files["fleet.yaml"])
    if ours.node is not None:
        from register.text.document import read_plain

        plain = read_plain(ours.node)
        name.update(plain if isinstance(plain, dict) else {})
    files["fleet.yaml"] = render_yaml(name).encode()
    return files


def read_files(files: dict[str, bytes]) -> Ledger:
    """What the new owner computes from these files."""
    nodes = [(path, parse_text(path, data).node) for path, data in files.items()]
    return Ledger(build_records(nodes))


def _compare(ours: Ledger, theirs: Ledger, scope: Scope, day: date) -> None:
    """Totals there must be those here, of the aircraft and of every part that goes."""
    subjects = [("aircraft", scope.aircraft), *(("part", name) for name in scope.parts)]
    odd = []
    for subject in subjects:
        for counter in ours.listed_counters(subject):
            here, there = ours.value(subject, counter), theirs.value(subject, counter)
            if (here.low, here.high) != (there.low, there.high):
                odd.append(f"{subject[1]} {counter}: {_tell(here.low)} here, {_tell(there.low)}")
    if odd:
        raise RegisterError(
            f"the new owner would compute other totals: {'; '.join(odd[:4])}; nothing was written",
            mend="tailsheaf check   may say why; then the handover again",
            exit_code=Exit.REFUSED,
            code="totals-differ",
        )


def _tell(value: Decimal) -> str:
    return format(value.normalize(), "f")


class Packed(Struct, frozen=True):
    """What goes into the one file: the history, the manifest, the dossier."""

    bundle: bytes
    manifest: bytes
    tip: str


def pack(fleet: Fleet, prepared: Prepared, program: str, day: date) -> Packed:
    """Make the fresh repository, check and scan it, and write bundle and manifest.

    Raises RegisterError (REFUSED `leak`) where anything private is found in it.
    """
    from register.storage.scratch import scratch_folder

    with scratch_folder(fleet.root, "handing") as folder:
        repository = folder / "out.git"
        make_repository(repository)
        commits = [
            NewCommit("p-owner", step.date, step.words, tuple(step.files))
            for step in prepared.steps
        ]
        tip = fill_repository(repository, commits)
        check_repository(repository)
        leaks = scan_repository(repository, prepared.tokens)
        _refuse_leaks(leaks)
        bundle_path = folder / "history.bundle"
        bundle_repository(repository, bundle_path)
        from register.storage.outside import read_outside

        bundle = read_outside(bundle_path, 512 * 1024 * 1024)
    manifest = make_manifest(prepared, bundle, tip, program, day)
    scanner = Scanner(prepared.tokens)
    _refuse_leaks(list(scanner.scan("manifest.json", manifest)))
    return Packed(bundle, manifest, tip)


def scan_repository(repository: Path, tokens: Tokens) -> list[Leak]:
    """Search every object, reachable or not; one that nothing leads to is a leak as well."""
    scanner = Scanner(tokens)
    leaks: list[Leak] = []
    count = 0
    for kind, data in read_objects(repository):
        count += 1
        leaks.extend(scanner.scan(kind, texts_of(kind, data)))
    if count != count_reachable(repository):
        leaks.append(Leak("", "repository", "an object that no record leads to"))
    return leaks


def _refuse_leaks(leaks: Sequence[Leak]) -> None:
    if leaks:
        found = ", ".join(sorted({f"{leak.form} in a {leak.where}" for leak in leaks})[:4])
        raise RegisterError(
            f"the leak scan found {len(leaks)} private value(s) in what was to go ({found}); "
            "nothing was written",
            mend="tailsheaf handover AIRCRAFT   shows every text that would go; amend those",
            exit_code=Exit.REFUSED,
            code="leak",
        )


def make_manifest(prepared: Prepared, bundle: bytes, tip: str, program: str, day: date) -> bytes:
    """What is in the file, by content: the same content gives the same bytes."""
    scope = prepared.scope
    file = prepared.ledger.records.aircraft[scope.aircraft]
    records = {
        event.id: sha256(prepared.files[event.path]).hexdigest()
        for event in prepared.ledger.records.events
    }
    data = {
        "format": FORMAT,
        "program": program,
        "day": day.isoformat(),
        "aircraft": {"name": scope.aircraft, "id": file.id, "title": file.title},
        "parts": list(scope.parts),
        "not_included": list(scope.stubs),
        "tip": tip,
        "bundle_sha256": sha256(bundle).hexdigest(),
        "records": dict(sorted(records.items())),
        "files": {
            path: sha256(content).hexdigest() for path, content in sorted(prepared.files.items())
        },
        "usage_elsewhere": [item.id for item in prepared.usage],
        "revisions": len(prepared.steps),
        "withheld_revisions": prepared.withheld,
        "masked_words": prepared.masked,
    }
    return json.dumps(data, indent=1, ensure_ascii=True).encode("ascii") + b"\n"
