"""Exchange history with another repository: a bare one on a path, or over https or ssh.

The address is checked against a list of forms before git sees it, and stands where git cannot
take it for an option. What the other side's configuration or hooks name is never run here.
"""

from __future__ import annotations

import re
from pathlib import Path

from register.git.wrapper import build_environment, git_failed, plain_words, run_git, start_git
from register.storage.disk import is_folder
from register.trouble import Exit, RegisterError

#: Refs that hold what was heard from others, one for each carrier or machine.
HEARD = "refs/tailsheaf/heard"
_HOST = r"[A-Za-z0-9](?:[A-Za-z0-9.-]*[A-Za-z0-9])?"
_USER = r"(?:[A-Za-z0-9_][A-Za-z0-9_.-]*@)?"
_PATH = r"[A-Za-z0-9_~./%+-]+"
_HTTPS = re.compile(rf"https://{_USER}{_HOST}(?::\d{{1,5}})?/{_PATH}")
_SSH = re.compile(rf"ssh://{_USER}{_HOST}(?::\d{{1,5}})?/{_PATH}")
_SHORT_SSH = re.compile(rf"{_USER}{_HOST}:(?!/?/)(?!:){_PATH}")
_NAME = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,30}[a-z0-9])?")
# Programs that git starts at the other end of a path run without that end's hooks.
_HUSH = "git -c core.hooksPath=/dev/null -c core.fsmonitor=false"


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
    path = Path(address.removeprefix("file://")) if address.startswith("file:///") else None
    folder = path or (cwd / address)
    if not address.startswith("-") and "\n" not in address and is_repository(folder):
        return "file", str(folder.resolve())
    raise RegisterError(
        f"{address[:80]!a} is no place that can be used: not a repository on a path, and not of "
        "the form https://… or ssh://…",
        mend="tailsheaf sync --add club https://host.example/fleet.git",
        exit_code=Exit.USAGE,
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
    command = ["ls-remote", *_there(protocol, "upload-pack"), "--", address, f"refs/heads/{branch}"]
    said = _talk(root, protocol, command).split()
    return said[0].decode("ascii") if said and re.fullmatch(rb"[0-9a-f]{40,64}", said[0]) else None


def fetch_remote(root: Path, protocol: str, address: str, branch: str, name: str) -> None:
    """Bring the branch as it is there into `refs/tailsheaf/heard/<name>`."""
    fetch_into(root, protocol, address, f"refs/heads/{branch}", name)


def fetch_into(root: Path, protocol: str, source: str, theirs: str, name: str) -> None:
    """Bring one ref of a repository or bundle into `refs/tailsheaf/heard/<name>`."""
    fetch_ref(root, protocol, source, theirs, f"{HEARD}/{check_name(name)}")


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
        *_there(protocol, "upload-pack"),
        "--",
        source,
        f"+{theirs}:{ours}",
    ]
    _talk(root, protocol, command)


def push_remote(root: Path, protocol: str, address: str, branch: str, commit: str) -> bool:
    """Bring a commit to the branch there; False where the branch there has moved on."""
    command = [
        "push",
        "--quiet",
        "--porcelain",
        "--no-verify",
        "--no-recurse-submodules",
        *_there(protocol, "receive-pack"),
        "--",
        address,
        f"{commit}:refs/heads/{branch}",
    ]
    result = start_git([*_allow(protocol), *command], _environment(root, protocol))
    if result.returncode == 0:
        return True
    said = result.stdout + result.stderr
    if b"non-fast-forward" in said or b"fetch first" in said or b"cannot lock ref" in said:
        return False
    raise _unreachable(address, said)


def list_heard(root: Path) -> dict[str, str]:
    """The last commit heard from each carrier or machine, by name."""
    said = run_git(root, ["for-each-ref", "--format=%(refname) %(objectname)", f"{HEARD}/"])
    found = {}
    for line in said.decode("ascii", "replace").splitlines():
        ref, _, id_ = line.partition(" ")
        found[ref.removeprefix(f"{HEARD}/")] = id_
    return found


def _there(protocol: str, program: str) -> tuple[str, ...]:
    return (f"--{program}={_HUSH} {program}",) if protocol == "file" else ()


def _allow(protocol: str) -> tuple[str, ...]:
    settings = (
        f"protocol.{protocol}.allow=always",
        "core.sshCommand=ssh",
        "fetch.fsckObjects=true",
    )
    return tuple(part for setting in settings for part in ("-c", setting))


def _environment(root: Path, protocol: str) -> dict[str, str]:
    env = build_environment(root)
    env["GIT_ALLOW_PROTOCOL"] = protocol
    return env


def _talk(root: Path, protocol: str, command: list[str]) -> bytes:
    result = start_git([*_allow(protocol), *command], _environment(root, protocol))
    if result.returncode != 0:
        raise _unreachable(command[command.index("--") + 1], result.stderr)
    return result.stdout


def _unreachable(address: str, said: bytes) -> RegisterError:
    return RegisterError(
        f"{address[:80]!a} cannot be reached or did not answer: "
        f"{plain_words(said) or git_failed('fetch', said).says}",
        mend="look at the connection, the stick or the address, then: tailsheaf sync",
        exit_code=Exit.CANNOT_RUN,
        code="carrier-silent",
    )
