"""Exchange history with another repository: a bare one on a path, or over https or ssh.

The address is checked against a list of forms before git sees it, and stands where git cannot
take it for an option. What the other side's configuration or hooks name is never run here.
"""

from __future__ import annotations

import re
import shlex
import time
from pathlib import Path

from msgspec import Struct

from register.git.configuration import Entry, parse_config
from register.git.heads import read_tip
from register.git.wrapper import build_environment, git_failed, plain_words, run_git, start_git
from register.storage.disk import (
    NotPlainFileError,
    is_folder,
    kind_of,
    read_plain_file,
    resolve_path,
)
from register.trouble import Exit, RegisterError

_ARRIVING = "refs/tailsheaf/arriving"
_HOST = r"[A-Za-z0-9](?:[A-Za-z0-9.-]*[A-Za-z0-9])?"
_USER = r"(?:[A-Za-z0-9_][A-Za-z0-9_.-]*@)?"
_PATH = r"[A-Za-z0-9_~./%+-]+"
_HTTPS = re.compile(rf"https://{_USER}{_HOST}(?::\d{{1,5}})?/{_PATH}")
_SSH = re.compile(rf"ssh://{_USER}{_HOST}(?::\d{{1,5}})?/{_PATH}")
_SHORT_SSH = re.compile(rf"{_USER}{_HOST}:(?!/?/)(?!:){_PATH}")
_NAME = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,30}[a-z0-9])?")
# git starts a program of its own at the other end of a path, which obeys the settings found
# there: these come after them. The end of a list of alternates is asked for by a command.
_HUSH = (
    "core.hooksPath=/dev/null",
    "core.fsmonitor=false",
    "core.alternateRefsCommand=true",
    "receive.autogc=false",
    "receive.fsckObjects=true",
    # What it says it has taken must outlive a stick that is pulled out, or a power cut.
    "core.fsync=all",
    "core.fsyncMethod=fsync",
    "gc.auto=0",
    "maintenance.auto=false",
)
#: A question of ssh's (an unknown host, a locked key) would wait where nobody may look; a host
#: that says nothing is given up. The first visit to a host is made by hand.
_SSH_COMMAND = (
    "ssh -o BatchMode=yes -o ConnectTimeout=20 -o ServerAliveInterval=15 -o ServerAliveCountMax=4"
)
_LARGEST_CONFIG = 256 * 1024
#: A lock that stays for so many looks, with so many seconds between, is somebody's who is gone.
_LOOKS, _BETWEEN = 5, 0.2
_LOCKED = re.compile(rb"Unable to create '([^'\n]{1,300}\.lock)': File exists")


def protocol_of(address: str) -> str | None:
    """The protocol of an address that may be used (https, ssh or file), or None."""
    if not address.isascii() or not address.isprintable() or len(address) > 500:
        return None
    if _HTTPS.fullmatch(address):
        return "https"
    if _SSH.fullmatch(address) or (_SHORT_SSH.fullmatch(address) and "\\" not in address):
        return "ssh"
    return None


def is_repository(folder: Path) -> bool:
    """Whether a folder looks like a repository of git's, bare or not; git is not run."""
    return any(
        is_folder(place / "objects") and is_folder(place / "refs")
        for place in (folder, folder / ".git")
    )


def check_address(address: str, cwd: Path) -> tuple[str, str]:
    """The protocol and the address as git gets it; a path is made absolute.

    Raises RegisterError (USAGE `address-refused`) for every other form.
    """
    protocol = protocol_of(address)
    if protocol is not None and not is_folder(cwd / address):
        return protocol, address
    folder = cwd / address
    if not address.startswith("-") and address.isprintable() and is_repository(folder):
        check_repository(resolve_path(folder))
        return "file", str(resolve_path(folder))
    raise RegisterError(
        f"{address[:80]!a} is no place that can be used: no folder that is there, no repository "
        "on a path, and not of the form https://… or ssh://…",
        mend="put the stick in or make the folder first, or write an address such as "
        "https://host.example/fleet.git",
        exit_code=Exit.USAGE,
        code="address-refused",
    )


