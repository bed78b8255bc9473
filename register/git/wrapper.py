"""Run git at arm's length.

One function starts git, always with the same options and a cleaned
environment, so that nothing a repository's configuration names (hooks, file
system monitor, filters, signing and paging programs, remotes) is ever run.
It is never given a folder that does not carry this program's marker.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
from collections.abc import Mapping, Sequence
from functools import lru_cache
from pathlib import Path

from msgspec import Struct

from register.storage import keeping
from register.trouble import Exit, RegisterError

OLDEST_GIT = (2, 38)
MARKER = "fleet"
"""The marker's name in `.git/tailsheaf`."""

_GOOD_GIT = "good-git"

_LONGEST_RUN = 600
"""Seconds after which git is taken to hang."""

_NOTHING = os.devnull
_FIXED = (
    f"core.hooksPath={_NOTHING}",
    "core.fsmonitor=false",
    "core.fsync=all",
    "core.fsyncMethod=fsync",
    f"core.attributesFile={_NOTHING}",
    f"core.excludesFile={_NOTHING}",
    "core.autocrlf=false",
    "core.safecrlf=false",
    "core.quotePath=false",
    "core.precomposeUnicode=true",
    "core.protectNTFS=true",
    "core.protectHFS=true",
    "core.symlinks=false",
    "core.pager=cat",
    "gc.auto=0",
    "maintenance.auto=false",
    "commit.gpgSign=false",
    "tag.gpgSign=false",
    "log.showSignature=false",
    "protocol.allow=never",
    # An identity guessed from the machine's name would stay in history for ever.
    "user.useConfigOnly=true",
)
# Of git's own variables only these may come from outside. Those of SSL name files of
# certificates to trust, for a server of the owner's own; none switches the check off.
_KEPT_VARIABLES = frozenset(
    f"GIT_{who}_{what}" for who in ("AUTHOR", "COMMITTER") for what in ("NAME", "EMAIL", "DATE")
) | {"GIT_CONFIG_GLOBAL", "GIT_SSL_CAINFO", "GIT_SSL_CAPATH"}


class Marker(Struct, frozen=True):
    """What the marker in `.git/tailsheaf` says: the branch the records are on."""

    branch: str


@lru_cache(maxsize=1)
def find_git() -> str:
    """Return git's absolute path. Raises RegisterError where there is none."""
    found = shutil.which("git", path=_search_path())
    if found is None:
        raise RegisterError(
            "git is not installed, or not where programs are looked for",
            mend="install git 2.38 or newer",
            exit_code=Exit.CANNOT_RUN,
            code="no-git",
        )
    return found


def _search_path() -> str:
    """Return PATH without relative parts: they would search the current folder."""
    parts = os.environ.get("PATH", os.defpath).split(os.pathsep)
    return os.pathsep.join(part for part in parts if Path(part).is_absolute())


def require_git(root: Path | None = None) -> None:
    """Raise RegisterError where git is missing or too old.

    A fleet that carries the marker remembers which program was found good, so
    that git is asked again only when that program changes.
    """
    stamp = keeping.stamp_of(find_git()).encode("utf-8", "replace")
    if root is None or not is_ours(root):
        _ask_version()
    elif keeping.read_kept(root, _GOOD_GIT) != stamp:
        _ask_version()
        keeping.write_kept(root, _GOOD_GIT, stamp)


def _ask_version() -> None:
    said = _start([find_git(), "version"], b"", build_environment(None)).stdout
    found = re.search(rb"(\d+)\.(\d+)", said)
    version = (int(found[1]), int(found[2])) if found else (0, 0)
    if version < OLDEST_GIT:
        raise RegisterError(
            f"git {version[0]}.{version[1]} is too old: 2.38 or newer is needed",
            mend="install git 2.38 or newer",
            exit_code=Exit.CANNOT_RUN,
            code="git-too-old",
        )


def is_ours(root: Path) -> bool:
    """Whether `root` is exactly a repository this program made or adopted."""
    return read_marker(root) is not None


def read_marker(root: Path) -> Marker | None:
    """Return the marker of a fleet's own repository, or None where git must not run."""
    return read_damaged_marker(root) if keeping.has_own_git(root) else None


def read_damaged_marker(root: Path) -> Marker | None:
    """Return the marker though git would see no repository (HEAD is gone); for mending."""
    if not keeping.has_git_folder(root):
        return None
    data = keeping.read_kept(root, MARKER)
    if data is None:
        return None
    try:
        branch = json.loads(data)["branch"]
    except (ValueError, KeyError, TypeError, RecursionError):
        return None
    return Marker(branch) if isinstance(branch, str) and is_branch(branch) else None


def is_branch(name: str) -> bool:
    """Whether the name can be a branch: stricter than git, so never an option."""
    return (
        re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9._/-]{0,99}", name) is not None
        and re.search(r"\.\.|//|/\.|\.lock(?:/|$)|[./]$", name) is None
    )


