"""Handing one aircraft over: the composer of the handover command.

Ledger -> scope -> every revision rewritten -> a fresh repository -> checks -> one file. The
leak scan looks at everything that is about to go, and one leak stops all of it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date
from decimal import Decimal
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
    find_first,
    find_people,
    list_all_past,
    list_past,
    make_repository,
    read_objects,
)
from register.git.heads import read_blobs
from register.git.repository import check_place, read_own_marker
from register.git.wrapper import require_git
from register.ledger.ledger import Ledger
from register.ledger.places import HANDOVER
from register.records.bodies import Other
from register.records.gathering import build_records
from register.storage.names import ATTACHMENTS, is_attachment
from register.text.document import read_plain
from register.text.emitting import render_yaml
from register.text.nodes import Plain
from register.text.parsing import parse_text
from register.transfer.leaving import find_removals
from register.transfer.manifest import LeftOut, make_manifest
from register.transfer.masking import Masker, Tokens
from register.transfer.objects import refuse_leaks, scan_objects, scan_texts
from register.transfer.past import PastChange, Retelling, Step, event_path
from register.transfer.rewriting import FreeText, Rewriter
from register.transfer.scanning import Scanner
from register.transfer.scope import Scope, find_scope
from register.transfer.seeking import find_tokens
from register.transfer.stages import Tell, say_nothing
from register.transfer.unreadable import refuse_unread
from register.transfer.usage import Usage, find_usage
from register.trouble import Exit, RegisterError

#: Bytes of a bundle at most.
LARGEST_BUNDLE = 200 * 1024 * 1024


class Wish(Struct, frozen=True):
    """What the owner wants of a handover: parts more and less, records to leave out."""

    aircraft: str
    more: tuple[str, ...] = ()
    less: tuple[str, ...] = ()
    leave: tuple[str, ...] = ()
    went: tuple[str, ...] | None = None


class Kept(Struct, frozen=True):
    """Pictures that go, by their path there, and kept files of other forms, which do not."""

    pictures: dict[str, bytes]
    names: dict[str, str]
    others: tuple[str, ...]


class Prepared(Struct, frozen=True):
    """A handover put together in memory: nothing is written yet.

    `files` is the new owner's fleet as it will be, `kept` the pictures in it; `steps` how it
    came about; `ledger` what they compute from it; `unread` are files of the aircraft's that
    no record could be made of.
    """

    scope: Scope
    tokens: Tokens
    usage: tuple[Usage, ...]
    steps: tuple[Step, ...]
    files: dict[str, bytes]
    kept: Kept
    texts: tuple[FreeText, ...]
    dropped: dict[str, int]
    withheld: int
    masked: int
    unread: tuple[str, ...]
    ledger: Ledger

    @property
    def left_out(self) -> LeftOut:
        """What stays behind, by number."""
        return LeftOut(
            self.scope.stubs,
            len(self.scope.left),
            self.withheld + len(self.unread),
            self.masked,
            len(self.kept.others),
            sum(self.dropped.values()),
        )


def prepare(fleet: Fleet, wish: Wish, day: date, tell: Tell = say_nothing) -> Prepared:
    """Put a handover together: everything that would go, rewritten and compared.

    `day` is that of the change of owner. Raises RegisterError: USAGE as `find_scope` does;
    REFUSED `private-unread` where private words cannot be known, and
    `totals-differ` where the new owner would compute other totals than this register.
    """
    root, ledger = fleet.root, _until(fleet.ledger, day)
    check_history(root)
    refuse_unread(fleet.problems)
    scope = find_scope(
        ledger, wish.aircraft, wish.more, wish.less, wish.leave, wish.went, until=day
    )
    tell("reading the history", 0, 0)
    blobs: dict[str, bytes] = {}
    all_past = list_all_past(root)
    branch = read_own_marker(root).branch
    private = read_past(root, all_past, lambda path: path.endswith(".yaml"), blobs)
    tokens = find_tokens(fleet.records, scope, private, fleet.sources, find_people(all_past))
    usage = find_usage(ledger, scope)
    kept = _find_kept(fleet, scope)
    rewriter = Rewriter(
        ledger,
        scope,
        Masker(tokens, Scanner(tokens).is_clean),
        find_first(root, branch, all_past),
        {id_: item.id for item in usage for id_ in item.stands_for},
        kept.names,
    )
    kinds = {id_: event.kind for id_, event in ledger.settled.originals.items()}
    retelling = Retelling(rewriter, kinds)
    commits = list_past(root, branch, all_past)
    past = read_past(root, commits, retelling.concerns, blobs)
    steps = list(retelling.retell(_tell_each(past, tell)))
    files = _as_it_is(fleet, retelling, usage, day)
    last = past[-1].date if past else b"0 +0000"
    steps.append(Step(last, "As it is now", tuple(sorted({**files, **kept.pictures}.items()))))
    tell("reading back what would go", 0, 0)
    theirs = read_files(files)
    _compare(ledger, theirs, scope)
    return Prepared(
        scope,
        tokens,
        usage,
        tuple(steps),
        files,
        kept,
        tuple(rewriter.texts.values()),
        rewriter.dropped.keys,
        retelling.withheld.count,
        sum(text.was_masked for text in rewriter.texts.values()),
        tuple(path for path in fleet.unread if _is_of(scope, path)),
        theirs,
    )


def _until(ledger: Ledger, day: date) -> Ledger:
    """The ledger as it was on the day of the change of owner: later facts are not the new
    owner's. Corrections typed since are in it."""
    is_later = any(event.moment.day > day for event in ledger.settled.events)
    return ledger.at(day) if is_later else ledger


