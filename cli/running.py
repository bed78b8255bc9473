"""Running a command line: finds the command, runs it, and is the one boundary for errors."""

from __future__ import annotations

import contextlib
import gc
import io
import json
import re
import sys
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from cli.replay import keep
from cli.session import Session, begin_session, make_session
from register.trouble import Exit, RegisterError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import TextIO

    from cli.replay import Question

#: Options that stand before or after the command, with or without a value.
_FLAGS = {"--json": "as_json", "--plain": "as_plain", "--strict": "strict"}
_VALUES = {"--fleet": "fleet_dir", "--on": "on_text"}


class _Heard(io.StringIO):
    """Writes through to a stream and remembers what was written."""

    def __init__(self, stream: TextIO):
        super().__init__()
        self.stream = stream

    def write(self, text: str) -> int:
        """Write through, then remember."""
        self.stream.write(text)
        return super().write(text)

    def flush(self) -> None:
        """Flush the stream behind."""
        self.stream.flush()

    def isatty(self) -> bool:
        """A terminal if the stream behind is one."""
        return self.stream.isatty()


def run_and_keep(argv: Sequence[str], question: Question | None) -> int:
    """Run one command line; keep its answer for the next time if it is one to keep."""
    # A run is short: looking for cycles of garbage costs more than it frees.
    gc.set_threshold(200_000, 50, 50)
    session = make_session()
    if question is None:
        return run_session(argv, session)
    session.walk = question.walk
    out, err = _Heard(session.out), _Heard(session.err)
    session.out, session.err = out, err
    code = run_session(argv, session)
    if code in (int(Exit.ANSWERED), int(Exit.RECORDS)):
        keep(question, session.midnight().timestamp(), (code, out.getvalue(), err.getvalue()))
    return code


def run_captured(
    argv: Sequence[str], *, now: datetime, cwd: Path, stdin: str | None
) -> tuple[int, str, str]:
    """Run one command line in this process: exit code, output, errors."""
    out, err = io.StringIO(), io.StringIO()
    session = make_session(now, cwd)
    session.out, session.err, session.source = out, err, io.StringIO(stdin or "")
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = run_session(argv, session)
    return code, out.getvalue(), err.getvalue()


def run_session(argv: Sequence[str], session: Session) -> int:
    """Run one command line; every outcome becomes an exit code, never a traceback."""
    from cli.boundary import report_bug, report_error

    begin_session(session)
    try:
        arguments = take_common_options(argv, session)
        code = _dispatch(arguments, session)
        session.out.flush()
    except RegisterError as error:
        return report_error(session, error)
    except KeyboardInterrupt:
        session.err.write("interrupted; nothing more was written\n")
        return int(Exit.INTERRUPTED)
    except BrokenPipeError:
        _silence()
        return int(Exit.INTERRUPTED)
    except Exception as error:  # the boundary: a bug is reported, not thrown
        return report_bug(session, error, argv)
    return code


def take_common_options(argv: Sequence[str], session: Session) -> list[str]:
    """Take --json, --plain, --strict, --fleet and --on from anywhere before a bare --."""
    rest: list[str] = []
    words = list(argv)
    while words:
        word = words.pop(0)
        if word == "--":
            return [*rest, word, *words]
        name, equals, value = word.partition("=")
        if word in _FLAGS:
            setattr(session, _FLAGS[word], True)
        elif name in _VALUES and (equals or words):
            setattr(session, _VALUES[name], value if equals else words.pop(0))
        elif name in _VALUES:
            raise RegisterError(f"{name} needs a value", mend=f"{name} VALUE", code="usage")
        else:
            rest.append(word)
    return rest


def _dispatch(arguments: list[str], session: Session) -> int:
    from cli.commands.table import make_app

    app = make_app(arguments)
    try:
        result = app(arguments, prog_name="tailsheaf", standalone_mode=False)
    except RegisterError:
        raise
    except SystemExit as ended:
        # Typer ends the program itself when the reader of a pipe has gone.
        raise BrokenPipeError from ended
    except Exception as error:
        # Typer's own usage errors, known by their shape: its error classes are private.
        show = getattr(error, "format_message", None)
        if show is not None:
            _refuse_negative(error)
            raise RegisterError(
                str(show()).strip().rstrip("."),
                mend=_usage_line(error),
                code="usage",
                exit_code=Exit.USAGE,
            ) from error
        if type(error).__name__ == "Abort":
            raise KeyboardInterrupt from error
        raise
    if result == int(Exit.INTERRUPTED):
        # Typer turns an interrupt into this code and says nothing.
        raise KeyboardInterrupt
    if isinstance(result, int) and result:
        return result
    return final_code(session)


def _refuse_negative(error: Exception) -> None:
    """A number below zero looks like an option; say what it is."""
    word = str(getattr(error, "option_name", ""))
    if re.fullmatch(r"-\d.*", word):
        raise RegisterError(
            f"{word[:20]} is negative; a count begins at 0",
            mend=f"give {word.lstrip('-')[:20]} if that was meant",
            code="amount-wrong",
        ) from error


def final_code(session: Session) -> int:
    """0, or 1 when a record is wrong, or when --strict and something is open."""
    if session.problems_seen or (session.strict and session.open_items):
        return int(Exit.RECORDS)
    return int(Exit.ANSWERED)


def _usage_line(error: Exception) -> str:
    context = getattr(error, "ctx", None)
    usage = context.get_usage() if context is not None else ""
    words = " ".join(usage.replace("Usage:", "").split())
    return f"{words}   (--help shows an example)" if words else "tailsheaf --help"


def _silence() -> None:
    """The reader went away: keep the interpreter from complaining at exit."""
    sys.stdout = io.StringIO()


def write_json_error(session: Session, error: RegisterError) -> None:
    """The error as data, on standard output."""
    data = {
        "version": 1,
        "error": {
            "exit": int(error.exit_code),
            "code": error.code,
            "says": error.says,
            "mend": error.mend,
        },
    }
    session.out.write(json.dumps(data, indent=2) + "\n")
