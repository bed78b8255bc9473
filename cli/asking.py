"""Asking one question after another, of a person or of lines that come through a pipe."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from cli.render.sanitise import clean_text
from cli.session import Session
from register.trouble import RegisterError

T = TypeVar("T")


class AnswersEnded(Exception):  # noqa: N818 - not an error: the person stopped
    """No more lines: Ctrl-D, or the end of a pipe."""


class Asker:
    """Reads answers from the session's source; prompts never mix with JSON."""

    def __init__(self, session: Session):
        self.session = session
        self.out = session.err if session.as_json else session.out
        self.is_person = bool(getattr(session.source, "isatty", lambda: False)())

    def say(self, text: str) -> None:
        """One line to the person."""
        self.out.write(f"{clean_text(text)}\n")

    def line(self, prompt: str) -> str:
        """One answer, stripped. Raises AnswersEnded at the end of the lines."""
        self.out.write(f"{clean_text(prompt)} ")
        self.out.flush()
        answer = self.session.source.readline()
        if not answer:
            self.out.write("\n")
            raise AnswersEnded
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
            raise error
        self.say(f"  {error.says}; {error.mend}")

    def several(self, prompt: str, read: Callable[[str], T]) -> tuple[T, ...]:
        """Answers until an empty one."""
        found: list[T] = []
        while True:
            item = self.ask(prompt, lambda text: read(text) if text else None)
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
