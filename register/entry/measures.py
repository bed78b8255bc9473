"""Readings as typed: which reading of a task is meant, its unit, and what it says."""

from __future__ import annotations

import re
from collections.abc import Sequence
from decimal import Decimal

from msgspec import Struct

from register.entry.naming import match_name
from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.records.bodies import Measured, Reading, TaskDone
from register.records.programmes import ReadingWanted, Task
from register.records.values import format_amount
from register.text.nodes import Plain
from register.trouble import RegisterError

_VALUE = re.compile(r"([+-]?(?:\d{1,9}(?:\.\d{1,6})?|\.\d{1,6})) ?([^\W\d_].{0,19}|[%°‰].{0,19})?")
#: What is measured in these has no sign, unless its name says that it is a difference.
UNSIGNED = frozenset(
    [
        "mm",
        "cm",
        "m",
        "um",
        "µm",
        "in",
        "g",
        "kg",
        "l",
        "ml",
        "%",
        "‰",
        "s",
        "min",
        "h",
        "rpm",
        "ohm",
        "mohm",
        "kohm",
        "a",
        "ma",
        "mah",
        "v",
        "kv",
    ]
)
SIGNED_NAMES = frozenset(
    [
        "offset",
        "shift",
        "trim",
        "drift",
        "change",
        "difference",
        "twist",
        "incidence",
        "washout",
        "error",
        "correction",
        "cg",
    ]
)


class Taken(Struct, frozen=True):
    """One reading taken, and what it is worth: out of bounds, a baseline, or neither."""

    measured: Measured
    wanted: ReadingWanted | None
    is_out: bool
    is_baseline: bool
    says: str

    @property
    def plain(self) -> dict[str, Plain]:
        """As written in a record."""
        return {
            "name": self.measured.name,
            "value": self.measured.value,
            "unit": self.measured.unit or None,
        }


def parse_measured(text: str, default: str | None, default_unit: str = "") -> Measured:
    """`NAME=VALUE[UNIT]`, or `VALUE[UNIT]` where only one reading can be meant."""
    name, equals, value = text.partition("=")
    if not equals:
        if default is None:
            raise RegisterError(
                f"{text[:40]!r} does not say which reading it is",
                mend="write NAME=VALUE, for example play-mm=0.8mm",
                code="reading-nameless",
            )
        name, value = default, text
    found = _VALUE.fullmatch(value.strip())
    if not found:
        raise RegisterError(
            f"{text[:40]!r}: {value.strip()[:20]!r} is not a number with a unit",
            mend=f"write {name.strip() or 'NAME'}=1.5{default_unit or 'mm'}, with a decimal point",
            code="reading-wrong",
        )
    return Measured(name.strip().lower(), Decimal(found[1]), (found[2] or "").strip())


def check_sign(measured: Measured, low: Decimal | None = None) -> None:
    """Refuse a value below zero of what has no sign: it would pass every upper limit.

    `low` is the least value that a task permits. Raises RegisterError (USAGE).
    """
    value, words = measured.value, measured.name.split("-")
    unit = (measured.unit or words[-1]).casefold()
    if value is None or value >= 0 or (low is not None and low < 0):
        return
    if unit not in UNSIGNED or SIGNED_NAMES & set(words):
        return
    raise RegisterError(
        f"{measured.name}={format_amount(value)}{measured.unit} is below zero, and {unit} of "
        f"{measured.name} have no sign",
        mend=f"{measured.name}={format_amount(-value)}{measured.unit}, or a name that says what "
        f"below zero means:  {measured.name}-offset",
        code="reading-negative",
    )


def read_taken(
    ledger: Ledger, task: Task, subject: Subject, texts: Sequence[str]
) -> tuple[Taken, ...]:
    """The readings of one done, each held against its bounds or the first one taken.

    Raises RegisterError (USAGE) on a name or unit the task does not ask for.
    """
    only = task.readings[0].name if len(task.readings) == 1 else None
    taken = tuple(_read_one(ledger, task, subject, text, only) for text in texts)
    names = [item.measured.name for item in taken]
    for name in names:
        if names.count(name) > 1:
            raise RegisterError(
                f"{name} is given twice", mend=f"give one value for {name}", code="reading-twice"
            )
    return taken


