"""Look after a fleet's repository: find damage, mend it, lose nothing.

The order matters: what blocks git is taken away first, then objects, names,
the index, then the journal's unfinished writes; git's own check has the last
word. Files of the fleet are never touched. Everything taken away lies in
`.git/tailsheaf/rescue/<time>/`, with a copy of `.git` as it was.
"""

from __future__ import annotations

from contextlib import nullcontext
from pathlib import Path

from msgspec import Struct

from register.git.apply import recover
from register.git.case import Case, Finding
from register.git.commit import read_identity
from register.git.configuration import parse_config
from register.git.history import paths_not_in_history
from register.git.index_mending import examine_index
from register.git.left_overs import (
    examine_folders,
    examine_locks,
    examine_objects,
    examine_temporaries,
)
from register.git.objects import Objects, read_objects
from register.git.ref_mending import examine_names
from register.git.repository import STANDARD_CONFIG, check_place
from register.git.wrapper import (
    build_environment,
    is_ours,
    read_damaged_marker,
    require_git,
    start_git,
)
from register.storage import journal, keeping, rescue
from register.storage.folder import find_above, find_fleet
from register.storage.lock import fleet_lock
from register.trouble import Exit, RegisterError

CONFIG = ".git/config"
ALTERNATES = ".git/objects/info/alternates"
_MOST_LINES = 40


class Doctoring(Struct, frozen=True):
    """What the doctor found and did.

    `looked_only`: nothing was touched. `has_history`: False where the fleet has
    no repository at all. `rescue` is where things were moved, `copy` where
    `.git` as it was lies; `finished` are files of an interrupted write that
    came into history, `unsaved` those that are not in it and wait for `save`.
    `verdict` are the lines of git's own check, none where it found nothing;
    None where it could not be asked.
    """

    root: Path
    looked_only: bool
    has_history: bool
    findings: tuple[Finding, ...]
    rescue: str | None
    copy: str | None
    finished: tuple[str, ...]
    unsaved: tuple[str, ...]
    verdict: tuple[str, ...] | None

    @property
    def is_well(self) -> bool:
        """Whether nothing is wrong now."""
        damaged = any(item.damage for item in self.findings) and self.looked_only
        still = any(item.still_wrong for item in self.findings)
        return not damaged and not still and (self.verdict == () or not self.has_history)


def find_patient(start: Path) -> Path:
    """Return the fleet's folder, also where its fleet.yaml is gone but its marker is not.

    Raises RegisterError (CANNOT_RUN `no-fleet`).
    """
    root = find_fleet(start)
    above = find_above(start, keeping.GIT_FOLDER)
    if above is not None and read_damaged_marker(above) is not None:
        root = root if root is not None and root.is_relative_to(above) else above
    if root is None:
        raise RegisterError(
            f"there is no fleet in {start} or any folder above it",
            mend="tailsheaf --fleet DIR doctor",
            exit_code=Exit.CANNOT_RUN,
            code="no-fleet",
        )
    return root


def look_after(root: Path, *, acts: bool, copies: bool, stamp: str) -> Doctoring:
    """Look through the repository of `root`, and mend it where `acts`.

    `stamp` names the rescue folder, such as `2026-05-16-0900`. Raises
    RegisterError: REFUSED where the repository is not adopted or another git
    program may be at work, CANNOT_RUN where git is missing or the disk refuses.
    """
    marker = read_damaged_marker(root)
    if marker is None:
        check_place(root)
        return _look_without_history(root, acts=acts, stamp=stamp)
    require_git()
    with fleet_lock(root) if acts else nullcontext():
        case = Case(root, marker.branch, acts, copies, stamp)
        _examine(case)
        finished = _finish_writes(case)
        # Not before: an unfinished write is finished from its half-written files.
        examine_temporaries(case, rescue.list_git_files(root))
        return Doctoring(
            root,
            not acts,
            True,
            tuple(case.findings),
            case.rescue_place,
            case.copy,
            finished,
            _find_unsaved(case),
            _ask_git(case),
        )


def _look_without_history(root: Path, *, acts: bool, stamp: str) -> Doctoring:
    """A plain folder: only this program's own half-written files can be left there."""
    case = Case(root, "", False, False, stamp)
    for path in rescue.list_left_temporaries(root):
        case.note("temporary-left", path, "is a half-written file", damage=False)
    return Doctoring(root, not acts, False, tuple(case.findings), None, None, (), (), None)


