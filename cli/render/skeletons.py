"""The skeletons of `kit --skeleton` and `programme --skeleton`: printed as they are, to copy."""

from __future__ import annotations

import json

from cli.render.screen import Column, Screen, Span
from cli.session import Session
from register.starters.skeletons import Skeleton


def say_skeletons(screen: Screen, *sections: str, path: str) -> None:
    """Under an empty answer: where the sections are written, and the lines that show their keys."""
    named = " and ".join(f"{section}:" for section in sections)
    where = f"in {path} or its kit's file" if path else "in a kit's or an aircraft's file"
    screen.line(f"Write {named} {where}; all keys:")
    for section in sections:
        screen.line(Span(f"tailsheaf kit --skeleton {section}", "command"), 2)


def render_skeletons(session: Session, found: tuple[Skeleton, ...]) -> None:
    """The sections that there are, in one line each."""
    screen = Screen()
    screen.title("Sections of a kit's or an aircraft's file")
    screen.gap()
    screen.table(
        (Column("section"), Column("what it holds", flexible=True)),
        [(Span(item.name, "strong"), item.about) for item in found],
    )
    screen.gap()
    screen.line("One with all its keys and what they mean, to copy into the file:")
    screen.line(Span("tailsheaf kit --skeleton joints", "command"), 2)
    screen.line("Positions, and what each flight adds, are entered by a line:")
    screen.line(
        Span("tailsheaf kit NAME --position engine=turbine! --per-flight landings=1", "command"), 2
    )
    listed = [{"section": item.name, "about": item.about} for item in found]
    session.show(screen, {"version": 1, "sections": listed})


def render_skeleton(session: Session, found: Skeleton) -> None:
    """One of them, byte for byte: it may be sent into a file."""
    if session.as_json:
        data = {"version": 1, "name": found.name, "about": found.about, "text": found.text}
        session.out.write(json.dumps(data, indent=2) + "\n")
        return
    session.out.write(found.text)