def check_repository(folder: Path) -> None:
    """Raise RegisterError where a repository on a path is not bare, or could run something.

    What its settings could run at this machine's expense is refused before git goes near it.
    """
    if is_folder(folder / ".git"):
        raise RegisterError(
            f"{folder} is a folder that somebody works in, and cannot be sent to",
            mend=f"git init --bare {folder}.git   and use that, or an empty folder as a mailbox",
            exit_code=Exit.USAGE,
            code="address-refused",
        )
    if kind_of(folder / "config.worktree") != "absent":
        raise _trap(folder, "config.worktree")
    try:
        data = read_plain_file(folder / "config", _LARGEST_CONFIG)
    except (FileNotFoundError, NotADirectoryError):
        return
    except (NotPlainFileError, OSError) as error:
        raise _trap(folder, "config, which is no plain file") from error
    for entry in parse_config("config", b"[?" if data is None else data):
        if _is_trap(entry):
            raise _trap(folder, f"{entry.name} in line {entry.line} of config")


def _is_trap(entry: Entry) -> bool:
    """Settings that name a program, a further file of settings, or where to fetch from unasked."""
    if entry.section in ("?", "include", "includeif", "filter", "hook", "uploadpack", "credential"):
        return True
    if entry.section == "extensions":
        return entry.key not in ("objectformat", "refstorage", "noop")
    if entry.section == "remote":
        return entry.key not in ("url", "fetch", "mirror", "tagopt", "pushurl")
    return entry.name in ("core.worktree", "core.alternaterefscommand", "core.gitproxy")


def _trap(folder: Path, what: str) -> RegisterError:
    return RegisterError(
        f"the repository {folder} has {what}, by which it could run something here; it is not used",
        mend="take that out, or make a plain one: git init --bare DIR",
        exit_code=Exit.REFUSED,
        code="address-refused",
    )


def check_name(name: str) -> str:
    """A name for a carrier or machine: it becomes part of a ref."""
    if not _NAME.fullmatch(name):
        raise RegisterError(
            f"{name[:40]!a} cannot name a carrier",
            mend="use up to 32 of the letters a-z, digits and '-'",
            exit_code=Exit.USAGE,
            code="name-bad",
        )
    return name


def read_remote_tip(root: Path, protocol: str, address: str, branch: str) -> str | None:
    """The commit the branch has there, or None where it has none yet."""
    command = [
        "ls-remote",
        *_there(protocol, "upload-pack", address),
        "--",
        address,
        f"refs/heads/{branch}",
    ]
    said = _talk(root, protocol, command).split()
    return said[0].decode("ascii") if said and re.fullmatch(rb"[0-9a-f]{40,64}", said[0]) else None


def fetch_remote(root: Path, protocol: str, address: str, branch: str) -> str:
    """Bring the branch as it is there here, and return its commit; no ref of it is left."""
    ref = f"{_ARRIVING}/{branch}"
    fetch_ref(root, protocol, address, f"refs/heads/{branch}", ref)
    commit = read_tip(root, ref)
    run_git(root, ["update-ref", "-d", ref])
    if commit is None:
        raise _unreachable(address, b"it has no such branch any more")
    return commit


def fetch_ref(root: Path, protocol: str, source: str, theirs: str, ours: str) -> None:
    """Bring one ref of a repository or bundle here under a name of this program's own."""
    command = [
        "fetch",
        "--quiet",
        "--no-tags",
        "--no-write-fetch-head",
        "--no-auto-maintenance",
        "--no-recurse-submodules",
        "--refmap=",
        *_there(protocol, "upload-pack", source),
        "--",
        source,
        f"+{theirs}:{ours}",
    ]
    _talk(root, protocol, command)


def find_locks(protocol: str, address: str, branch: str) -> tuple[Path, ...]:
    """git's locks in a repository on a path that stand in the way of sending there."""
    names = ("HEAD.lock", "packed-refs.lock", f"refs/heads/{branch}.lock")
    paths = (Path(address) / name for name in names if protocol == "file")
    return tuple(path for path in paths if kind_of(path) != "absent")


def await_unlocked(protocol: str, address: str, branch: str) -> tuple[Path, ...]:
    """Wait a moment for others that send to a repository on a path; the locks that stay.

    git locks for an instant: whoever made a lock that stays was cut short, and git itself never
    takes it away.
    """
    for _ in range(_LOOKS):
        if not find_locks(protocol, address, branch):
            return ()
        time.sleep(_BETWEEN)
    return find_locks(protocol, address, branch)


def locked(lock: str) -> RegisterError:
    """What is said of a lock that stays, on a path or at the other end of a line."""
    return RegisterError(
        f"it is locked by {lock}: somebody is sending there now, or was cut short at it",
        mend=f"rm {shlex.quote(lock)}   there, where nobody is sending; then: tailsheaf sync",
        exit_code=Exit.CANNOT_RUN,
        code="carrier-locked",
    )


