"""Jobs, departures and answers to notices, each told in one line."""

from __future__ import annotations

from decimal import Decimal

from register.ledger.ledger import Ledger
from register.records.events import Event
from register.records.values import format_amount
from register.records.workshop_bodies import Job, Modification, NoticeAnswer

_MOST = 40
_RESULTS = {
    "clear": "looked at, clear",
    "found": "FOUND",
    "repaired": "repaired",
    "not-applicable": "does not apply",
}


def tell_modification(ledger: Ledger, body: Modification) -> str:
    """What was done otherwise than the manual says, and in what state it is."""
    where = f" at {body.at}" if body.at else ""
    if body.part is not None:
        where = f" on {body.part.name}{where}"
    if body.follows:
        words = _aimed(ledger, body.follows)
        said = f": {body.text}" if body.text and body.text != words else ""
        return f"modification {body.follows[:4]} “{_short(words)}” is {body.state}{said}"
    parts = [f"modification{where}: {body.text} [{body.state}]"]
    if body.manual:
        parts.append(f"manual: {body.manual}")
    if body.why:
        parts.append(f"why: {body.why}")
    if body.mass is not None:
        parts.append(f"mass {grams_words(body.mass)}")
    return "; ".join(parts)


def grams_words(mass: Decimal) -> str:
    """An effect on mass, kept in kilograms, in grams: +12 g, -3.5 g."""
    grams = mass * 1000
    return f"{'+' if grams > 0 else ''}{format_amount(grams)} g"


def tell_job(ledger: Ledger, body: Job) -> str:
    """A job noted, or what became of one."""
    if body.job:
        words = _short(_aimed(ledger, body.job))
        said = f": {body.text}" if body.text else ""
        state = "open again" if body.state == "open" else body.state
        return f"job {body.job[:4]} “{words}” {state}{said}"
    where = f" at {body.at}" if body.at else ""
    is_said = body.hand == "none" or body.hand in body.text.lower().split()
    hand = "" if is_said else f" ({body.hand})"
    minutes = f", {format_amount(body.minutes)} min" if body.minutes is not None else ""
    state = "" if body.state == "open" else f" [{body.state}]"
    return f"job{where}: {body.text}{hand}{minutes}{state}"


def tell_answer(_: Ledger, body: NoticeAnswer) -> str:
    """What was found when a notice was looked into."""
    subject = body.subject.name if body.subject is not None else "?"
    said = f": {body.text}" if body.text else ""
    return f"notice {body.notice} on {subject} {_RESULTS[body.result]}{said}"


def _aimed(ledger: Ledger, id_: str) -> str:
    event: Event | None = ledger.settled.originals.get(id_)
    return getattr(event.body, "text", "") if event is not None else "?"


def _short(text: str) -> str:
    return text if len(text) <= _MOST else text[: _MOST - 1].rstrip() + "…"
