"""What creeps: every series of readings with its slope, its test, and where it meets its limit."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Literal

from msgspec import Struct

from register.faults.drift import (
    Crossing,
    Drift,
    Reading,
    estimate_drift,
    project_crossing,
)
from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.tasks.calendar import season_of
from register.trouble import RegisterError
from register.views.reading_steps import Series, Stepper
from register.views.readings import Gatherer, Key
from register.views.trend_says import say_words

Per = Literal["days", "flights"]
Verdict = Literal[
    "past", "approaching", "near", "mended", "away", "steady", "drifting", "too-few", "no-limit"
]
#: Worst first; `near` has used most of its room, and no drift was found.
VERDICTS: tuple[Verdict, ...] = (
    "past",
    "approaching",
    "near",
    "mended",
    "drifting",
    "steady",
    "away",
    "too-few",
    "no-limit",
)
LEVEL_FOUND = 0.05
"""A drift is called one below this chance: the 5 % at which the threshold of readings holds."""

NEAR = 0.9
"""Of the room between the first reading of a spell and the limit: common practice, no source."""


class Placed(Struct, frozen=True):
    """A reading at its place on the axis: day number (proleptic ordinal), or flights."""

    at: float
    value: float
    spell: int
    day: date
    record: str
    out: bool


class TrendLine(Struct, frozen=True):
    """One series, what is found in it, and when it meets its limit.

    `expected`, `earliest` and `latest` are days (axis days) or flights; None where there is
    none, for `latest` also where it may never be met.
    """

    key: Key
    label: str
    series: Series
    placed: tuple[Placed, ...]
    axis: str
    drift: Drift | None
    crossing: Crossing | None
    limit: float | None
    verdict: Verdict
    says: str
    expected: date | float | None
    earliest: date | float | None
    latest: date | float | None
    season: date | None
    #: The day or count at which it was to meet its limit has passed, and it was not read since.
    passed: bool
    remarks: tuple[str, ...]
    host: str | None


class TrendView(Struct, frozen=True):
    """The answer to `trend`. `tested` are the series with readings enough to be tested."""

    on: date
    complete: bool
    unread: tuple[str, ...]
    subject: Subject | None
    name: str | None
    per: Per
    lines: tuple[TrendLine, ...]
    tested: int
    names: tuple[str, ...]

    @property
    def drifting(self) -> tuple[TrendLine, ...]:
        """Those that drift, and have no limit to meet."""
        return tuple(line for line in self.lines if line.verdict == "drifting")

    @property
    def nearing(self) -> tuple[TrendLine, ...]:
        """Past their limit, on the way to it, or nearly there."""
        return tuple(line for line in self.lines if line.verdict in ("past", "approaching", "near"))


def view_trend(
    ledger: Ledger,
    day: date,
    unread: tuple[str, ...],
    subject: Subject | None = None,
    name: str | None = None,
    per: Per = "days",
) -> TrendView:
    """All series, or those of an aircraft (with what is in it) or of one part.

    Raises RegisterError (USAGE) where nothing of that name was read.
    """
    gatherer = Gatherer(ledger)
    stepper = Stepper(ledger, gatherer)
    found = [one for one in gatherer.gather() if _is_asked(ledger, one.key, subject)]
    names = tuple(dict.fromkeys(label_of(one.key) for one in found))
    if name is not None:
        found = [one for one in found if _is_named(one.key, name)]
        if not found:
            raise _nothing_named(subject, name, names)
    lines = [_judge(ledger, stepper.build(one), day, per) for one in found]
    lines.sort(key=_order)
    tested = sum(line.drift is not None and not line.drift.test.too_few for line in lines)
    return TrendView(day, not unread, unread, subject, name, per, tuple(lines), tested, names)


def _is_asked(ledger: Ledger, key: Key, subject: Subject | None) -> bool:
    if subject is None or key.subject == subject:
        return True
    if subject[0] != "aircraft" or key.subject[0] != "part":
        return False
    return subject[1] in hosts_of(ledger, key.subject)


def hosts_of(ledger: Ledger, subject: Subject) -> tuple[str, ...]:
    """The aircraft a thing is in or with now."""
    if subject[0] == "aircraft":
        return (subject[1],)
    if ledger.records.parts[subject[1]].use == "assigned":
        return ledger.places.assigned_to(subject[1])
    from register.findings.snags import host_aircraft

    return host_aircraft(ledger, subject[1])


def label_of(key: Key) -> str:
    """A series by name: the reading, its place, and its task where the name alone says little."""
    place = "" if key.source == "damage" else key.place
    name = f"{key.name} of {key.place[:6]}" if key.source == "damage" else key.name
    if key.source.startswith("task:") and name.startswith("value"):
        name = f"{key.source.removeprefix('task:')} {name}"
    return f"{place} {name}".strip()


def _is_named(key: Key, name: str) -> bool:
    """By the whole label, its beginning, its name alone, or its task."""
    word = name.strip().lower()
    label = label_of(key).lower()
    task = key.source.removeprefix("task:")
    return label.startswith(word) or key.name.startswith(word) or task == word or key.place == word


def _nothing_named(subject: Subject | None, name: str, names: tuple[str, ...]) -> RegisterError:
    whose = subject[1] if subject else "this fleet"
    listed = "; ".join(names[:8]) + (" …" if len(names) > 8 else "")
    if not names:
        return RegisterError(
            f"no reading of {whose} is recorded",
            mend=f"tailsheaf reading {subject[1] if subject else 'AIRCRAFT'} NAME=VALUE",
            code="reading-none",
        )
    return RegisterError(
        f"{whose} has no readings called {name[:40]!r}",
        mend=f"one of: {listed}",
        code="reading-unknown",
    )


# --- one series -------------------------------------------------------------


def _judge(ledger: Ledger, series: Series, day: date, per: Per) -> TrendLine:
    placed, axis, remarks = _place(ledger, series, per)
    key = series.gathered.key
    values = [Reading(one.at, one.value, one.spell) for one in placed]
    drift = estimate_drift(values) if len(values) > 1 else None
    kind, limit = _choose_limit(series, drift, placed)
    crossing = None
    if limit is not None and kind is not None and series.since_step is None and len(values) > 1:
        crossing = project_crossing(values, limit, kind)
    verdict = _verdict(series, drift, crossing, limit, kind, placed)
    ends = _ends(crossing, axis) if verdict == "approaching" else (None, None, None)
    season = None
    if isinstance(ends[0], date):
        season = season_of(ends[0], ledger.records.fleet.season_start)
    hosts = hosts_of(ledger, key.subject)
    return TrendLine(
        key,
        label_of(key),
        series,
        placed,
        axis,
        drift,
        crossing,
        limit,
        verdict,
        say_words(series, drift, crossing, verdict),
        *ends,
        season,
        _has_passed(ledger, key.subject, axis, ends[0], day),
        (*remarks, *_unit_remarks(series), *_line_remarks(verdict, crossing, placed, axis)),
        hosts[0] if hosts else None,
    )


def _has_passed(
    ledger: Ledger, subject: Subject, axis: str, end: date | float | None, day: date
) -> bool:
    """Is the day, or the count, already behind it?"""
    if end is None:
        return False
    if isinstance(end, date):
        return end < day
    opening = ledger.file_of(subject).opening.value(axis)
    now = float(ledger.gained(subject, axis, None).low)
    return end < now + (0.0 if opening.is_open else float(opening.low))


def _place(
    ledger: Ledger, series: Series, per: Per
) -> tuple[tuple[Placed, ...], str, tuple[str, ...]]:
    """Readings at their days, or at the flights the thing had when each was taken."""
    subject = series.gathered.key.subject
    axis = "days"
    if per == "flights":
        axis = "flights" if ledger.counters.gains(subject, "flights") else "charges"
    opening = ledger.file_of(subject).opening.value(axis) if axis != "days" else None
    placed, doubtful = [], 0
    for read in series.reads:
        moment = read.event.moment
        at = float(moment.day.toordinal())
        if opening is not None:
            point = ledger.orders.segments(read.event.id)[0]
            gained = ledger.gained(subject, axis, None, point)
            doubtful += not gained.is_exact
            at = float(gained.low) + (0.0 if opening.is_open else float(opening.low))
        placed.append(Placed(at, read.value, read.spell, moment.day, read.event.path, read.out))
    remarks = []
    if opening is not None and opening.is_open:
        remarks.append(f"{axis} since the register began: what was before is not known")
    if doubtful:
        remarks.append(f"{doubtful} stand between two counts of {axis}; the lower one is taken")
    placed.sort(key=lambda one: (one.spell, one.at))
    return tuple(placed), axis, tuple(remarks)


def _unit_remarks(series: Series) -> Iterable[str]:
    gathered = series.gathered
    for unit, count in gathered.other_units:
        told = unit or "no unit"
        yield f"{count} more in {told}: not mixed in, nothing is converted"
    if gathered.unknown:
        yield f"{gathered.unknown} without a value"


def _line_remarks(
    verdict: Verdict, crossing: Crossing | None, placed: tuple[Placed, ...], axis: str
) -> Iterable[str]:
    """A straight line that runs ahead of the readings fits them badly, and that is said."""
    at = crossing.at.value if crossing is not None else None
    if verdict == "approaching" and at is not None and at < placed[-1].at:
        other = "flights" if axis == "days" else "days"
        yield (
            f"a straight line over {axis} would be at the limit by now, and the last reading "
            f"is not: it may go by {other} (--per {other})"
        )


def _choose_limit(
    series: Series, drift: Drift | None, placed: tuple[Placed, ...]
) -> tuple[Literal["most", "least"] | None, float | None]:
    """The limit that the readings run towards; standing still, the nearer one."""
    bounds = series.bounds
    if bounds is None or not placed:
        return None, None
    if bounds.high is None:
        return "least", bounds.low
    if bounds.low is None:
        return "most", bounds.high
    slope = drift.slope.value if drift is not None else None
    last = placed[-1].value
    up = slope > 0 if slope else bounds.high - last <= last - bounds.low
    return ("most", bounds.high) if up else ("least", bounds.low)


def _verdict(
    series: Series,
    drift: Drift | None,
    crossing: Crossing | None,
    limit: float | None,
    kind: str | None,
    placed: tuple[Placed, ...],
) -> Verdict:
    # Work does not bring a reading inside its limit: only another reading can tell.
    if limit is not None and series.bounds is not None and series.bounds.is_out(placed[-1].value):
        return "past"
    if series.since_step is not None and limit is not None:
        return "mended"
    found = _is_found(drift)
    if limit is None:
        return "drifting" if found else "no-limit"
    way = 1 if kind == "most" else -1
    toward = drift is not None and drift.test.direction == way
    if found and toward and crossing is not None and crossing.at.value is not None:
        return "too-few" if crossing.at.too_few else "approaching"
    if _share_used(placed, limit) >= NEAR:
        return "near"
    if found:
        return "away" if not toward else "steady"
    return "too-few" if drift is None or drift.test.too_few else "steady"


def _is_found(drift: Drift | None) -> bool:
    if drift is None or drift.test.too_few or drift.test.p is None:
        return False
    return drift.test.p < LEVEL_FOUND


def _share_used(placed: tuple[Placed, ...], limit: float) -> float:
    """How much of the room from the first reading of the last spell to the limit is used."""
    spell = [one for one in placed if one.spell == placed[-1].spell]
    room = limit - spell[0].value
    # What begins at its limit, as a count that must stay the same does, has no room to use.
    return (spell[-1].value - spell[0].value) / room if room else 0.0


def _ends(
    crossing: Crossing | None, axis: str
) -> tuple[date | float | None, date | float | None, date | float | None]:
    if crossing is None:
        return None, None, None
    at = crossing.at
    if axis != "days":
        return at.value, at.low, at.high
    return _day(at.value), _day(at.low), _day(at.high)


def _day(at: float | None) -> date | None:
    """A day number as a day; beyond the calendar there is none."""
    if at is None or not date.min.toordinal() <= at <= date.max.toordinal():
        return None
    return date.fromordinal(int(at))


def _order(line: TrendLine) -> tuple[int, float, str, str]:
    when = line.expected
    at = when.toordinal() if isinstance(when, date) else (when if when is not None else 0.0)
    if not isinstance(when, date) and when is not None and line.placed:
        # Flights of different things are no common clock: by what is left.
        at = when - line.placed[-1].at
    return VERDICTS.index(line.verdict), float(at), line.key.subject[1], line.label
