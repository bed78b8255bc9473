"""Words and figures of a season that a screen and a page share."""

from __future__ import annotations

from decimal import Decimal

from register.faults.rates import estimate_rate
from register.records.values import ZERO, Span, format_amount
from register.views.season import SeasonView
from register.views.season_missed import Overdue
from register.views.season_tally import SeasonLine, Sum, Work
from register.views.season_work import DoneLine

STATE_WORDS = {
    "not-in-service": "not in service",
    "grounded": "grounded",
    "limited": "limited",
}
DAYS_NOTE = (
    "Days as recorded at their end, each counted once by the gravest reason: stages and layups, "
    "grounding and unrated snags, deferrals that ran out, limits. Overdue tasks, papers and "
    "conditions of parts are not in it."
)
RATE_NOTE = "Faults found in service; in 100 flights with an exact 95 % Poisson interval."
FEW_NOTE = "With fewer than 6 faults the interval alone is given: too few to tell."
LATE_NOTE = (
    "Late: done after its last permitted point, window and all. Missed: past that point at the "
    "season's end (or today) and not done; once for each task, also in a season in which it was "
    "flown so."
)
WORK_NOTE = (
    "Workshop hours are those given to jobs and fixes (--minutes); + where some have no time, "
    "? where none has, - where nothing was done or it cannot be told."
)


def span_text(value: Span) -> str:
    """A count: 12, 10-12, or 10+ where no end is known."""
    low = format_amount(value.low)
    if value.high is None:
        return f"{low}+"
    return low if value.high == value.low else f"{low}-{format_amount(value.high)}"


def hours_text(value: Span) -> str:
    """Minutes as hours with one figure after the point."""
    low = f"{value.low / 60:.1f}"
    if value.high is None:
        return f"{low}+"
    return low if value.high == value.low else f"{low}-{value.high / 60:.1f}"


def counter_text(counter: str, value: Span) -> str:
    """A counter in its own unit; minutes as hours."""
    if counter.endswith("minutes"):
        return f"{hours_text(value)} h"
    return span_text(value)


def work_text(work: Work) -> str:
    """Hours of labour: nothing recorded is not none."""
    if not work.pieces:
        return "-"
    if work.untimed == work.pieces:
        return "?"
    return f"{work.minutes / 60:.1f}{'+' if work.untimed else ''}"


def rate_text(line: SeasonLine) -> str:
    """Faults in 100 flights with their interval; below the threshold the interval alone."""
    flights = line.flights
    if not flights.is_exact or not flights.low:
        return "-"
    rate = estimate_rate(line.fault_count, float(flights.low), per=100)
    if rate.low is None or rate.high is None:
        return "-"
    ends = f"{rate.low:.1f}-{rate.high:.0f}" if rate.low < 10 else f"{rate.low:.0f}-{rate.high:.0f}"
    return ends if rate.too_few or rate.value is None else f"{rate.value:.1f} ({ends})"


def amount_text(amount: Decimal, currency: str) -> str:
    """An amount with its cents, if it has any."""
    whole = amount == amount.to_integral_value()
    return f"{amount:.0f} {currency}".strip() if whole else f"{amount:.2f} {currency}".strip()


def sum_text(sums: tuple[Sum, ...], category: str) -> str:
    """The money of one category, each currency by itself."""
    found = [one for one in sums if one.category == category]
    return " and ".join(amount_text(one.amount, one.currency) for one in found) or "-"


def total_text(sums: tuple[Sum, ...]) -> str:
    """All money, each currency by itself."""
    currencies = dict.fromkeys(one.currency for one in sums)
    totals = [
        amount_text(sum((one.amount for one in sums if one.currency == currency), ZERO), currency)
        for currency in currencies
    ]
    return " and ".join(totals) or "-"


def late_text(line: DoneLine) -> str:
    """How late one done was."""
    sides = " and ".join(
        f"{format_amount(one.beyond)} {'days' if one.side == 'calendar' else one.side} late"
        for one in line.late
    )
    on = f" on {line.subject[1]}" if line.subject[1] != line.aircraft else ""
    return f"{line.task}{on}, {line.event.moment.day.isoformat()}: {sides}"


def missed_text(one: Overdue) -> str:
    """What was not done, and since when it was past."""
    on = f" on {one.subject[1]}" if one.subject[1] != one.aircraft else ""
    later = f", done {one.done.isoformat()}" if one.done else ""
    return f"{one.task}{on}: past its last point from {one.first.isoformat()}{later}"


def season_name(line: SeasonLine) -> str:
    """A season by the year it begins in; over the turn of a year by both."""
    return (
        str(line.first.year)
        if (line.first.month, line.first.day) == (1, 1)
        else f"{line.first.year}/{(line.first.year + 1) % 100:02d}"
    )


def beside_rows(view: SeasonView) -> list[tuple[str, list[str]]]:
    """Every figure of each season: its name and one text for each season."""
    lines = view.beside
    rows: list[tuple[str, list[str]]] = [
        ("flying days", [str(line.flying_days) for line in lines]),
        ("flights", [span_text(line.flights) for line in lines]),
        ("hours in the air", [hours_text(line.minutes) for line in lines]),
        ("faults in service", [str(line.fault_count) for line in lines]),
        ("in 100 flights", [rate_text(line) for line in lines]),
        ("found outside service", [str(line.other_faults) for line in lines]),
        ("tasks done", [str(line.done) for line in lines]),
        ("of these late", [str(len(line.late)) for line in lines]),
        ("tasks missed", [str(len(line.missed)) for line in lines]),
        ("failed checks", [str(line.failed) for line in lines]),
        ("deferrals", [str(line.deferrals) for line in lines]),
        ("workshop hours", [work_text(line.work) for line in lines]),
        *(
            (f"days {words}", [str(line.lost_days(state)) for line in lines])
            for state, words in STATE_WORDS.items()
        ),
    ]
    if view.is_running:
        day = f"{view.on:%d %b}".lstrip("0")
        rows.insert(2, (f"flights by {day}", [span_text(line.by_then[0]) for line in lines]))
        rows.insert(5, (f"faults by {day}", [str(line.by_then[1]) for line in lines]))
    if view.with_money:
        categories = dict.fromkeys(one.category for line in lines for one in line.money)
        rows.extend(
            (f"money: {category}", [sum_text(line.money, category) for line in lines])
            for category in categories
        )
        rows.append(("money in all", [total_text(line.money) for line in lines]))
    kept = ("found outside service", "failed checks")
    return [row for row in rows if row[0] not in kept or any(text != "0" for text in row[1])]
