"""Asking one question after another, of a person or of lines that come through a pipe."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Sequence
from typing import TypeVar

from cli.render.sanitise import clean_text
from cli.session import Session
from register.trouble import RegisterError

T = TypeVar("T")


class AnswersEnded(Exception):  # noqa: N818 - not an error: the person stopped
    """No more lines: Ctrl-D, or the end of a pipe."""


class GoBack(Exception):  # noqa: N818 - not an error: the person wants the question before
    """The answer was `b`: back to the question before this one."""


#: Typed where Enter alone means none.
NONE_WORDS = ("none", "no", "nothing", "nil", "n", "-")
#: What goes back to the question before.
BACK = "b"


class Asker:
    """Reads answers from the session's source; prompts never mix with JSON."""

    def __init__(self, session: Session):
        #: How many answers were read so far.
        self.lines = 0
        self.session = session
        self.out = session.err if session.as_json else session.out
        self.is_person = bool(getattr(session.source, "isatty", lambda: False)())

    def say(self, text: str) -> None:
        """One line to the person."""
        self.out.write(f"{self._wrap(text)}\n")

    def _wrap(self, text: str) -> str:
        """Broken at words to the width, further lines set in."""
        clean = clean_text(text)
        indent = " " * (len(clean) - len(clean.lstrip()) + 2)
        return textwrap.fill(
            clean,
            self.session.width - 1,
            subsequent_indent=indent,
            break_long_words=False,
            break_on_hyphens=False,
        )

    def line(self, prompt: str) -> str:
        """One answer, stripped. Raises AnswersEnded at the end of the lines, GoBack on `b`."""
        self.out.write(f"{self._wrap(prompt)} ")
        self.out.flush()
        answer = self.session.source.readline()
        if not answer:
            self.out.write("\n")
            raise AnswersEnded
        if answer.strip().lower() == BACK:
            raise GoBack
        self.lines += 1
        return answer.strip()

    def ask(self, prompt: str, read: Callable[[str], T]) -> T:
        """An answer that `read` accepts; what it refuses is said, and asked again."""
        while True:
            answer = self.line(prompt)
            try:
                return read(answer)
            except RegisterError as error:
                self.refuse(error)

    def refuse(self, error: RegisterError) -> None:
        """Say what was wrong and go on. Lines of a pipe would answer the wrong questions
        from here on, so there it ends, with nothing written.
        """
        if not self.is_person:
            self.out.write("\n")
            raise RegisterError(
                f"{error.says}; nothing was written",
                mend=error.mend,
                exit_code=error.exit_code,
                code=error.code,
            ) from error
        self.say(f"  {error.says}; {error.mend}")

    def several(self, prompt: str, read: Callable[[str], T]) -> tuple[T, ...]:
        """Answers until an empty one; going back takes the last one out first."""
        found: list[T] = []
        while True:
            try:
                item = self.ask(prompt, lambda text: read(text) if blank_none(text) else None)
            except GoBack:
                if not found:
                    raise
                found.pop()
                self.say(f"  the last one is taken out; {len(found)} left")
                continue
            if item is None:
                return tuple(found)
            found.append(item)

    def agrees(self, prompt: str, *, otherwise: bool) -> bool:
        """Yes or no; Enter gives `otherwise`."""

        def read(text: str) -> bool:
            word = text.lower()
            if not word:
                return otherwise
            if word in ("y", "yes", "n", "no"):
                return word.startswith("y")
            raise RegisterError(f"{text[:20]!r} is neither yes nor no", mend="y or n", code="usage")

        return self.ask(f"{prompt} {'[Y/n]' if otherwise else '[y/N]'}", read)


def blank_none(text: str) -> str:
    """An answer where Enter means none: one who writes that out means the same."""
    return "" if text.strip().lower() in NONE_WORDS else text


class Walk:
    """Questions one after another, and back again. A step that asked nothing is stepped over."""

    def __init__(self, asker: Asker, steps: Sequence[Callable[[], None]]):
        self.asker = asker
        self.steps = steps
        self.asked: list[int] = []
        self.next = 0

    def run(self) -> None:
        """On to the last question. Raises GoBack when there is none before this one."""
        while self.next < len(self.steps):
            lines = self.asker.lines
            try:
                self.steps[self.next]()
            except GoBack:
                self.back()
                continue
            if self.asker.lines != lines:
                self.asked.append(self.next)
            self.next += 1

    def back(self) -> None:
        """To the question asked last. Raises GoBack where none was."""
        if not self.asked:
            raise GoBack
        self.next = self.asked.pop()
