"""The screen of `faults --life`: how long parts of a kind last, and their intervals."""

from __future__ import annotations

from cli.render.fault_figures import figure_text, percent_text
from cli.render.fault_shapes import figure_shape
from cli.render.marks import day_words, note_unread, unread_words
from cli.render.screen import Column, Screen, Span
from cli.render.shapes import Shape, basis_shape
from cli.session import Session
from register.faults.results import Figure, Step
from register.views.part_life import PartLifeView, amount_words

MOST_STEPS = 12
LEFT_WORDS = {
    "unknown-age": "of unknown age (opening counter)",
    "unclear-age": "of unclear age",
    "never-used": "never used yet",
}


def render_part_life(session: Session, view: PartLifeView) -> None:
    """What failed at what age, the fit, and what it says about each interval."""
    note_unread(session, view.unread)
    screen = Screen()
    unit = view.counter.replace("-", " ")
    screen.title(f"Life of every {view.kind}, by {unit}", day_words(view.on))
    if view.unread:
        screen.line(unread_words(view.unread))
    behind = view.curve.behind
    screen.line(
        f"{behind.units} watched, {behind.events} failed, {behind.units - behind.events} "
        "suspended (installed and going, or taken off for another reason)"
    )
    late = sum(one.life is not None and one.life.entry > 0 for one in view.parts)
    if late:
        screen.line(f"{late} watched from the opening counter on, not from new")
    for why, words in LEFT_WORDS.items():
        names = view.left_out(why)
        if names:
            screen.line(f"left out, {len(names)} {words}: {', '.join(names)}", 0, 2)
    screen.gap()
    screen.table(
        (
            Column("age", right=True),
            Column("at risk", right=True),
            Column("failed", right=True),
            Column("still going", right=True),
            Column("95 % limits", right=True),
        ),
        [_step_row(step, view.counter) for step in view.curve.steps[:MOST_STEPS]],
    )
    if len(view.curve.steps) > MOST_STEPS:
        more = len(view.curve.steps) - MOST_STEPS
        screen.line(f"{more} more age{'' if more == 1 else 's'} (--json has all)")
    _fit(screen, view)
    screen.gap()
    for interval in view.intervals:
        screen.line(f"{interval.what}: {interval.says} [{interval.basis.text}]", 0, 2)
    screen.line(Span(view.says, "strong"))
    screen.line(
        Span(
            "Failed: rejected or scrapped, or taken off with a snag that no fix had closed. "
            f"{view.curve.method}; {view.curve.convention}.",
            "faint",
        )
    )
    session.show(screen, life_shape(view))


def _step_row(step: Step, counter: str) -> tuple[str, ...]:
    low = "?" if step.low is None else f"{step.low * 100:.0f}"
    high = "?" if step.high is None else f"{step.high * 100:.0f}"
    share = percent_text(step.value)
    return (
        amount_words(step.at, counter),
        str(step.at_risk),
        str(step.events),
        share,
        (f"{low}-{high} %"),
    )


def _fit(screen: Screen, view: PartLifeView) -> None:
    if view.missing:
        screen.line(
            ["the Weibull fit needs numpy and scipy: ", Span(view.missing, "command")], 0, 2
        )
    elif view.fit is not None:
        scale = view.fit.scale
        factor = 60.0 if view.counter.endswith("minutes") else 1.0
        hours = Figure(
            None if scale.value is None else scale.value / factor,
            None if scale.low is None else scale.low / factor,
            None if scale.high is None else scale.high / factor,
            scale.level,
            scale.method,
            scale.convention,
            scale.behind,
            scale.too_few,
        )
        unit = "hours" if factor > 1 else view.counter.replace("-", " ")
        screen.gap()
        screen.line(
            f"Weibull: shape {figure_text(view.fit.shape)}, 63 % failed by {figure_text(hours)} "
            f"{unit}; {scale.convention}",
            0,
            2,
        )


def life_shape(view: PartLifeView) -> Shape:
    """The JSON of a whole answer."""
    return {
        "version": 1,
        "on": view.on,
        "complete": view.complete,
        "unread": list(view.unread),
        "kind": view.kind,
        "counter": view.counter,
        "watched": view.curve.behind.units,
        "failed": view.failed,
        "left_out": {why: list(view.left_out(why)) for why in LEFT_WORDS},
        "survival": [
            {
                "at": step.at,
                "at_risk": step.at_risk,
                "failed": step.events,
                "share": step.value,
                "low": step.low,
                "high": step.high,
            }
            for step in view.curve.steps
        ],
        "weibull": None
        if view.fit is None
        else {"shape": figure_shape(view.fit.shape), "scale": figure_shape(view.fit.scale)},
        "intervals": [
            {
                "what": one.what,
                "amount": one.amount,
                "basis": basis_shape(one.basis),
                "failed": figure_shape(one.share),
                "weibull": None if one.fitted is None else figure_shape(one.fitted),
                "says": one.says,
            }
            for one in view.intervals
        ],
        "parts": [
            {
                "part": one.part,
                "age": one.life.age if one.life else None,
                "entry": one.life.entry if one.life else None,
                "failed": one.life.failed if one.life else None,
                "record": one.ended_by.path if one.ended_by else None,
                "left_out": one.left_out,
            }
            for one in view.parts
        ],
        "says": view.says,
    }
