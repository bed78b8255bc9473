"""Marks and words for standings and states: readable without colour, by shape and word."""

from __future__ import annotations

from datetime import date

from cli.render.screen import Meaning, Span
from cli.session import Session
from register.records.values import Span as Amount
from register.tasks.limits import span_words

STANDING_WORDS: dict[str, tuple[str, Meaning]] = {
    "grounded": ("GROUNDED", "stop"),
    "limited": ("LIMITED", "limit"),
    "due": ("DUE", "attend"),
    "cannot-tell": ("CANNOT TELL", "unsure"),
    "nothing-open": ("nothing open", "well"),
    "not-in-service": ("not in service", "faint"),
}
STATE_WORDS: dict[str, tuple[str, Meaning]] = {
    "overdue": ("OVERDUE", "stop"),
    "due": ("DUE", "attend"),
    "cannot-tell": ("CANNOT TELL", "unsure"),
    "in-window": ("in window", "strong"),
    "soon": ("soon", "strong"),
    "no-baseline": ("never done", "faint"),
    "ok": ("not due", "faint"),
}
#: Stands before what grounds an aircraft.
GROUNDS_MARK = "#"

CAUTION = (
    "A notebook, not an inspection: it tells what was written down. "
    "You decide, after looking; the maker's manual, your rules and the law come first."
)


def standing_span(standing: str) -> Span:
    """A standing as one marked word."""
    word, meaning = STANDING_WORDS[standing]
    return Span(f" {word} " if meaning in ("stop", "limit", "attend", "unsure") else word, meaning)


def state_span(state: str) -> Span:
    """A state as one marked word."""
    return Span(*STATE_WORDS[state])


def day_words(day: date) -> str:
    """A day with its weekday, in ISO form."""
    return f"{day:%a} {day.isoformat()}"


def amount_words(value: Amount) -> str:
    """A counter value for a table."""
    return span_words(value)


def hours_words(value: Amount) -> str:
    """Minutes as hours and minutes, for a table."""
    low = hour_minutes(int(value.low))
    if value.high is None:
        return f"{low}+"
    if value.high != value.low:
        return f"{low}-{hour_minutes(int(value.high))}"
    return f"~{low}" if value.known == "estimated" else low


def hour_minutes(minutes: int) -> str:
    """90 as 1:30."""
    return f"{minutes // 60}:{minutes % 60:02d}"


def note_unread(session: Session, unread: tuple[str, ...]) -> None:
    """Say on standard error that an answer is without some files."""
    if not unread:
        return
    session.problems_seen = True
    count = len(unread)
    names = ", ".join(unread[:2]) + (" …" if count > 2 else "")
    session.err.write(
        f"{count} file{'' if count == 1 else 's'} could not be read whole; this answer is without "
        f"{'it' if count == 1 else 'them'}: {names}\n  mend: tailsheaf check\n"
    )


def unread_words(unread: tuple[str, ...]) -> list[str | Span]:
    """The same in the answer's own text."""
    count = len(unread)
    return [
        Span("INCOMPLETE", "stop"),
        f" {count} file{'' if count == 1 else 's'} could not be read: tailsheaf check",
    ]
