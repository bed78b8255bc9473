"""A sign of life while a large fleet is read for the first time."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import TextIO

#: Seconds of silence that need no explaining.
PATIENCE = 1.0
WIDTH = 30


class Progress:
    """A bar on the error stream, from the second second on; nothing where nobody looks."""

    def __init__(
        self,
        stream: TextIO,
        clock: Callable[[], float],
        words: str = "reading {done} of {of} files",
    ):
        self.stream = stream
        self.clock = clock
        self.begun = clock()
        self.shown = -1
        self.words = words

    def tell(self, done: int, of: int) -> None:
        """So many files of so many are read."""
        if self.clock() - self.begun < PATIENCE or not of:
            return
        filled = WIDTH * done // of
        if filled == self.shown:
            return
        self.shown = filled
        bar = "#" * filled + "." * (WIDTH - filled)
        self.stream.write(f"\r{self.words.format(done=done, of=of)}  {bar}")
        self.stream.flush()

    def end(self) -> None:
        """Take the bar away again."""
        if self.shown >= 0:
            self.stream.write("\r" + " " * 79 + "\r")
            self.stream.flush()
            self.shown = -1
