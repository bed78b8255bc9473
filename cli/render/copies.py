"""What became of the copies that file-sync services left."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cli.render.screen import Screen, Span

if TYPE_CHECKING:
    from register.copying import CopyDeed


def add_copies(screen: Screen, copies: tuple[CopyDeed, ...]) -> None:
    """One line for each; those that need the owner stand out."""
    if copies:
        screen.line("copies that a sync service left:")
    for item in copies:
        says = Span(item.says, "attend") if item.moved is None else Span(item.says)
        screen.line([Span(item.path, "strong"), "  ", says], 2, 4)
        if item.moved is not None:
            screen.line(f"now in {item.moved}", 4, 4)


def copies_shape(copies: tuple[CopyDeed, ...]) -> list[dict[str, object]]:
    """As data."""
    return [{"path": item.path, "says": item.says, "moved": item.moved} for item in copies]
