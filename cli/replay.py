"""Whether this very question was answered before, over the same files, on the same day.

Imports next to nothing: a kept answer costs a walk over the folder and no more.
"""

from __future__ import annotations

import os
import sys
import time

from register.storage import answers

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Mapping
    from typing import TextIO

#: Commands that only read, and whose answer depends on the record files and the day alone.
READING = frozenset(
    {"due", "flyday", "fleet", "history", "why", "faults", "trend", "season", "report"}
)
#: Commands that only read unless an option says otherwise.
SHOWING = frozenset({"parts", "aircraft"})
#: With these a page is written, or what is private shown: asked anew each time, kept nowhere.
_NOT_KEPT = ("--html", "--private")
_VALUES = ("--fleet", "--on")
#: What of the surroundings an answer depends on.
_SURROUNDINGS = ("COLUMNS", "NO_COLOR", "TAILSHEAF_TERMINAL", "TERM")


class Question:
    """One command line over one state of the files. Not for anything but replaying."""

    __slots__ = ("key_path", "name", "root", "walk")

    def __init__(self, root: str, name: str, key_path: str, walk: answers.Walk):
        self.root = root
        self.name = name
        self.key_path = key_path
        self.walk = walk


def find_question(arguments: list[str]) -> Question | None:
    """The question asked, if it is one that answers are kept for."""
    words, chosen = _split(arguments)
    if not words or "--help" in words or "-h" in words:
        return None
    shows = words[0] in SHOWING and not any(word.startswith("-") for word in words)
    if words[0] not in READING and not shows:
        return None
    if any(word.partition("=")[0] in _NOT_KEPT for word in words):
        return None
    key_path = find_key_path(os.environ)
    try:
        start = os.path.join(os.getcwd(), chosen or os.environ.get("TAILSHEAF_FLEET") or "")
    except OSError:
        return None
    root = answers.find_root(start)
    if root is None or key_path is None or not answers.is_ours(root):
        return None
    walk = answers.walk_files(root)
    here = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))
    program = answers.stamp_program((f"{here}/register", f"{here}/cli"))
    surroundings = "\0".join(f"{name}={os.environ.get(name)}" for name in _SURROUNDINGS)
    name = answers.make_name(
        (
            walk.digest,
            program,
            root.encode("utf-8", "surrogateescape"),
            "\0".join(arguments).encode("utf-8", "surrogateescape"),
            f"{surroundings}\0{_is_terminal(sys.stdout)}\0{_columns()}".encode(),
            answers.stamp_carriers(root).encode("ascii"),
        )
    )
    return Question(root, name, key_path, walk)


def replay(question: Question) -> int | None:
    """Write the kept answer and give its exit code; None when there is none that holds."""
    key = answers.read_key(question.key_path)
    if key is None:
        return None
    found = answers.read_answer(question.root, question.name, key, time.time())
    if found is None:
        return None
    code, out, err = found
    try:
        sys.stderr.write(err)
        sys.stdout.write(out)
        sys.stdout.flush()
    except BrokenPipeError:
        sys.stdout = None
        return 130
    return code


def keep(question: Question, until: float, answer: tuple[int, str, str]) -> None:
    """Keep an answer, unless the files changed meanwhile or so lately that a stamp may lie."""
    now = time.time()
    if question.walk.newest + answers.RACY_NS > time.time_ns():
        return
    if answers.walk_files(question.root).digest != question.walk.digest:
        return
    key = answers.read_key(question.key_path) or answers.make_key(question.key_path)
    if key is not None:
        answers.keep_answer(question.root, question.name, key, (now, until), answer)


def _split(arguments: list[str]) -> tuple[list[str], str | None]:
    """The words that are no common option, and the fleet named."""
    words: list[str] = []
    chosen: str | None = None
    waiting: str | None = None
    for word in arguments:
        name, equals, value = word.partition("=")
        if waiting is not None:
            chosen = word if waiting == "--fleet" else chosen
            waiting = None
        elif name in _VALUES:
            if not equals:
                waiting = name
            elif name == "--fleet":
                chosen = value
        elif word not in ("--json", "--plain", "--strict"):
            words.append(word)
    return words, chosen


def find_key_path(environment: Mapping[str, str]) -> str | None:
    """Where the key lies that seals what is kept: outside every fleet."""
    state = environment.get("XDG_STATE_HOME")
    if not state:
        home = environment.get("HOME")
        if not home:
            return None
        state = f"{home}/.local/state"
    return f"{state}/tailsheaf/key"


def _is_terminal(stream: TextIO) -> bool:
    try:
        return stream.isatty()
    except (AttributeError, ValueError):
        return False


def _columns() -> int:
    try:
        return os.get_terminal_size(sys.stdout.fileno()).columns
    except (OSError, ValueError, AttributeError):
        return 0