def check_history(root: Path) -> None:
    """Raises RegisterError (CANNOT_RUN) where there is no history of this program's."""
    if not check_place(root):
        raise RegisterError(
            "this fleet has no history, and a handover carries one",
            mend="tailsheaf init DIR   makes a fleet with one",
            exit_code=Exit.CANNOT_RUN,
            code="no-history",
        )
    require_git(root)


def _is_of(scope: Scope, path: str) -> bool:
    kind, _, rest = path.partition("/")
    name = rest.partition("/")[0]
    return (kind == "aircraft" and name == scope.aircraft) or (
        kind == "parts" and name in scope.parts
    )


def read_past(
    root: Path,
    commits: Sequence[PastCommit],
    wanted: Callable[[str], bool],
    blobs: dict[str, bytes],
) -> tuple[PastChange, ...]:
    """Every change in a history, with the bytes of the records whose paths are wanted.

    `blobs` are those read before, by id; what is read now is put in.
    """
    chosen = [
        (commit.date, [(path, id_) for path, id_ in commit.changes if id_ and wanted(path)])
        for commit in commits
    ]
    lacking = {id_ for _, files in chosen for _, id_ in files} - blobs.keys()
    blobs.update(read_blobs(root, sorted(lacking)))
    return tuple(
        PastChange(when, tuple((path, blobs[id_]) for path, id_ in files)) for when, files in chosen
    )


def _tell_each(past: Sequence[PastChange], tell: Tell) -> Iterator[PastChange]:
    for number, change in enumerate(past):
        if number % 50 == 0:
            tell("rewriting the history", number, len(past))
        yield change


def _find_kept(fleet: Fleet, scope: Scope) -> Kept:
    """Pictures of notes that go, bare; their names say nothing but the day."""
    from register.storage.folder import read_file
    from register.storage.pictures import bare_picture, sort_file

    pictures: dict[str, bytes] = {}
    names: dict[str, str] = {}
    others: list[str] = []
    for id_, event in sorted(fleet.ledger.settled.originals.items()):
        path = event.body.attachment if isinstance(event.body, Other) else None
        if path is None or id_ not in scope.homes:
            continue
        data = read_file(fleet.root, path) if is_kept_path(path) else None
        if data is None or sort_file(path, data) != "picture":
            others.append(path)
            continue
        try:
            picture = bare_picture(path, data)
        except RegisterError:
            others.append(path)
            continue
        name = f"{event.moment.day.isoformat()}-{id_}.{picture.ending}"
        pictures[f"{scope.homes[id_]}/{ATTACHMENTS}/{name}"] = picture.data
        for written in (path, f"{ATTACHMENTS}/{path.rpartition('/')[2]}"):
            names[written] = f"{ATTACHMENTS}/{name}"
    return Kept(pictures, names, tuple(others))


def is_kept_path(path: str) -> bool:
    """Whether a path in a record leads to a kept file and nowhere else."""
    return is_attachment(path) and ".." not in path.split("/")


