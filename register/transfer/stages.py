"""What a long piece of work says of itself while it goes on."""

from __future__ import annotations

from collections.abc import Callable

Tell = Callable[[str, int, int], None]
"""Is told what is being done, how much of it is done, and of how much (0: not known)."""


def say_nothing(_says: str, _done: int, _of: int) -> None:
    """Nobody looks."""