class Pushed(Struct, frozen=True):
    """Whether a commit came to the branch there; if not, the lock that was in the way, or ''."""

    done: bool
    lock: str = ""


def push_remote(root: Path, protocol: str, address: str, branch: str, commit: str) -> Pushed:
    """Bring a commit to the branch there; not done where the branch has moved on, or is locked."""
    command = [
        "push",
        "--quiet",
        "--porcelain",
        "--no-verify",
        "--no-recurse-submodules",
        *_there(protocol, "receive-pack", address),
        "--",
        address,
        f"{commit}:refs/heads/{branch}",
    ]
    result = start_git([*_allow(protocol), *command], _environment(root, protocol))
    if result.returncode == 0:
        return Pushed(True)
    said = result.stdout + result.stderr
    lock = _LOCKED.search(said)
    if lock is not None:
        return Pushed(False, plain_words(lock[1]))
    if b"non-fast-forward" in said or b"fetch first" in said or b"cannot lock ref" in said:
        return Pushed(False)
    raise _unreachable(address, said)


def _there(protocol: str, program: str, address: str) -> tuple[str, ...]:
    """For a path: the program at the other end, told to heed no hook and nothing found there.

    A stick's files may seem to be another user's: that very folder is named as known.
    """
    if protocol != "file":
        return ()
    check_repository(Path(address))
    settings = (*_HUSH, f"safe.directory={address}")
    words = " ".join(f"-c {shlex.quote(setting)}" for setting in settings)
    return (f"--{program}=git {words} {program}",)


def _allow(protocol: str) -> tuple[str, ...]:
    settings = (
        f"protocol.{protocol}.allow=always",
        f"core.sshCommand={_SSH_COMMAND}",
        "http.lowSpeedLimit=100",
        "http.lowSpeedTime=60",
        "fetch.fsckObjects=true",
    )
    return tuple(part for setting in settings for part in ("-c", setting))


def _environment(root: Path, protocol: str) -> dict[str, str]:
    env = build_environment(root)
    env["GIT_ALLOW_PROTOCOL"] = protocol
    # No window that asks for a password, either: a helper of the owner's own may answer.
    env["GIT_ASKPASS"] = ""
    return env


def _talk(root: Path, protocol: str, command: list[str]) -> bytes:
    result = start_git([*_allow(protocol), *command], _environment(root, protocol))
    if result.returncode != 0:
        raise _unreachable(command[command.index("--") + 1], result.stderr)
    return result.stdout


#: What git says -> what it means here, and the line that mends it.
_REASONS = (
    (
        rb"server certificate verification failed|SSL certificate problem|certificate verify",
        "its certificate is not of anybody this machine trusts",
        "git config --global http.https://{host}/.sslCAInfo FILE   where the server is yours and "
        "FILE is its certificate",
    ),
    (
        rb"could not read (?:Username|Password)|Authentication failed|error: 40[13]\b",
        "it wants a name and a password that it accepts",
        "git config --global credential.helper store && git ls-remote {address}   asks once and "
        "keeps them in a plain file",
    ),
    (
        rb"Host key verification failed|Permission denied \(|REMOTE HOST IDENTIFICATION",
        "ssh could not log in without asking",
        "ssh -T {host}   once by hand, to look at its key and unlock yours (ssh-add)",
    ),
)


def _host_of(address: str) -> str:
    """The host as a setting of git's names it (with its port), or as ssh is told it."""
    protocol, marks, rest = address.rpartition("://")
    host = rest.partition("/" if marks else ":")[0]
    if protocol == "https":
        return host.rpartition("@")[2]
    name, _, port = host.partition(":")
    return f"-p {port} {name}" if port else name


def _unreachable(address: str, said: bytes) -> RegisterError:
    heard = plain_words(said) or git_failed("fetch", said).says
    for signs, means, mend in _REASONS:
        if re.search(signs, said):
            heard = f"{means} ({heard})"
            mend = mend.format(host=_host_of(address), address=address)
            break
    else:
        mend = "look at the connection, the stick or the address"
    return RegisterError(
        f"{address[:80]!a} cannot be reached or did not answer: {heard}",
        mend=f"{mend}, then: tailsheaf sync",
        exit_code=Exit.CANNOT_RUN,
        code="carrier-silent",
    )
