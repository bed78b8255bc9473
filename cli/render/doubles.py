"""Flights that were perhaps typed twice: one line under whatever counts them."""

from __future__ import annotations

from cli.render.screen import Screen, Span


def add_doubles(screen: Screen, count: int) -> None:
    """One line while a pair is open; none where there is none."""
    if count:
        screen.line(
            [
                Span(
                    f"{tell_pairs(count)} like one flight typed twice, and both count:  ", "attend"
                ),
                Span("tailsheaf check", "command"),
            ],
            0,
            2,
        )


def tell_pairs(count: int) -> str:
    """How many pairs, with the verb."""
    return "1 pair looks" if count == 1 else f"{count} pairs look"


def doubles_shape(count: int) -> dict[str, object]:
    """`doubles`, in the answers of a fleet where a pair is open."""
    return {"doubles": count} if count else {}
