"""Counters and life limits in words, for the screens of aircraft and parts."""

from __future__ import annotations

from decimal import Decimal

from cli.render.marks import STATE_WORDS, amount_words, hour_minutes, hours_words
from cli.render.screen import Span, Words
from cli.render.shapes import Shape, basis_shape, limit_shape
from register.records.values import MINUTE_COUNTERS, format_amount
from register.records.values import Span as Amount
from register.views.part import LifeLine

KNOWN_WORDS = {"known": "known", "estimated": "about", "unknown": "not known"}


def is_timed(counter: str) -> bool:
    """Whether a counter is kept in minutes and shown in hours."""
    return counter in MINUTE_COUNTERS or counter.endswith("-minutes")


def value_words(value: Amount, counter: str) -> str:
    """150, about 150, at least 12; minutes as hours and minutes, 18:30 h."""
    if value.high is None and value.low == 0:
        return "not known"
    return f"{hours_words(value)} h" if is_timed(counter) else amount_words(value)


def plain_words(value: Decimal, counter: str) -> str:
    """One amount: 25:00 h, 300 flights."""
    if is_timed(counter):
        return f"{hour_minutes(int(value))} h"
    return format_amount(value)


def title_words(counter: str) -> str:
    """A counter's name as words."""
    return counter.replace("-", " ")


def life_words(line: LifeLine) -> str:
    """What is left of a life limit."""
    limit = line.limit
    if limit.unset:
        return "not set"
    if limit.days_left is not None:
        if limit.days_left < 0:
            return f"over by {-limit.days_left} days"
        return f"{limit.days_left} days left"
    if limit.left is None or limit.counter is None:
        return "cannot tell"
    if limit.left.low is None:
        return "cannot tell"
    if limit.left.low < 0:
        return f"over by {plain_words(-limit.left.low, limit.counter)}"
    left = plain_words(limit.left.low, limit.counter)
    if limit.left.high != limit.left.low:
        return f"at least {left} left"
    about = "about " if limit.known == "estimated" else ""
    return f"{about}{left} left"


def life_state_words(line: LifeLine) -> Words:
    """The state of a life limit, marked, with what is left; one well within is left plain."""
    state = line.limit.state
    if state == "ok":
        return life_words(line)
    word, meaning = STATE_WORDS[state]
    left = life_words(line)
    if left == word.lower():
        return Span(word, meaning)
    return [Span(word, meaning), f" {left}"]


def limit_words(line: LifeLine) -> str:
    """The life itself: 25:00 h engine minutes, 36 months, to 2027-05-01."""
    if line.limit.counter is not None:
        amount = "not set" if line.amount is None else plain_words(line.amount, line.limit.counter)
        return f"{amount} {title_words(line.limit.counter)}"
    if line.months is not None:
        end = f", to {line.limit.day.isoformat()}" if line.limit.day else ""
        return f"{line.months} months{end}"
    return f"to {line.limit.day.isoformat()}" if line.limit.day else "not set"


def life_shape(line: LifeLine) -> Shape:
    """One life limit as data."""
    return {
        **limit_shape(line.limit),
        "limit": line.amount,
        "months": line.months,
        "basis": basis_shape(line.basis),
        "path": line.path,
        "line": line.line,
    }
