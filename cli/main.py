"""The entry point: gives a kept answer if one still holds, else runs the command line.

Only what a kept answer needs is imported here; see `register/storage/answers.py`.
"""

from __future__ import annotations

import os
import sys

TYPE_CHECKING = False
if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path


def run() -> None:
    """Entry point of the console script."""
    from cli.replay import find_question, replay

    for stream in (sys.stdout, sys.stderr):
        # UTF-8 under any locale: records hold any text.
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(encoding="utf-8", errors="backslashreplace")
    # A locale without UTF-8 hands over the bytes of other letters one by one.
    arguments = [os.fsencode(word).decode("utf-8", "surrogateescape") for word in sys.argv[1:]]
    question = find_question(arguments)
    code = replay(question) if question is not None else None
    if code is None:
        from cli.running import run_and_keep

        code = run_and_keep(arguments, question)
        _leave_memory()
    sys.exit(code)


def _leave_memory() -> None:
    """The process ends, and its memory goes with it.

    Looking through all of it for garbage first takes Python a fifth of a long run's time.
    """
    import gc

    gc.disable()
    gc.freeze()


def run_in_process(
    argv: list[str], *, now: datetime, cwd: Path, stdin: str | None = None
) -> tuple[int, str, str]:
    """Run one command line without a new process: exit code, output, errors."""
    from cli.running import run_captured

    return run_captured(argv, now=now, cwd=cwd, stdin=stdin)
