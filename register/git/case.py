"""A repository under the doctor's eyes: what was found, and what is done about it.

Every step is written once for looking and for mending: each deed goes through
the case, which does nothing but take note when it only looks.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from subprocess import CompletedProcess

from msgspec import Struct

from register.git.wrapper import build_environment, git_failed, start_git
from register.storage import journal, keeping, rescue

_OLD = 15 * 60.0
"""Seconds after which no running git can still be at the same write."""

_WRITE_LASTS = 60.0


class Finding(Struct, frozen=True):
    """One thing found: a stable code, its fleet-relative place, what is wrong, what was done.

    `deed` is empty where nothing can be or need be done; `damage` is False for
    what is only left over; `still_wrong` where the doctor cannot mend it.
    """

    code: str
    path: str
    says: str
    deed: str
    damage: bool
    still_wrong: bool


@dataclass
class Case:
    """The state of one run. `acts` False: only look."""

    root: Path
    branch: str
    acts: bool
    copies: bool
    stamp: str
    findings: list[Finding] = field(default_factory=list)
    copy: str | None = None
    rescue: str | None = None
    #: Paths of loose objects that cannot be read.
    bad_objects: set[str] = field(default_factory=set)
    _view: Path | None = None
    _now: float = field(default_factory=time.time)

    def note(
        self,
        code: str,
        path: str,
        says: str,
        deed: str = "",
        *,
        damage: bool = True,
        still_wrong: bool = False,
    ) -> None:
        """Take down a finding."""
        self.findings.append(Finding(code, path, says, deed, damage, still_wrong))

    def move(self, code: str, path: str, says: str, *, damage: bool = True, then: str = "") -> None:
        """Set a file aside; `then` is what is done about it after that, in the past tense."""
        if self.acts:
            rescue.set_aside(self.root, path, self.begin())
        self.note(code, path, says, "moved" + (f"; {then}" if then else ""), damage=damage)

    def rewrite(self, code: str, path: str, says: str, data: bytes, deed: str) -> None:
        """Put other bytes at a place below `.git`; what was there is kept aside."""
        if self.acts:
            rescue.keep_copy(self.root, path, self.begin())
            rescue.replace_git_file(self.root, path, data)
        self.note(code, path, says, deed)

    def make_folder(self, path: str) -> None:
        """Make a folder that git does not work without."""
        if self.acts:
            self.begin()
            rescue.make_git_folder(self.root, path)
        self.note("folder-missing", path, "is missing", "made")

    def begin(self) -> str:
        """Before the first deed: choose the rescue folder and copy `.git` there."""
        if self.rescue is None:
            self.rescue = rescue.choose_rescue(self.root, self.stamp)
            if self.copies:
                self.copy, left = rescue.copy_git_folder(self.root, self.rescue)
                for path in left:
                    self.note("not-copied", path, "could not be copied aside", damage=False)
        return self.rescue

    @property
    def rescue_place(self) -> str | None:
        """Where things were moved, fleet-relative; None where nothing was."""
        return f"{keeping.KEEPING}/{rescue.RESCUE}/{self.rescue}" if self.rescue else None

    def is_dead(self, changed: float) -> bool:
        """Whether a lock or half-written file has no living writer.

        It is old, or it appeared within a minute of a journal entry whose
        writer is dead (we hold the fleet's lock). A clock set back counts as old.
        """
        if abs(self._now - changed) > _OLD:
            return True
        return any(0.0 <= changed - began <= _WRITE_LASTS for began in self._dead_writers())

    def age(self, changed: float) -> int:
        """Whole seconds since a moment."""
        return max(0, int(self._now - changed))

    def _dead_writers(self) -> list[float]:
        return keeping.list_times(self.root, journal.PENDING)

    @contextmanager
    def open_view(self, config: str) -> Iterator[None]:
        """Make `ask` possible: git with an empty folder of our own and the fleet's objects."""
        hidden = frozenset() if self.acts else frozenset(self.bad_objects)
        with rescue.bare_view(self.root, hidden, config, acts=self.acts) as folder:
            self._view = folder
            try:
                yield
            finally:
                self._view = None

    def ask(
        self, args: Sequence[str], stdin: bytes | None = None, index: Path | None = None
    ) -> CompletedProcess[bytes]:
        """Run git on the fleet's objects alone: no configuration, ref or hook of the fleet's.

        Objects it makes go to the fleet when mending, and away when only looking.
        """
        env = build_environment(None)
        env["GIT_DIR"] = str(self._view)
        if self.acts:
            env["GIT_OBJECT_DIRECTORY"] = str(self.root.absolute() / ".git/objects")
        if index is not None:
            env["GIT_INDEX_FILE"] = str(index)
        return start_git(args, env, stdin)

    @property
    def scratch(self) -> Path:
        """The folder that goes away with the view."""
        assert self._view is not None  # noqa: S101 - only used inside open_view
        return self._view

    def look(self, args: Sequence[str]) -> CompletedProcess[bytes]:
        """Run git on the repository itself, reading only."""
        return start_git(args, build_environment(self.root))

    def write(self, args: Sequence[str], stdin: bytes | None = None) -> None:
        """Run a git command that writes, journalled so that its locks are known as ours.

        Raises RegisterError where git fails.
        """
        self.begin()
        entry = journal.open_entry(self.root, {}, "doctor")
        result = start_git(args, build_environment(self.root), stdin)
        journal.close_entry(self.root, entry)
        if result.returncode != 0:
            raise git_failed(args[0], result.stderr)