def _examine(case: Case) -> None:
    files = rescue.list_git_files(case.root)
    examine_locks(case, files)
    examine_folders(case)
    format, tables = _examine_config(case)
    examine_objects(case, files)
    with case.open_view(format):
        objects = read_objects(case)
        away = _find_away(case)
        if tables:
            says = "refs are kept in tables, which this program does not mend"
            case.note("refs-in-tables", ".git/reftable", says, damage=False)
            return
        commit = examine_names(case, files, objects, away)
        _examine_alternates(case, objects, away)
        examine_index(case, objects, commit)


def _examine_config(case: Case) -> tuple[str, bool]:
    """Return the object format as a configuration of its own, and whether refs are in tables."""
    data = rescue.read_any(case.root, CONFIG)
    path = str(case.root.absolute() / CONFIG)
    listed = start_git(["config", "--file", path, "--list"], build_environment(None))
    if data is None or listed.returncode != 0:
        says = "is missing" if data is None else "cannot be read by git"
        case.rewrite("config-unreadable", CONFIG, says, STANDARD_CONFIG, "written anew")
        data = STANDARD_CONFIG
    values = {item.name: item.value.lower() for item in parse_config(CONFIG, data)}
    format = values.get("extensions.objectformat", "sha1")
    config = "[core]\n\trepositoryformatversion = 1\n\tbare = true\n"
    if format == "sha256":
        config += "[extensions]\n\tobjectformat = sha256\n"
    return config, values.get("extensions.refstorage", "files") != "files"


def _find_away(case: Case) -> tuple[str, ...]:
    """Return the folders of borrowed objects that are not there."""
    data = rescue.read_any(case.root, ALTERNATES) or b""
    lines = data.decode("utf-8", "replace").splitlines()
    base = case.root / ".git/objects"
    named = [line for line in lines if line.strip() and not line.startswith("#")]
    return tuple(line for line in named if not (base / line).is_dir())


def _examine_alternates(case: Case, objects: Objects, away: tuple[str, ...]) -> None:
    """Forget borrowed objects that are gone, where nothing is lacking without them."""
    if not away:
        return
    if any(item.code in ("alternates-gone", "past-incomplete") for item in case.findings):
        says = f"names {away[0]}, which is not there and whose objects are needed"
        case.note("alternates-gone", ALTERNATES, says, still_wrong=True)
        return
    data = rescue.read_any(case.root, ALTERNATES) or b""
    rest = [line for line in data.splitlines() if line.decode("utf-8", "replace") not in away]
    says = f"names {away[0]}, which is not there; nothing is lacking without it"
    if any(line.strip() for line in rest):
        kept = b"".join(line + b"\n" for line in rest)
        case.rewrite("alternates-gone", ALTERNATES, says, kept, "written again without it")
    else:
        case.move("alternates-gone", ALTERNATES, says)


def _finish_writes(case: Case) -> tuple[str, ...]:
    """Commit what the journal names, and nothing else."""
    entries = journal.read_entries(case.root) if case.acts else ()
    if not case.acts:
        for name in keeping.list_kept(case.root, journal.PENDING):
            path = f"{keeping.KEEPING}/{journal.PENDING}/{name}"
            case.note("write-unfinished", path, "is a write that was interrupted", "finished")
        return ()
    if not entries:
        return ()
    try:
        finished, _ = recover(case.root, read_identity(case.root))
    except RegisterError as error:
        path = f"{keeping.KEEPING}/{journal.PENDING}"
        says = f"holds a write that cannot be finished now: {error.says}"
        case.note("write-unfinished", path, says, still_wrong=True)
        return ()
    many = len(finished)
    deed = f"finished: {many} file(s) came into history" if many else "nothing of it was left to do"
    for entry in entries:
        path = f"{keeping.KEEPING}/{entry.kept_as}"
        case.note("write-unfinished", path, "is a write that was interrupted", deed, damage=False)
    return finished


def _find_unsaved(case: Case) -> tuple[str, ...]:
    """Return the records that are not in history, where history can be asked."""
    try:
        return paths_not_in_history(case.root)
    except RegisterError:
        # git's own check, which comes next, says what is wrong with it.
        return ()


def _ask_git(case: Case) -> tuple[str, ...] | None:
    """Return what `git fsck --full --strict` says is wrong; None where git sees no repository."""
    if not is_ours(case.root):
        return None
    result = case.look(["fsck", "--full", "--strict", "--no-dangling", "--no-progress"])
    said = (result.stdout + result.stderr).decode("utf-8", "replace").splitlines()
    lines = [line for line in said if line.strip() and not line.startswith("notice:")]
    if result.returncode == 0:
        lines = [line for line in lines if line.startswith("error")]
    elif not lines:
        lines = [f"git fsck ended with {result.returncode}"]
    if len(lines) > _MOST_LINES:
        lines = [*lines[:_MOST_LINES], f"and {len(lines) - _MOST_LINES} more lines"]
    return tuple(lines)
