"""The report's plots, by matplotlib, as vector pictures whose text stays text.

The only place that loads matplotlib, and only for `report --html`: it is part of the extra
`figures`. No words of a record stand in a plot, only figures, days and names of aircraft; what
is told of it stands beside it. Colours become those of the page, so that one picture serves
light, dark and paper; shapes, hatching and labels carry the meaning.
"""

from __future__ import annotations

import io
import logging
import re
from collections.abc import Callable, Iterator
from datetime import date
from typing import Any

from register.faults.rates import estimate_rate
from register.pages.report_chapters import Plot
from register.pages.series_text import find_fits, find_frame, meeting_of, step_places
from register.views.report import ReportView
from register.views.season_words import season_name
from register.views.trend import TrendLine

#: In inches at 72 points: on a telephone a point is about a pixel, so labels stay readable.
WIDE, HIGH = 4.9, 2.75
LABEL = 11
#: A colour that stands for one of the page's own until the picture is done.
INK, SOFT, LINE, STOP, ATTEND, LINK, BODY, PAPER = (f"#0{n}0{n}0{n}" for n in range(1, 9))
_COLOURS = dict(
    zip(
        (INK, SOFT, LINE, STOP, ATTEND, LINK, BODY, PAPER),
        ("ink", "soft", "line", "stop", "attend", "link", "body", "bg"),
        strict=True,
    )
)
_SETTINGS = {
    "svg.fonttype": "none",
    "text.parse_math": False,
    "font.family": "sans-serif",
    "font.size": LABEL,
    "axes.edgecolor": SOFT,
    "axes.labelcolor": INK,
    "axes.linewidth": 0.8,
    "text.color": INK,
    "xtick.color": INK,
    "ytick.color": INK,
    "hatch.color": INK,
    "hatch.linewidth": 0.7,
    "figure.facecolor": "none",
    "axes.facecolor": "none",
}
_FONT = re.compile(r"font: ((?:\d+ )?[\d.]+px) [^;\"]*")
_FAMILY = re.compile(r" ?font-family: [^;\"]*;?")
_HEAD = re.compile(r"^.*?(?=<svg)", re.DOTALL)
_METADATA = re.compile(r"<metadata>.*?</metadata>", re.DOTALL)
_SIZE = re.compile(r'(<svg[^>]*?) width="[^"]*"')
_HEIGHT = re.compile(r'(<svg[^>]*?) height="[^"]*"')
_SPACES = re.compile(r' (?:xmlns:xlink|version)="[^"]*"')
_POINTED = re.compile(r"#([\w-]+)")
_NAMED = re.compile(r' id="([^"]*)"')


class Plotter:
    """Draws the plots of a report; one loading of the library serves them all."""

    def __init__(self, library: Any):  # noqa: ANN401  (a module without types)
        self._library = library
        self._count = 0

    def draw(self, plot: Plot, view: ReportView) -> str:
        """One plot as an svg element; empty where there is nothing to draw."""
        from matplotlib.figure import Figure

        ways: dict[str, Callable[[Any], bool]] = {
            "trend": lambda axes: plot.line is not None and _draw_trend(axes, plot.line),
            "rates": lambda axes: _draw_rates(axes, view),
            "flights": lambda axes: _draw_flights(axes, view),
            "days": lambda axes: _draw_days(axes, view),
        }
        self._count += 1
        # Names inside one picture must differ from those of the next on the same page.
        settings = {**_SETTINGS, "svg.hashsalt": f"plot-{self._count}"}
        with self._library.rc_context(settings):
            rows = len(view.season.lines) if plot.kind == "days" else 0
            figure = Figure(figsize=(WIDE, max(HIGH, 0.9 + 0.42 * rows)), layout="constrained")
            axes = figure.add_subplot()
            axes.spines[["top", "right"]].set_visible(False)
            axes.tick_params(length=3)
            if not ways[plot.kind](axes):
                return ""
            drawn = io.StringIO()
            nothing = {"Date": None, "Creator": None, "Format": None, "Type": None}
            figure.savefig(drawn, format="svg", metadata=nothing)
        return _dress(drawn.getvalue(), plot.title)


def load_plotter() -> Plotter | None:
    """The plotter; None where the extra is not installed."""
    try:
        import matplotlib  # type: ignore[import-not-found, import-untyped, unused-ignore]
    except ImportError:
        return None
    # It tells of fonts it looks for; the page brings its own.
    logging.getLogger("matplotlib").setLevel(logging.ERROR)
    return Plotter(matplotlib)


