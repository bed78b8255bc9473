"""What dead writers and power cuts leave in git's folder: locks, temporaries, torn objects."""

from __future__ import annotations

import re
from collections.abc import Sequence

from register.git.case import Case
from register.git.loose import find_fault, id_of_place
from register.storage import rescue
from register.storage.rescue import GitFile
from register.trouble import Exit, RegisterError

_GIT_TEMPORARY = re.compile(r"\.git/(?:objects/(?:.*/)?(?:tmp_|\.tmp-)[^/]*|fast_import_crash_\d+)")
_NEEDED = (".git/objects", ".git/refs", ".git/refs/heads")


def examine_locks(case: Case, files: Sequence[GitFile]) -> None:
    """Move aside git's locks that nobody holds any more.

    git cannot say who holds a lock. Raises RegisterError (REFUSED `git-at-work`)
    before anything is touched where one may be another program's.
    """
    locks = [file for file in files if file.path.endswith(".lock")]
    young = [lock for lock in locks if not case.is_dead(lock.changed)]
    if young and case.acts:
        lock = young[0]
        raise RegisterError(
            f"another git program may be at work: {lock.path} is {case.age(lock.changed)} s old; "
            "nothing was moved",
            mend="let it finish. If no git program runs, wait until the lock is 15 minutes old, "
            "then: tailsheaf doctor",
            exit_code=Exit.REFUSED,
            code="git-at-work",
        )
    for lock in locks:
        if lock in young:
            case.note(
                "lock-young",
                lock.path,
                f"is {case.age(lock.changed)} s old: another git program may be at work",
                damage=False,
                still_wrong=True,
            )
        else:
            case.move("lock-stale", lock.path, "is a lock that nobody holds any more")


def examine_temporaries(case: Case, files: Sequence[GitFile]) -> None:
    """Move aside half-written files: this program's own, and git's where nobody writes them."""
    for path in rescue.list_left_temporaries(case.root):
        case.move("temporary-left", path, "is a half-written file", damage=False)
    for file in files:
        if _GIT_TEMPORARY.fullmatch(file.path) and not file.path.endswith(".lock"):
            if case.is_dead(file.changed):
                says = "is a half-written file of git's"
                case.move("temporary-left", file.path, says, damage=False)
            else:
                says = f"is a half-written file of git's, {case.age(file.changed)} s old"
                case.note("temporary-young", file.path, says, damage=False)


def examine_objects(case: Case, files: Sequence[GitFile]) -> None:
    """Move aside every loose object that does not hold what its name says."""
    for file in files:
        id = id_of_place(file.path)
        if id is None:
            continue
        data = rescue.read_any(case.root, file.path)
        if data is None:
            says = "is an object that the system does not let be read"
            case.note("object-unreadable", file.path, says, still_wrong=True)
        elif fault := find_fault(data, id):
            case.bad_objects.add(file.path)
            case.move("object-unreadable", file.path, f"is an object and {fault}")


def examine_folders(case: Case, folders: Sequence[str] = _NEEDED) -> None:
    """Make the folders without which git sees no repository."""
    for path in folders:
        if not (case.root / path).is_dir():
            case.make_folder(path)