def _as_it_is(
    fleet: Fleet, retelling: Retelling, usage: Sequence[Usage], day: date
) -> dict[str, bytes]:
    """The new owner's files as they will be: what stands on the disk now, rewritten."""
    rewriter = retelling.rewriter
    scope = rewriter.scope
    files: dict[str, bytes] = {}
    for path, data in fleet.sources.items():
        found = retelling.rewrite(path, data)
        if found is not None:
            files[found[0]] = found[1]

    def add(folder: str, record: Mapping[str, Plain]) -> None:
        whole = {**record, "machine": HANDOVER}
        kind, id_ = str(record["record"]), str(record["id"])
        files[event_path(folder, str(record["when"]), kind, id_)] = render_yaml(whole).encode()

    for item in usage:
        add(f"parts/{item.part}", {**item.record, "part": rewriter.written("part", item.part)})
    for gone in find_removals(rewriter.ledger, scope, day, rewriter.written):
        folder = f"aircraft/{scope.aircraft}" if "aircraft" in gone.record else f"parts/{gone.part}"
        add(folder, gone.record)
    plain: Plain = None
    if "fleet.yaml" in files:
        node = parse_text("fleet.yaml", files["fleet.yaml"]).node
        plain = None if node is None else read_plain(node)
    own = plain if isinstance(plain, dict) else {}
    head: dict[str, Plain] = {"schema": 1, "name": f"{scope.aircraft}, handed over"}
    files["fleet.yaml"] = render_yaml({**head, **own}).encode()
    return files


def read_files(files: Mapping[str, bytes]) -> Ledger:
    """What the new owner computes from these files."""
    nodes = [(path, parse_text(path, data).node) for path, data in files.items()]
    return Ledger(build_records(nodes))


def _compare(ours: Ledger, theirs: Ledger, scope: Scope) -> None:
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
    """What goes into the one file: its members by name."""

    members: dict[str, bytes]
    tip: str


def pack(
    fleet: Fleet,
    prepared: Prepared,
    program: str,
    day: date,
    beside: Mapping[str, bytes],
    sign: Path | None = None,
    tell: Tell = say_nothing,
) -> Packed:
    """Make the fresh repository, check and scan it, and write bundle and manifest.

    `beside` are texts that go along (the dossier). Raises RegisterError (REFUSED `leak`)
    where anything private is found in any of it.
    """
    from register.git.signing import sign_manifest
    from register.storage.outside import read_outside
    from register.storage.parcel import HISTORY, MANIFEST, SIGNATURE
    from register.storage.scratch import scratch_folder, write_scratch

    with scratch_folder(fleet.root, "handing") as folder:
        repository = folder / "out.git"
        make_repository(repository)
        tell("writing the new history", 0, 0)
        tip = fill_repository(repository, make_commits(prepared))
        tell("checking it", 0, 0)
        check_repository(repository)
        tell("searching it for private words", 0, 0)
        refuse_leaks(
            scan_objects(read_objects(repository), count_reachable(repository), prepared.tokens)
        )
        bundle_path = folder / "history.bundle"
        bundle_repository(repository, bundle_path)
        bundle = read_outside(bundle_path, LARGEST_BUNDLE)
        manifest = make_manifest(
            prepared.scope,
            prepared.ledger,
            {**prepared.files, **prepared.kept.pictures},
            prepared.left_out,
            bundle,
            tip,
            len(prepared.steps),
            program,
            day,
        )
        members = {HISTORY: bundle, MANIFEST: manifest, **beside}
        refuse_leaks(scan_texts({MANIFEST: manifest, **beside}, prepared.tokens))
        if sign is not None:
            path = write_scratch(folder, MANIFEST, manifest)
            members[SIGNATURE] = read_outside(sign_manifest(path, sign), LARGEST_BUNDLE)
    return Packed(members, tip)


def make_commits(prepared: Prepared) -> Iterator[NewCommit]:
    """One commit a step; what no longer lies where it did is taken away with the last."""
    there: set[str] = set()
    last = len(prepared.steps) - 1
    for number, step in enumerate(prepared.steps):
        files: list[tuple[str, bytes | None]] = [*step.files]
        there.update(path for path, _ in step.files)
        if number == last:
            files.extend((path, None) for path in there - {path for path, _ in step.files})
        yield NewCommit("p-owner", step.date, step.words, tuple(files))
