"""The estimators of one group in lines: each figure with its interval, method and number."""

from __future__ import annotations

from collections.abc import Sequence

from register.faults.concluding import chance_words, count_words, figure_words
from register.faults.grouping import PER
from register.faults.results import Evidence, Figure, p_words
from register.views.fault_figures import GroupFigures, KitCurve

#: Limits so many times apart leave everything open; two aircraft may give such.
TOO_WIDE = 1000.0
#: A quiet time that is likelier than this is none.
WORTH_SAYING = 0.5


def figure_lines(figures: GroupFigures) -> list[str]:
    """Interval, time between, trend tests, quiet, growth, likeness, cumulative means."""
    line = figures.line
    conclusion, group = line.conclusion, line.group
    _, words, unit = PER[group.counter]
    scale = 60 if group.counter == "engine-minutes" else 1
    amount = group.exposure / scale
    trend = conclusion.trend
    use = f"use: {figure_words(amount)} {unit} on {len(figures.compared)} aircraft"
    if group.why:
        use += f"; {group.why}"
    if group.likeness == "unsaid":
        return [use]
    found = [
        use,
        f"rate: {figure_text(conclusion.rate)} in {words}",
        f"between two: {_between(conclusion.between, group.counter)}",
        f"trend, {count_words(group)}: Laplace "
        f"{evidence_text('z', trend.laplace)}; "
        f"military handbook {evidence_text('chi-square', trend.handbook)}"
        + (" (too few to tell)" if trend.laplace.too_few else ""),
    ]
    if conclusion.quiet is not None and conclusion.quiet < WORTH_SAYING:
        found.append(
            f"quiet since the last: {figure_words(group.since_last / scale)} {unit}, chance "
            f"{chance_words(conclusion.quiet)}"
        )
    if figures.growth is not None:
        found.append(f"growth with use, power: {figure_text(figures.growth.power)}")
    if figures.likeness is not None:
        found.append(figures.likeness_says)
    found.extend(_curve_text(curve, unit, group.counter) for curve in figures.curves)
    return found


def method_lines(figures: Sequence[GroupFigures]) -> list[str]:
    """Every method and convention behind these figures, each once."""
    found: list[str] = []
    for one in figures:
        conclusion = one.line.conclusion
        trend = conclusion.trend
        found += [
            f"rate: {conclusion.rate.method}, {conclusion.rate.convention}",
            f"between two: {conclusion.between.method}, {conclusion.between.convention}",
            f"trend: Laplace, {trend.laplace.convention}; military handbook (MIL-HDBK-189), "
            f"{trend.handbook.convention}; each aircraft is one watch, not parted at an overhaul",
        ]
        if conclusion.quiet is not None:
            found.append(
                "quiet: on each aircraft that had it, the share of its use before the last, to the "
                "power of its occasions (days with a fault)"
            )
        if one.growth is not None:
            found.append(f"growth: {one.growth.power.method}, {one.growth.power.convention}")
        if one.likeness is not None:
            test = one.likeness.ratio_test
            found.append(f"aircraft compared: {test.method}, {test.convention}")
        for curve in one.curves:
            found.append(f"each of a kit: {curve.curve.method}, {curve.curve.convention}")
    return list(dict.fromkeys(found))


def percent_text(share: float) -> str:
    """A share in a hundred."""
    return f"{share * 100:.0f} %"


def figure_text(figure: Figure) -> str:
    """A figure with its interval; where there are too few, the interval alone."""
    if figure.low is None and figure.high is None:
        return "none"
    high = "no upper limit" if figure.high is None else figure_words(figure.high)
    ends = f"{figure_words(figure.low or 0)} to {high}"
    if figure.too_few or figure.value is None:
        return f"{ends} ({percent_text(figure.level)}, too few to tell)"
    return f"{figure_words(figure.value)} ({percent_text(figure.level)} {ends})"


def _between(figure: Figure, counter: str) -> str:
    factor = 60.0 if counter == "engine-minutes" else 1.0
    scaled = Figure(
        None if figure.value is None else figure.value / factor,
        None if figure.low is None else figure.low / factor,
        None if figure.high is None else figure.high / factor,
        figure.level,
        figure.method,
        figure.convention,
        figure.behind,
        figure.too_few,
    )
    return f"{figure_text(scaled)} {PER[counter][2]}"


def evidence_text(letter: str, test: Evidence) -> str:
    """A test; its chance is left out below the least number, for it would mislead."""
    if test.p is None:
        return "nothing to test"
    if test.too_few:
        return f"{letter} {test.statistic:.2f}"
    return f"{letter} {test.statistic:.2f}, p {p_words(test.p)}"


def _curve_text(one: KitCurve, unit: str, counter: str) -> str:
    """The last step of a kit's mean cumulative function."""
    step = one.curve.steps[-1]
    at = step.at / 60 if counter == "engine-minutes" else step.at
    if step.low is None:
        ends = "no limits"
    elif step.high is None or step.high > TOO_WIDE * max(step.low, step.value / TOO_WIDE):
        ends = "limits too wide to say anything"
    else:
        ends = f"{figure_words(step.low)} to {figure_words(step.high)}"
    mean = "" if one.curve.too_few else f"{figure_words(step.value)}, "
    few = ", too few to tell" if one.curve.too_few else ""
    return (
        f"each {one.kit} by {figure_words(at)} {unit}: {mean}{ends}{few} "
        f"({len(one.aircraft)} aircraft)"
    )
