"""A sign of life while a large fleet is read for the first time, or a long history moves."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import TextIO

#: Seconds of silence that need no explaining.
PATIENCE = 1.0
WIDTH = 30
#: A fleet of more files is said to be worked on at once.
MANY_FILES = 2_000


class Progress:
    """A bar on the error stream, from the second second on; nothing where nobody looks."""

    def __init__(
        self,
        stream: TextIO,
        clock: Callable[[], float],
        words: str = "reading {done} of {of} files",
        patience: float = PATIENCE,
    ):
        self.stream = stream
        self.clock = clock
        self.begun = clock()
        self.shown = -1
        self.words = words
        self.patience = patience
        self.line = ""

    def tell(self, done: int, of: int) -> None:
        """So many files of so many are read."""
        if self.clock() - self.begun < self.patience or not of:
            return
        filled = WIDTH * done // of
        if filled == self.shown:
            return
        self.shown = filled
        bar = "#" * filled + "." * (WIDTH - filled)
        self.stream.write(f"\r{self.words.format(done=done, of=of)}  {bar}")
        self.stream.flush()

    def tell_stage(self, says: str, done: int, of: int) -> None:
        """What is being done, and how far it is; `of` is 0 where that cannot be told."""
        if self.clock() - self.begun < self.patience:
            return
        filled = WIDTH * done // of if of else 0
        line = says + (f"  {'#' * filled}{'.' * (WIDTH - filled)}" if of else " ...")
        if line == self.line:
            return
        self.line, self.shown = line, filled
        self.stream.write(f"\r{line:79}")
        self.stream.flush()

    def end(self) -> None:
        """Take the bar away again."""
        if self.shown >= 0:
            self.stream.write("\r" + " " * 79 + "\r")
            self.stream.flush()
            self.shown = -1
