"""Take on a repository that this program did not make, after showing what it could run.

Only files are read; no git runs until the owner has agreed. What could run is
shown, because the owner's own git would run it; what would lead records
elsewhere is refused.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Literal

from msgspec import Struct

from register.git.configuration import Entry, parse_config
from register.git.repository import adopt_marker, refuse_no_repository
from register.git.wrapper import is_ours
from register.storage import keeping, rescue
from register.trouble import Exit, RegisterError

CONFIGS = (".git/config", ".git/config.worktree")
ALTERNATES = (".git/objects/info/alternates", ".git/objects/info/http-alternates")
_KNOWN_EXTENSIONS = frozenset(
    ("noop", "noop-v1", "objectformat", "partialclone", "preciousobjects", "refstorage",
     "relativeworktrees", "worktreeconfig")
)  # fmt: skip
# git-config(1): the settings whose value is a program, a folder of programs, or
# another file of settings. The last word decides, as new ones follow the old.
_PROGRAM_KEYS = frozenset(
    ("alternaterefscommand", "askpass", "clean", "cmd", "command", "defaultkeycommand",
     "difffilter", "driver", "editor", "gitproxy", "helper", "hookspath", "packobjectshook",
     "pager", "process", "program", "proxycommand", "receivepack", "smudge", "sshcommand",
     "templatedir", "textconv", "tunnel", "uploadpack", "vcs")
)  # fmt: skip
_WHOLE = frozenset(("diff.external", "core.attributesfile", "include.path", "protocol.allow"))
_SECTIONS = frozenset(("alias", "pager", "includeif", "hook", "man", "guitool"))
_OFF = frozenset(("", "false", "no", "off", "0"))
_DRIVER = re.compile(r"(?:^|\s)(?:filter|diff|merge)=\S")

Sort = Literal["runs", "redirects"]


class Trap(Struct, frozen=True):
    """One thing that could run or lead elsewhere: file, line (0: the file itself), words.

    `mend` is the line to type where it must go before the fleet can be adopted.
    """

    sort: Sort
    file: str
    line: int
    says: str
    mend: str = ""


class Stranger(Struct, frozen=True):
    """A repository as its files tell: whether it is ours already, and its traps."""

    root: Path
    is_adopted: bool
    traps: tuple[Trap, ...]

    @property
    def redirects(self) -> tuple[Trap, ...]:
        """What must be mended first."""
        return tuple(trap for trap in self.traps if trap.sort == "redirects")


def view_stranger(root: Path) -> Stranger:
    """Read what the repository of `root` could run. No git is run.

    Raises RegisterError (REFUSED) where there is no repository directly in it.
    """
    if not keeping.has_own_git(root):
        raise refuse_no_repository(root)
    return Stranger(root, is_ours(root), tuple(_find_traps(root)))


def adopt_fleet(stranger: Stranger) -> None:
    """Write the marker. Raises RegisterError (REFUSED) while anything redirects."""
    if stranger.redirects:
        first = stranger.redirects[0]
        raise RegisterError(
            f"{first.file} leads elsewhere ({first.says}); not adopted",
            mend="\n".join(trap.mend for trap in stranger.redirects),
            exit_code=Exit.REFUSED,
            code="redirects",
        )
    adopt_marker(stranger.root)


def _find_traps(root: Path) -> Iterator[Trap]:
    files = rescue.list_git_files(root)
    for file in files:
        top = file.path.removeprefix(".git/")
        if file.kind != "file" and not top.startswith(("hooks/", "refs/")):
            mend = f"put the real file or folder in the place of {file.path}"
            yield Trap("redirects", file.path, 0, "it is a link or a device", mend)
        elif top.startswith("hooks/") and not top.endswith(".sample"):
            yield Trap("runs", file.path, 0, "a hook: git runs it by itself")
    for name in CONFIGS:
        data = rescue.read_any(root, name)
        for entry in parse_config(name, data or b""):
            yield from _judge(entry)
    for name in ALTERNATES:
        yield from _judge_alternates(name, rescue.read_any(root, name) or b"")
    for path in (".git/info/attributes", *rescue.list_work_files(root)):
        if path.rpartition("/")[2] in ("attributes", ".gitattributes"):
            yield from _judge_attributes(path, rescue.read_any(root, path) or b"")


def _judge(entry: Entry) -> Iterator[Trap]:
    """Sort one setting; most are harmless and give nothing."""
    shown = f"{entry.name} = {entry.value}"
    if entry.section == "?":
        mend = f"mend line {entry.line} of {entry.file}"
        yield Trap("redirects", entry.file, entry.line, f"git cannot read: {entry.value}", mend)
    elif _leads_elsewhere(entry):
        mend = f"git config --file {entry.file} --unset-all {entry.name}"
        yield Trap("redirects", entry.file, entry.line, shown, mend)
    elif could_run(entry):
        yield Trap("runs", entry.file, entry.line, shown)


def _leads_elsewhere(entry: Entry) -> bool:
    name = entry.name.lower()
    if name == "core.repositoryformatversion":
        return entry.value not in ("0", "1")
    if entry.section == "extensions":
        return entry.key not in _KNOWN_EXTENSIONS
    return name == "core.worktree" or (name == "core.bare" and entry.value.lower() not in _OFF)


def could_run(entry: Entry) -> bool:
    """Whether git, run by the owner, could start a program because of this setting."""
    value = entry.value.strip()
    name = entry.name.lower()
    if name == "core.fsmonitor":
        # true is git's own monitor.
        return value.lower() not in (*_OFF, "true", "yes", "on", "1")
    if entry.section == "alias":
        return value.startswith("!")
    if entry.section == "protocol" and entry.key == "allow":
        return value.lower() != "never"
    if value.startswith(("!", "ext::", "fd::")):
        return True
    if name in _WHOLE or entry.section in _SECTIONS:
        return value.lower() not in _OFF
    if name in ("commit.gpgsign", "tag.gpgsign", "log.showsignature", "push.gpgsign"):
        return value.lower() not in _OFF
    return entry.key in _PROGRAM_KEYS and value != ""


def _judge_alternates(name: str, data: bytes) -> Iterator[Trap]:
    for number, line in enumerate(data.decode("utf-8", "replace").splitlines(), 1):
        if line.strip() and not line.startswith("#"):
            says = f"objects are borrowed from {line.strip()}"
            mend = f"git repack -a -d && mv {name} ..   (once, while {line.strip()} is there)"
            yield Trap("redirects", name, number, says, mend)


def _judge_attributes(path: str, data: bytes) -> Iterator[Trap]:
    for number, line in enumerate(data.decode("utf-8", "replace").splitlines(), 1):
        if not line.lstrip().startswith("#") and _DRIVER.search(line):
            yield Trap("runs", path, number, f"names a driver: {line.strip()}")
