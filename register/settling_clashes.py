"""Clashes: answering an open one, for `sync --settle`, and those that amendments brought in."""

from __future__ import annotations

from pathlib import Path

from register.entry.clash_answers import Answer, plan_settling, read_answer
from register.entry.clerk import Clerk, Plan
from register.findings.doubles import Twins, find_twins
from register.git.apply import save_paths
from register.git.heads import read_blobs
from register.git.history import paths_not_in_history
from register.ledger.ledger import Ledger
from register.ledger.settling import Disputed
from register.storage.folder import read_file
from register.storage.removing import remove_files
from register.storage.writing import FileChange
from register.trouble import Exit, RegisterError


def settle_clash(root: Path, clerk: Clerk, typed: str, choice: str) -> Plan:
    """The plan that settles a clash with 1, 2 or a third value.

    Where the answer is that a file goes, it is removed here and now, in history too; the plan
    then notes the answer, and the same line typed again finishes what was cut short between.
    Raises RegisterError as `read_answer` and `plan_settling` do, and REFUSED `edits-unsaved`.
    """
    answer = read_answer(clerk, typed, choice)
    if answer.removes:
        _remove(root, answer)
    blob = answer.blob
    if blob is None:
        return plan_settling(clerk, answer)
    whole = read_blobs(root, [blob])[blob]
    before = read_file(root, answer.clash.file)
    plan = plan_settling(clerk, answer, whole)
    # A picture is no record, so the clerk has not read what stands on the disk.
    changes = tuple(
        FileChange(item.path, before, item.after) if item.path == answer.clash.file else item
        for item in plan.changes
    )
    return Plan(changes, plan.message, plan.says)


def find_disputed(ledger: Ledger, amendments: tuple[str, ...]) -> tuple[Disputed, ...]:
    """What was amended apart by amendments at these paths, which have just come in."""
    came = frozenset(amendments)
    return tuple(
        one
        for one in ledger.settled.disputed
        if any(change.path in came for change in one.amendments)
    )


def find_typed_twice(ledger: Ledger, flights: tuple[str, ...]) -> tuple[Twins, ...]:
    """Pairs that look like one flight, of which at least one at these paths has just come in."""
    came = frozenset(flights)
    return tuple(
        twins
        for twins in find_twins(ledger, sorted(ledger.records.aircraft))
        if twins.first.path in came or twins.later.path in came
    )


def _remove(root: Path, answer: Answer) -> None:
    path = answer.clash.file
    data = read_file(root, path)
    if data is not None:
        if path in paths_not_in_history(root):
            raise RegisterError(
                f"{path} has edits that are not in history, and was not removed",
                mend=f"tailsheaf save {path}   then the same line again",
                exit_code=Exit.REFUSED,
                code="edits-unsaved",
            )
        remove_files(root, {path: data})
    save_paths(root, [path], f"Remove {path}, as its clash was settled")
