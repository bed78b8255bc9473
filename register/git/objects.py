"""Ask which objects can be read, what a commit lacks, and make lost ones again.

A lost blob is made again where a file of the fleet has its bytes: a record is
written once, so it almost always has. Lost trees are made again from the index.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from register.git.blame import blames_disk
from register.git.blobs import hash_blob
from register.git.case import Case
from register.git.lineage import Commit, parse_commits
from register.git.wrapper import git_failed
from register.storage import rescue

INDEX = ".git/index"


@dataclass
class Objects:
    """The objects that can be read, by id with their kinds, and the commits among them."""

    kinds: dict[str, str]
    commits: Mapping[str, Commit]
    lacks: dict[tuple[str, bool], frozenset[str] | None] = field(default_factory=dict)
    given_up: set[str] = field(default_factory=set)

    def is_there(self, id: str) -> bool:
        """Whether the object can be read."""
        return id in self.kinds


def read_objects(case: Case) -> Objects:
    """List every object of the fleet, packed, loose or borrowed."""
    check = "--batch-check=%(objectname) %(objecttype)"
    said = case.ask(["cat-file", "--batch-all-objects", "--buffer", check]).stdout
    kinds: dict[str, str] = {}
    for line in said.decode("ascii", "replace").splitlines():
        id, _, kind = line.partition(" ")
        if kind in ("blob", "tree", "commit", "tag"):
            kinds[id] = kind
    wanted = [id for id, kind in kinds.items() if kind == "commit"]
    stdin = "".join(f"{id}\n" for id in wanted).encode("ascii")
    commits = parse_commits(case.ask(["cat-file", "--batch", "--buffer"], stdin).stdout)
    return Objects(kinds, commits)


def find_lacks(
    case: Case, objects: Objects, commit: str, *, only_this: bool = False
) -> frozenset[str] | None:
    """Return the ids a commit's history lacks, or None where it cannot even be walked.

    With `only_this` the commit's own files and folders are asked about, not its past.
    """
    key = (commit, only_this)
    if key not in objects.lacks:
        options = ["--no-walk"] if only_this else []
        result = case.ask(
            ["rev-list", "--objects", "--missing=print", "--no-object-names", *options, commit]
        )
        lines = result.stdout.decode("ascii", "replace").split("\n")
        found = frozenset(line[1:] for line in lines if line.startswith("?"))
        objects.lacks[key] = None if result.returncode else found
    return objects.lacks[key]


def is_whole(case: Case, objects: Objects, commit: str, *, only_this: bool = False) -> bool:
    """Whether nothing at all of a commit's history (or of the commit alone) is lacking."""
    return find_lacks(case, objects, commit, only_this=only_this) == frozenset()


def complete(case: Case, objects: Objects, commit: str, *, only_this: bool = False) -> bool:
    """Make again what a commit lacks; return whether it is whole then."""
    # A folder made again may show the files it lacks: a tree is a few levels deep.
    for _ in range(12):
        lacks = find_lacks(case, objects, commit, only_this=only_this)
        if not lacks or not lacks - objects.given_up:
            break
        restore_lost(case, objects, lacks)
    return is_whole(case, objects, commit, only_this=only_this)


def restore_lost(case: Case, objects: Objects, lost: Iterable[str]) -> None:
    """Make lost objects again, from the index and from the fleet's files, as far as they go."""
    wanted = set(lost) - objects.given_up
    if not wanted:
        return
    objects.given_up |= wanted
    _restore_trees(case, objects, wanted)
    if wanted - objects.kinds.keys():
        _restore_blobs(case, objects, wanted)
    objects.lacks.clear()


def _restore_trees(case: Case, objects: Objects, wanted: set[str]) -> None:
    """Write every folder of the index anew: the lost ones among them are there again."""
    listed = case.ask(["ls-files", "--stage", "-z"], index=case.root.absolute() / INDEX)
    if listed.returncode or not listed.stdout:
        return
    if case.acts:
        case.begin()
    # A new index of our own: the old one remembers lost folders as written.
    copy = case.scratch / "index"
    _write(case, ["update-index", "-z", "--index-info"], listed.stdout, copy)
    if not _write(case, ["write-tree", "--missing-ok"], None, copy):
        return
    now = read_objects(case)
    for id in sorted(wanted & now.kinds.keys() - objects.kinds.keys()):
        place = f".git/objects/{id[:2]}/{id[2:]}"
        case.note("object-lost", place, "is gone", "made again from the index")
    objects.kinds.update(now.kinds)


def _restore_blobs(case: Case, objects: Objects, wanted: set[str]) -> None:
    like = next(iter(wanted))
    for path in rescue.list_work_files(case.root):
        data = rescue.read_any(case.root, path)
        id = "" if data is None else hash_blob(data, like)
        if id not in wanted or id in objects.kinds:
            continue
        if case.acts:
            case.begin()
        if _write(case, ["hash-object", "-w", "--stdin"], data):
            objects.kinds[id] = "blob"
            place = f".git/objects/{id[:2]}/{id[2:]}"
            case.note("object-lost", place, "is gone", f"made again from {path}")


def _write(case: Case, args: list[str], stdin: bytes | None, index: Path | None = None) -> bool:
    """Run a git command that makes objects; whether it did.

    Raises RegisterError where the disk refused: what could be made again must not be given up
    for that, and the branch turned back.
    """
    result = case.ask(args, stdin, index=index)
    if result.returncode and blames_disk(result.stderr):
        raise git_failed(args[0], result.stderr)
    return result.returncode == 0
