"""Which machine wrote what: commits made here say it in their last line."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from register.git.repository import read_own_marker
from register.git.wrapper import run_git
from register.storage.journal import machine_id

_KEY = "Machine"
_FORMAT = f"%(trailers:key={_KEY},valueonly,separator=%x2C)"


def sign_message(root: Path, message: str) -> str:
    """The words of a commit with the name of this machine, if it has one."""
    own = machine_id(root)
    return message if own is None else f"{message.strip()}\n\n{_KEY}: {own}"


def find_writer(root: Path, tip: str, past: Sequence[str], path: str) -> str:
    """The machine that changed a path since some commits; empty where it was not one alone."""
    command = ["log", "--no-merges", "--full-history", f"--format={_FORMAT}", tip]
    said = run_git(root, [*command, *(f"^{one}" for one in past), "--", path], check=False)
    found = set(said.decode("utf-8", "replace").splitlines())
    return found.pop() if len(found) == 1 else ""


def find_adder(root: Path, path: str, id_: str) -> str:
    """The machine that first wrote a path with this id in it; empty where it is not told."""
    branch = f"refs/heads/{read_own_marker(root).branch}"
    command = ["log", "--no-merges", "--full-history", "--diff-filter=A", "--reverse"]
    said = run_git(root, [*command, f"--format=%H {_FORMAT}", branch, "--", path], check=False)
    for line in said.decode("utf-8", "replace").splitlines():
        commit, _, machine = line.partition(" ")
        data = run_git(root, ["cat-file", "blob", f"{commit}:{path}"], check=False)
        if id_.encode() in data:
            return machine
    return ""
