"""The screen of `faults --compare`: two aircraft or two seasons, with the method named."""

from __future__ import annotations

from cli.render.fault_shapes import compare_shape
from cli.render.faults import SHORT_PER
from cli.render.marks import day_words
from cli.render.screen import Column, Screen, Span, Words
from cli.session import Session
from register.faults.concluding import figure_words
from register.views.fault_figures import Compared, CompareView

MOST_ROWS = 9


def render_compare(session: Session, view: CompareView) -> None:
    """All faults first, then group by group; what may be said stands below."""
    screen = Screen()
    one, two = view.names
    screen.title(f"Faults compared: {one} and {two}", day_words(session.on))
    screen.gap()
    screen.table(
        (
            Column("fault", flexible=True),
            Column(one, right=True),
            Column(two, right=True),
            Column("ratio of rates", right=True),
        ),
        [_row(row) for row in view.rows[:MOST_ROWS]],
    )
    if len(view.rows) > MOST_ROWS:
        screen.line(f"{len(view.rows) - MOST_ROWS} more groups (--json has all)")
    screen.gap()
    screen.line(view.says)
    result = next((row.result for row in view.rows if row.result is not None), None)
    if result is not None:
        screen.line(
            Span(
                "Ratio: first over second, with 95 % limits, which stand alone where there are "
                "too few, counted in occasions: several faults of one aircraft and day are one (fl "
                "flights, ldg landings, h engine hours); "
                f"{result.ratio.method}, {result.ratio.convention}. "
                f"{result.conditional.method} ({result.conditional.convention}), the cautious "
                "one; the E-test beside it is in --json. The rows below the first are looks at "
                "parts of it: one in twenty would differ by luck alone.",
                "faint",
            )
        )
    session.show(screen, compare_shape(view))


def _row(row: Compared) -> tuple[Words, ...]:
    sides = (_side(count, amount, row.counter) for count, amount in (row.first, row.second))
    return (Span(row.label, "strong"), *sides, _ratio(row))


def _side(count: int, amount: float, counter: str) -> str:
    """How many in how much use."""
    used = amount / 60 if counter == "engine-minutes" else amount
    return f"{count} in {figure_words(used)} {SHORT_PER[counter]}"


def _ratio(row: Compared) -> str:
    if row.result is None:
        return "-"
    ratio = row.result.ratio
    high = "any" if ratio.high is None else figure_words(ratio.high)
    ends = f"{figure_words(ratio.low or 0)}-{high}"
    if ratio.too_few or ratio.value is None:
        return ends
    return f"{figure_words(ratio.value)} ({ends})"
