"""The session: the only place that knows the clock, the environment and the folder stood in."""

from __future__ import annotations

import os
import random
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from register.trouble import RegisterError

if TYPE_CHECKING:
    from cli.render.screen import Screen
    from register.desk import Fleet
    from register.entry.clerk import Clerk, Plan
    from register.storage.answers import Walk
    from register.transfer.stages import Tell


@dataclass
class Session:
    """One run of the command line."""

    now: datetime
    cwd: Path
    environment: Mapping[str, str]
    out: TextIO
    err: TextIO
    source: TextIO
    fleet_dir: str | None = None
    on_text: str | None = None
    as_json: bool = False
    as_plain: bool = False
    strict: bool = False
    open_items: int = 0
    problems_seen: bool = False
    #: Set by questions about what is to come: a bare weekday is then the coming one.
    looks_ahead: bool = False
    walk: Walk | None = None
    chance: random.Random = field(default_factory=random.SystemRandom)

    @property
    def start_folder(self) -> Path:
        """Where the search for the fleet begins."""
        from register.storage.disk import resolve_path

        chosen = self.fleet_dir or self.environment.get("TAILSHEAF_FLEET")
        return resolve_path(self.cwd / chosen) if chosen else self.cwd

    @property
    def width(self) -> int:
        """Columns to write in."""
        columns = self.environment.get("COLUMNS", "")
        if columns.isascii() and columns.isdigit() and 20 <= int(columns) <= 1000:
            return int(columns)
        return _terminal_columns() if self.is_terminal else 80

    @property
    def is_terminal(self) -> bool:
        """True when a person is looking."""
        if self.environment.get("TAILSHEAF_TERMINAL") == "1":
            return True
        return bool(getattr(self.out, "isatty", lambda: False)())

    @property
    def wants_rich(self) -> bool:
        """Rich draws only for a terminal and never under --plain."""
        return self.is_terminal and not self.as_plain

    def open(self) -> Fleet:
        """Open the fleet, once per run."""
        from time import monotonic

        from cli.progress import Progress
        from cli.replay import find_key_path
        from register.desk import open_fleet

        found = getattr(self, "_fleet", None)
        if found is None:
            key_path = find_key_path(self.environment)
            if not getattr(self.err, "isatty", lambda: False)():
                found = open_fleet(self.start_folder, key_path, None, self.walk)
            else:
                progress = Progress(self.err, monotonic)
                try:
                    found = open_fleet(self.start_folder, key_path, progress.tell, self.walk)
                finally:
                    progress.end()
            self._fleet = found
        return found

    @contextmanager
    def stages(self) -> Iterator[Tell]:
        """What to tell the stages of a long piece of work; shown only where somebody looks."""
        from time import monotonic

        from cli.progress import MANY_FILES, PATIENCE, Progress

        if not getattr(self.err, "isatty", lambda: False)():
            yield lambda says, done, of: None
            return
        # In a large fleet the first stage may be the longest, and nothing would show in it.
        patience = 0.0 if len(self.open().sources) > MANY_FILES else PATIENCE
        bar = Progress(self.err, monotonic, patience=patience)
        try:
            yield bar.tell_stage
        finally:
            bar.end()

    @property
    def today(self) -> date:
        """Today in the fleet's home zone."""
        return self.now.astimezone(self.open().zone).date()

    @property
    def on(self) -> date:
        """The day of knowledge: --on, else today.

        A day named without week or year is the last such day, and the coming one for a
        question that looks ahead.
        """
        if self.on_text is None:
            return self.today
        from register.entry.dates import read_day

        return read_day(self.on_text, self.now, self.open().zone, ahead=self.looks_ahead)

    def midnight(self) -> datetime:
        """The end of today in the fleet's home zone, to which an answer may be kept."""
        zone = self.open().zone
        tomorrow = self.now.astimezone(zone).date() + timedelta(days=1)
        return datetime.combine(tomorrow, time(), zone)

    def clerk(self, by: str | None = None, about: Iterable[str] = ()) -> Clerk:
        """A clerk for a writing command; `about` are the words that say whom it concerns."""
        from register.desk import make_clerk

        return make_clerk(self.open(), self.now, self.chance, by, about)

    def plan(self, about: Iterable[str | None], make: Callable[[Clerk], Plan]) -> Plan:
        """A plan for which no more of the fleet is opened than the words typed could mean.

        What cannot be planned so is tried over the whole fleet: a refusal may name any of it.
        """
        clerk = self.clerk(about=[word for word in about if word])
        try:
            plan = make(clerk)
            if clerk.saw_all_of(plan):
                return plan
        except RegisterError:
            pass
        return make(self.clerk())

    def record(self, plan: Plan) -> None:
        """Apply a plan, then say what was written and what it changed."""
        from cli.render.acknowledge import acknowledge

        acknowledge(self, plan)

    def show(self, screen: Screen, data: object) -> None:
        """Write an answer: JSON, plain text or a drawn screen."""
        from cli.render.output import show_answer

        show_answer(self, screen, data)


_current: ContextVar[Session] = ContextVar("session")


def current_session() -> Session:
    """The session of this run."""
    return _current.get()


def begin_session(session: Session) -> None:
    """Make a session the current one."""
    _current.set(session)


def make_session(now: datetime | None = None, cwd: Path | None = None) -> Session:
    """A session from the surroundings of the process."""
    return Session(
        now=now or datetime.now().astimezone(),
        cwd=cwd or _standing_folder(),
        environment=os.environ,
        out=sys.stdout,
        err=sys.stderr,
        source=sys.stdin,
    )


def _standing_folder() -> Path:
    """The folder stood in; where it was removed meanwhile, the place it had."""
    try:
        return Path.cwd()
    except OSError:
        return Path(os.environ.get("PWD", os.sep))


def _terminal_columns() -> int:
    """Columns of the terminal written to; 80 when it does not say."""
    for stream in (sys.__stdout__, sys.__stderr__):
        try:
            return os.get_terminal_size(stream.fileno()).columns if stream else 80
        except (OSError, ValueError):
            continue
    return 80
