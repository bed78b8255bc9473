"""The screen of `cure`."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from cli.render.marks import day_words, note_unread, unread_words
from cli.render.screen import Column, Meaning, Screen, Span, Words
from cli.render.shapes import Shape, basis_shape
from cli.session import Session
from register.findings.cures import moment_words
from register.records.values import format_amount
from register.views.cures import CureLine, CuresView

STAGES: dict[str, tuple[str, Meaning]] = {
    "curing": ("CURING", "stop"),
    "handling": ("HANDLE ONLY", "limit"),
    "cannot-tell": ("CANNOT TELL", "unsure"),
    "complete": ("complete", "plain"),
}


def render_cures(session: Session, view: CuresView) -> None:
    """Cures, the soonest complete first, with the hour asked."""
    note_unread(session, view.unread)
    session.open_items += sum(line.stage != "complete" for line in view.lines)
    screen = Screen()
    of = f" on {view.subject}" if view.subject else ""
    screen.title(f"Curing{of}", f"{day_words(view.on)} {view.moment:%H:%M}")
    if view.unread:
        screen.line(unread_words(view.unread))
    for line in view.lines:
        _one(screen, line)
    screen.gap()
    if not view.lines:
        screen.line("nothing is recorded as curing")
        whose = view.subject or "AIRCRAFT"
        begin = f'tailsheaf cure {whose} hinge --adhesive "epoxy, 30 minutes" --full 24h'
        screen.line(Span(begin, "command"), 2)
        screen.gap()
    if view.over:
        count = f"{view.over} complete by the table"
        screen.line(f"{count}, not shown (--all)")
    screen.line(Span(view.caution, "faint"), 0, 2)
    session.show(screen, _shape(view))


def _one(screen: Screen, line: CureLine) -> None:
    cure, body = line.state, line.state.body
    screen.gap()
    whose = ", ".join(cure.hosts) or "on no aircraft"
    if cure.part:
        whose = f"{cure.part} ({whose})"
    where = f" at {body.at}" if body.at else ""
    head: list[str | Span] = [Span(*STAGES[line.stage]), "  ", Span(f"{whose}{where}", "strong")]
    text = f": {body.text}" if body.text else ""
    screen.line([*head, f"{text}  {cure.event.id[:6]}"], 0, 2)
    heat = f" at {format_amount(body.temperature)} °C" if body.temperature is not None else ""
    rows: list[tuple[Words, ...]] = [
        (
            "mixed",
            moment_words(cure.mixed) if cure.is_exact else f"by {moment_words(cure.mixed)}",
            body.adhesive + ("" if cure.is_exact else ", the time of day is not recorded"),
        ),
        ("handle", *_end(cure.handling_at, body.handling_minutes, heat)),
        ("full load", *_end(cure.full_at, body.full_minutes, heat)),
    ]
    screen.table((Column(""), Column(""), Column("", flexible=True)), rows, indent=2, heads=False)
    left = _left_words(line)
    screen.line(f"{left}basis: {body.basis.text}", 2, 2)
    for words in line.held:
        screen.line(f"not done before: {words}", 2, 2)


def _end(moment: datetime | None, minutes: Decimal | None, heat: str) -> tuple[Words, Words]:
    if moment is None or minutes is None:
        return (Span("not known", "unsure"), "the maker's time is not recorded")
    return (moment_words(moment), f"{span_words(float(minutes))} after mixing{heat}")


def _left_words(line: CureLine) -> str:
    if line.minutes_left is None or line.stage == "complete":
        return ""
    return f"{span_words(line.minutes_left)} to go; "


def span_words(minutes: float) -> str:
    """Minutes as a person says them: 45 min, 3 h 20 min, 7 days."""
    whole = int(-(-minutes // 1))
    if whole >= 2880 and whole % 1440 == 0:
        return f"{whole // 1440} days"
    if whole < 60:
        return f"{whole} min"
    hours, rest = divmod(whole, 60)
    return f"{hours} h" + (f" {rest} min" if rest else "")


def _shape(view: CuresView) -> Shape:
    return {
        "version": 1,
        "on": view.on,
        "at": view.moment,
        "complete": view.complete,
        "subject": view.subject,
        "cures": [
            {
                "id": line.state.event.id,
                "record": line.state.event.path,
                "aircraft": list(line.state.hosts),
                "part": line.state.part,
                "at": line.state.body.at,
                "text": line.state.body.text,
                "adhesive": line.state.body.adhesive,
                "mixed": line.state.mixed,
                "mixed_exact": line.state.is_exact,
                "handling_at": line.state.handling_at,
                "full_at": line.state.full_at,
                "temperature": line.state.body.temperature,
                "basis": basis_shape(line.state.body.basis),
                "stage": line.stage,
                "minutes_left": None
                if line.minutes_left is None
                else max(0, round(line.minutes_left)),
                "holds": list(line.state.body.holds),
            }
            for line in view.lines
        ],
        "complete_not_shown": view.over,
        "caution": view.caution,
    }