def _read_one(ledger: Ledger, task: Task, subject: Subject, text: str, only: str | None) -> Taken:
    if not task.readings:
        measured = parse_measured(text, "value")
        check_sign(measured)
        return Taken(measured, None, False, False, f"{_write(measured)}; {task.id} asks for none")
    if "=" not in text and only is None:
        names = [item.name for item in task.readings]
        raise RegisterError(
            f"{task.id} asks for {len(names)} readings: {', '.join(names)}; {text[:20]!r} could "
            "be any of them",
            mend=f"--reading {names[0]}={text[:20]}   or  --each {task.id}:{names[0]}={text[:20]}",
            code="reading-nameless",
        )
    given = parse_measured(text, only, task.readings[0].unit)
    name = match_name(given.name, [item.name for item in task.readings], f"reading of {task.id}")
    wanted = next(item for item in task.readings if item.name == name)
    unit = given.unit or wanted.unit
    if wanted.unit and unit.casefold() != wanted.unit.casefold():
        raise RegisterError(
            f"{task.id} asks for {name} in {wanted.unit}, not in {unit}",
            mend=f"write {name}=VALUE{wanted.unit}; nothing is converted",
            code="unit-wrong",
        )
    measured = Measured(name, given.value, wanted.unit or unit)
    check_sign(measured, wanted.low)
    return judge_reading(ledger, task, subject, wanted, measured)


def judge_reading(
    ledger: Ledger, task: Task, subject: Subject, wanted: ReadingWanted, measured: Measured
) -> Taken:
    """One reading against the task's bounds; against the first one where the task says so."""
    text = _write(measured)
    value = measured.value
    if value is None:
        return Taken(measured, wanted, False, False, text)
    low, high = wanted.low, wanted.high
    relative = wanted.baseline or any(
        item is not None for item in (wanted.ratio_low, wanted.ratio_high, wanted.within)
    )
    if relative or (low is None and high is None):
        first = find_baseline(ledger, task, subject, wanted.name)
        if first is None:
            out = _outside(value, low, high)
            if out:
                return Taken(measured, wanted, True, False, f"{text}, {out}")
            return Taken(
                measured, wanted, False, True, f"{text}: baseline, not a pass against a limit"
            )
        low, high = _relative_bounds(wanted, first, low, high)
        text += f" (first {format_amount(first)})"
    out = _outside(value, low, high)
    if out:
        return Taken(measured, wanted, True, False, f"{text}, {out}")
    if low is None and high is None:
        return Taken(measured, wanted, False, True, f"{text}; no limit is set")
    return Taken(measured, wanted, False, False, text)


def _relative_bounds(
    wanted: ReadingWanted, first: Decimal, low: Decimal | None, high: Decimal | None
) -> tuple[Decimal | None, Decimal | None]:
    lows = [low] if low is not None else []
    highs = [high] if high is not None else []
    if wanted.ratio_low is not None:
        lows.append(first * wanted.ratio_low)
    if wanted.ratio_high is not None:
        highs.append(first * wanted.ratio_high)
    if wanted.within is not None:
        lows.append(first - wanted.within)
        highs.append(first + wanted.within)
    return max(lows, default=None), min(highs, default=None)


def _outside(value: Decimal, low: Decimal | None, high: Decimal | None) -> str | None:
    if high is not None and value > high:
        return f"above {format_amount(high)}"
    if low is not None and value < low:
        return f"below {format_amount(low)}"
    return None


def find_baseline(ledger: Ledger, task: Task, subject: Subject, name: str) -> Decimal | None:
    """The first value ever recorded of a reading on a subject, by a done or on its own."""
    for event in ledger.events:
        body = event.body
        if isinstance(body, TaskDone) and body.task == task.id:
            listed = body.readings
        elif isinstance(body, Reading):
            listed = (body.measured,)
        else:
            continue
        if ledger.subject_of(body.subject) != subject:
            continue
        for item in listed:
            if item.name == name and item.value is not None:
                return item.value
    return None


def _write(measured: Measured) -> str:
    value = "?" if measured.value is None else format_amount(measured.value)
    return f"{measured.name} {value}{' ' if measured.unit else ''}{measured.unit}"
