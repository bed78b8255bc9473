"""What is said when a command cannot go on."""

from __future__ import annotations

import sys
import traceback
from collections.abc import Sequence

from cli.render.folding import fold_line
from cli.render.sanitise import clean_text
from cli.session import Session
from register.trouble import Exit, RegisterError


def report_error(session: Session, error: RegisterError) -> int:
    """One error, its way out, its exit code."""
    if error.problems:
        from cli.render.problems import write_problems

        write_problems(session, error.problems)
    if session.as_json:
        from cli.running import write_json_error

        write_json_error(session, error)
    else:
        _say(session, "tailsheaf: ", error.says, 2)
        for n, line in enumerate(error.mend.splitlines()):
            _say(session, "  mend: " if n == 0 else " " * 8, line, 8)
    return int(error.exit_code)


def _say(session: Session, lead: str, text: str, hang: int) -> None:
    for row in fold_line(lead, clean_text(text), session.width, hang):
        session.err.write(row + "\n")


def report_bug(session: Session, error: Exception, argv: Sequence[str]) -> int:
    """A fault of the program itself: a short text to pass on, never a raw traceback."""
    frame = traceback.extract_tb(error.__traceback__)[-1] if error.__traceback__ else None
    where = f"{frame.filename.rpartition('/')[2]}:{frame.lineno}" if frame else "unknown"
    session.err.write(
        f"tailsheaf: this is a fault of the program, not of your records\n"
        f"  {type(error).__name__} at {where}: {clean_text(str(error))[:200]}\n"
        f"  command: {clean_text(' '.join(argv))[:200]}\n"
        f"  Nothing half-written is left behind; the next command finishes or drops it.\n"
    )
    if session.environment.get("TAILSHEAF_TRACE"):
        traceback.print_exception(error, file=sys.stderr)
    return int(Exit.BUG)
