"""The screen of `papers`."""

from __future__ import annotations

from cli.render.marks import GROUNDS_MARK, day_words, note_unread, unread_words
from cli.render.screen import Column, Meaning, Screen, Span, Words
from cli.render.shapes import Shape, basis_shape
from cli.session import Session
from register.views.papers import PaperLine, PapersView

STATES: dict[str, tuple[str, Meaning]] = {
    "expired": ("EXPIRED", "stop"),
    "soon": ("soon", "attend"),
    "in-date": ("in date", "plain"),
    "not-yet": ("not begun", "attend"),
    "cannot-tell": ("NOT KNOWN", "unsure"),
}


def render_papers(session: Session, view: PapersView) -> None:
    """Papers, soonest expiry first; one alone with all its spells."""
    note_unread(session, view.unread)
    session.open_items += sum(
        line.state.state in ("expired", "cannot-tell", "not-yet") for line in view.lines
    )
    screen = Screen()
    screen.title("Papers", day_words(view.on))
    if view.unread:
        screen.line(unread_words(view.unread))
    screen.gap()
    screen.table(
        (
            Column(""),
            Column("paper", flexible=True),
            Column("kind"),
            Column("covers", flexible=True),
            Column("state"),
            Column("until"),
            Column("days", right=True),
        ),
        [_row(line) for line in view.lines],
    )
    if not view.lines:
        screen.line("no paper is recorded yet")
        words = "tailsheaf papers NAME --add --kind insurance --covers fleet --until DATE"
        screen.line(Span(words, "command"), 2)
    if any(line.state.paper.grounds for line in view.lines):
        screen.gap()
        screen.line(Span(f"{GROUNDS_MARK} grounds what it covers when it has run out", "faint"))
    if view.one:
        _one(screen, view.lines[0])
    data = {
        "version": 1,
        "on": view.on,
        "complete": view.complete,
        "papers": [_shape(line) for line in view.lines],
    }
    session.show(screen, data)


def _row(line: PaperLine) -> tuple[Words, ...]:
    state, paper = line.state, line.state.paper
    left = "" if state.days_left is None else str(state.days_left)
    return (
        GROUNDS_MARK if paper.grounds else "",
        Span(paper.name, "strong"),
        paper.kind,
        ", ".join(line.covers),
        Span(*STATES[state.state]),
        state.until.isoformat() if state.until else "",
        left,
    )


def _one(screen: Screen, line: PaperLine) -> None:
    paper = line.state.paper
    screen.gap()
    screen.line(f"{paper.title}, {paper.warn_days} days of warning; basis: {paper.basis.text}")
    for since, until in paper.spells:
        begins = f"from {since.isoformat()} " if since else ""
        screen.line(f"{begins}until {until.isoformat() if until else '?'}", 2)
    screen.line(Span(f"{paper.path}   renew: tailsheaf papers {paper.name} --until DATE", "faint"))


def _shape(line: PaperLine) -> Shape:
    state, paper = line.state, line.state.paper
    return {
        "paper": paper.name,
        "id": paper.id,
        "title": paper.title,
        "kind": paper.kind,
        "covers": list(line.covers),
        "state": state.state,
        "until": state.until,
        "days_left": state.days_left,
        "warn_days": paper.warn_days,
        "grounds": paper.grounds,
        "valid": [{"from": since, "until": until} for since, until in paper.spells],
        "basis": basis_shape(paper.basis),
        "path": paper.path,
    }
