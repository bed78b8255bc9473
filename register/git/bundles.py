"""History as one plain file: written for a mailbox, read from one."""

from __future__ import annotations

from pathlib import Path

from register.git.remotes import fetch_into
from register.git.wrapper import run_git
from register.trouble import RegisterError

#: The ref that a bundle carries.
CARRIED = "refs/heads/carried"
_SENDING = "refs/tailsheaf/sending"


def write_bundle(root: Path, target: Path, commit: str, known: str | None) -> None:
    """Write a bundle of everything in the past of `commit` that `known` has not.

    `target` must not exist. The bundle's ref is `refs/tailsheaf/sending`.
    """
    run_git(root, ["update-ref", _SENDING, commit])
    wanted = [_SENDING, *([f"^{known}"] if known else [])]
    run_git(root, ["bundle", "create", "--quiet", str(target), *wanted])


def read_bundle(root: Path, source: Path, machine: str) -> bool:
    """Bring a bundle's commits here; False where it is not whole or lacks an earlier one."""
    try:
        fetch_into(root, "file", str(source), _SENDING, machine)
    except RegisterError:
        # A half-copied bundle, or one whose forerunner is still under way: not here yet.
        return False
    return True