def _dress(svg: str, title: str) -> str:
    """The bare element, sized by the page, in the page's colours and letters."""
    from register.pages.markup import clean_markup

    svg = _METADATA.sub("", _HEAD.sub("", svg)).strip()
    svg = _SPACES.sub("", _HEIGHT.sub(r"\1", _SIZE.sub(r"\1", svg)), count=2)
    svg = svg.replace("xlink:href", "href")
    for sign, name in _COLOURS.items():
        svg = svg.replace(sign, f"var(--{name})")
    svg = _FAMILY.sub("", _FONT.sub(r"font-size: \1", svg))
    # Names that nothing points to are the same in every plot, and say nothing.
    meant = set(_POINTED.findall(svg))
    svg = _NAMED.sub(lambda found: found[0] if found[1] in meant else "", svg)
    return svg.replace("<svg", f'<svg role="img" aria-label="{clean_markup(title)}"', 1)


# --- one reading --------------------------------------------------------------


def _draw_trend(axes: Any, line: TrendLine) -> bool:  # noqa: ANN401
    if not line.placed:
        return False
    frame = find_frame(line)
    for fit in find_fits(line):
        ats, values = (fit.start[0], fit.end[0]), (fit.start[1], fit.end[1])
        axes.plot(ats, values, color=LINK, linewidth=1.6, linestyle=(0, (4, 2)))
    plain = [one for one in line.placed if not one.out]
    out = [one for one in line.placed if one.out]
    axes.plot([one.at for one in plain], [one.value for one in plain], "o", color=INK, ms=4)
    axes.plot([one.at for one in out], [one.value for one in out], "X", color=STOP, ms=7)
    for at in step_places(line):
        axes.axvline(at, color=SOFT, linewidth=1, linestyle=":")
        axes.annotate("work", (at, frame.high), fontsize=LABEL - 1, color=SOFT, va="top", ha="left")
    if line.limit is not None:
        axes.axhline(line.limit, color=STOP, linewidth=1.4)
        above = line.limit < (frame.low + frame.high) / 2
        axes.annotate(
            f"limit {line.limit:.4g}",
            (frame.left, line.limit),
            xytext=(2, 3 if above else -3),
            textcoords="offset points",
            color=STOP,
            va="bottom" if above else "top",
        )
    _mark_meeting(axes, line)
    axes.set_ylim(frame.low, frame.high)
    axes.locator_params(axis="y", nbins=6)
    if line.axis == "days":
        _days_axis(axes)
    else:
        axes.set_xlabel(line.axis)
    return True


def _mark_meeting(axes: Any, line: TrendLine) -> None:  # noqa: ANN401
    """Where the limit is met, with the range of days as a bar."""
    at = meeting_of(line)
    if at is None or line.limit is None or line.crossing is None:
        return
    axes.plot([at], [line.limit], "D", color=ATTEND, ms=6)
    first, last = line.placed[0].at, line.placed[-1].at
    low, high = line.crossing.at.low, line.crossing.at.high
    end = min(high if high is not None else at, last + 3 * ((last - first) or 1))
    if low is not None:
        axes.plot([max(low, first), end], [line.limit] * 2, color=ATTEND, linewidth=4, alpha=0.7)


def _days_axis(axes: Any) -> None:  # noqa: ANN401
    """Day numbers as years and months, few enough to be read."""
    low, high = (int(end) for end in axes.get_xlim())
    years = (high - low) / 365
    step = 3 if years < 1.6 else 6 if years < 3.2 else 12 * max(1, round(years / 6))
    places, labels = [], []
    first = date.fromordinal(max(low, 1))
    number = first.year * 12
    while number <= date.fromordinal(high).year * 12 + 11:
        year, month = divmod(number, 12)
        at = date(year, month + 1, 1).toordinal()
        if low <= at <= high:
            places.append(at)
            labels.append(f"{year}" if month == 0 or step >= 12 else f"{year}-{month + 1:02d}")
        number += step
    axes.set_xticks(places, labels)


# --- seasons ------------------------------------------------------------------