def run_git(
    root: Path,
    args: Sequence[str],
    *,
    stdin: bytes | None = None,
    env_extra: Mapping[str, str] | None = None,
    check: bool = True,
) -> bytes:
    """Run git on the fleet's own repository and return what it printed.

    `args` are never read by a shell; options are the caller's own words and
    whatever comes from outside stands after `--` or goes in by `stdin`.
    Raises RegisterError (CANNOT_RUN `git-failed`) where git fails and `check`
    is set, and where the folder does not carry the marker.
    """
    if not is_ours(root):
        raise RegisterError(
            "this folder is not a repository of this program; git was not run in it",
            mend="tailsheaf adopt",
            exit_code=Exit.REFUSED,
            code="not-adopted",
        )
    env = build_environment(root)
    env.update(env_extra or {})
    result = start_git(args, env, stdin)
    if check and result.returncode != 0:
        raise git_failed(args[0], result.stderr)
    return result.stdout


def start_git(
    args: Sequence[str], env: Mapping[str, str], stdin: bytes | int | None = None
) -> subprocess.CompletedProcess[bytes]:
    """Run git with the fixed options and return its result, whatever it is.

    `stdin` may be the number of an open file, read from where it stands.
    """
    options = [part for setting in _FIXED for part in ("-c", setting)]
    return _start([find_git(), "--no-pager", *options, *args], stdin or b"", env)


def settings() -> tuple[tuple[str, str], ...]:
    """Return the fixed settings as pairs, for a library that runs git itself."""
    pairs = (setting.partition("=") for setting in _FIXED)
    return tuple((key, value) for key, _, value in pairs)


def git_failed(command: str, stderr: bytes) -> RegisterError:
    """Return the error for a git command that failed, with its words made plain."""
    return RegisterError(
        f"git {command} failed: {plain_words(stderr) or 'it gave no reason'}",
        mend="look at the repository with: git status",
        exit_code=Exit.CANNOT_RUN,
        code="git-failed",
    )


def plain_words(said: bytes) -> str:
    """Return git's words on one line, short, with nothing a terminal would obey."""
    lines = said.decode("utf-8", "replace").split("\n")
    text = "; ".join(line.strip() for line in lines if line.strip())
    shown = "".join(char if char.isprintable() else f"\\x{ord(char):02x}" for char in text)
    return shown if len(shown) <= 500 else shown[:500] + " ..."


def build_environment(root: Path | None) -> dict[str, str]:
    """Return the cleaned environment for the repository of `root`.

    None stands for no repository at all: git then reads only the user's own
    configuration.
    """
    env = {
        key: value
        for key, value in os.environ.items()
        if not key.upper().startswith("GIT_") or key.upper() in _KEPT_VARIABLES
    }
    folder = _NOTHING if root is None else str(root.absolute() / keeping.GIT_FOLDER)
    env.update(
        GIT_DIR=folder,
        GIT_CONFIG_NOSYSTEM="1",
        GIT_ATTR_NOSYSTEM="1",
        GIT_TERMINAL_PROMPT="0",
        GIT_OPTIONAL_LOCKS="0",
        GIT_LITERAL_PATHSPECS="1",
        GIT_NO_REPLACE_OBJECTS="1",
        # A missing object must not be fetched from wherever a remote points.
        GIT_NO_LAZY_FETCH="1",
        GIT_ALLOW_PROTOCOL="none",
        GIT_PAGER="cat",
        GIT_EDITOR=":",
        LC_ALL="C",
        # Else git's fast-import gives memory back and asks for it anew for every commit, where
        # the C library is GNU's: three quarters of its time. Other libraries do not read it.
        MALLOC_TOP_PAD_="16777216",
    )
    if root is not None:
        env["GIT_WORK_TREE"] = str(root.absolute())
    return env


def _start(
    command: Sequence[str], stdin: bytes | int, env: Mapping[str, str]
) -> subprocess.CompletedProcess[bytes]:
    try:
        # Never the current folder: it may be gone, or hold a program named git.
        return subprocess.run(
            command,
            input=stdin if isinstance(stdin, bytes) else None,
            stdin=None if isinstance(stdin, bytes) else stdin,
            capture_output=True,
            env=dict(env),
            cwd=env.get("GIT_WORK_TREE", Path(command[0]).parent),
            timeout=_LONGEST_RUN,
            check=False,
        )
    except subprocess.TimeoutExpired as error:
        raise RegisterError(
            "git did not answer within ten minutes and was stopped",
            mend="look at the repository with: git status",
            exit_code=Exit.CANNOT_RUN,
            code="git-failed",
        ) from error
    except OSError as error:
        raise RegisterError(
            f"git cannot be started: {(error.strerror or 'no reason given').lower()}",
            mend="install git 2.38 or newer",
            exit_code=Exit.CANNOT_RUN,
            code="no-git",
        ) from error