def _draw_rates(axes: Any, view: ReportView) -> bool:  # noqa: ANN401
    """Faults in 100 flights with their interval; a hollow point is too few to tell."""
    lines = [
        line
        for line in reversed(view.season.beside)
        if line.first <= view.season.first and line.flights.is_exact and line.flights.low
    ]
    if not lines:
        return False
    for n, line in enumerate(lines):
        rate = estimate_rate(line.fault_count, float(line.flights.low), per=100)
        if rate.low is None or rate.high is None or rate.value is None:
            continue
        axes.plot([n, n], [rate.low, rate.high], color=LINK, linewidth=3, alpha=0.6)
        if not rate.too_few:
            axes.plot([n], [rate.value], "o", color=INK, ms=7)
        axes.annotate(
            f"{line.fault_count} in {line.flights.low}",
            (n, (rate.low + rate.high) / 2 if rate.too_few else rate.value),
            xytext=(8, 0),
            textcoords="offset points",
            va="center",
        )
    axes.set_xticks(range(len(lines)), [season_name(line) for line in lines])
    axes.set_xlim(-0.4, len(lines) - 0.2)
    axes.set_ylim(bottom=0)
    axes.set_ylabel("in 100 flights")
    return True


def _draw_flights(axes: Any, view: ReportView) -> bool:  # noqa: ANN401
    """One line for each season, the asked one heavy; each is named at its end."""
    at = [line.first for line in view.season.beside].index(view.season.first)
    lines = [line for line in view.season.beside[at : at + 4] if line.so_far]
    styles: Iterator[object] = iter(("-", (0, (5, 2)), (0, (1.5, 1.5)), (0, (6, 2, 1, 2))))
    for n, line in enumerate(lines):
        days = [0, *(day for day, _ in line.so_far)]
        counts = [0, *(count for _, count in line.so_far)]
        axes.step(
            days,
            counts,
            where="post",
            color=INK if n == 0 else SOFT,
            linewidth=2.2 if n == 0 else 1.4,
            linestyle=next(styles),
        )
        axes.annotate(
            f"{season_name(line)}: {counts[-1]}",
            (days[-1], counts[-1]),
            xytext=(4, 0),
            textcoords="offset points",
            va="center",
            fontweight="bold" if n == 0 else "normal",
        )
    if not lines:
        return False
    start = view.season.first
    ticks = [
        (date(start.year + (start.month + n - 1) // 12, (start.month + n - 1) % 12 + 1, 1))
        for n in range(0, 12, 2)
    ]
    axes.set_xticks([max((day - start).days, 0) for day in ticks], [f"{day:%b}" for day in ticks])
    furthest = max(line.so_far[-1][0] for line in lines)
    axes.set_xlim(0, furthest * 1.28 + 10)
    axes.set_ylim(bottom=0)
    axes.set_ylabel("flights")
    return True


def _draw_days(axes: Any, view: ReportView) -> bool:  # noqa: ANN401
    """Bars of days, hatched by how: without colour they are told apart as well."""
    lines = [line for line in view.season.lines if line.lost]
    if not lines or view.aircraft is not None:
        # Of one aircraft the answer has said it.
        return False
    looks = (
        ("not-in-service", "not in service", BODY, ""),
        ("grounded", "grounded", STOP, ""),
        ("limited", "limited", PAPER, "///"),
    )
    places = list(range(len(lines)))
    left = [0] * len(lines)
    for state, words, colour, hatch in looks:
        days = [line.lost_days(state) for line in lines]
        if not any(days):
            continue
        axes.barh(
            places, days, left=left, height=0.62, color=colour, hatch=hatch,
            edgecolor=INK, linewidth=0.7, label=words,
        )  # fmt: skip
        left = [one + more for one, more in zip(left, days, strict=True)]
    for place, line in zip(places, lines, strict=True):
        told = " + ".join(str(lost) for state, *_ in looks if (lost := line.lost_days(state)))
        axes.annotate(
            told, (left[place], place), xytext=(4, 0), textcoords="offset points", va="center"
        )
    axes.set_yticks(places, [line.aircraft for line in lines])
    axes.invert_yaxis()
    axes.set_xlim(0, max(left) * 1.22)
    axes.set_xlabel("days")
    axes.legend(
        loc="lower center", bbox_to_anchor=(0.45, 1.0), ncols=3, frameon=False,
        handlelength=1.2, columnspacing=1.0, fontsize=LABEL - 0.5,
    )  # fmt: skip
    return True
