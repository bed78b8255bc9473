"""The screen of `why`: rule, basis, records and arithmetic."""

from __future__ import annotations

from itertools import groupby

from cli.render.marks import day_words, standing_span, state_span
from cli.render.screen import Column, Screen, Span
from cli.render.shapes import (
    Shape,
    aircraft_shape,
    basis_shape,
    forecast_shape,
    full_span_shape,
    item_shape,
    place_shape,
)
from cli.session import Session
from register.answers import Why
from register.records.programmes import Task
from register.records.values import NOTHING
from register.tasks.limits import span_words
from register.tasks.reasons import Step
from register.views.changes import counter_words, why_phrase
from register.views.why import Addend, WhyCounter, WhyTask, span_total_words
from register.views.why_finding import WhyAircraft, WhyFinding

MOST_RECORDS = 12


def render_why(session: Session, answer: Why, *, every: bool) -> None:
    """The chain behind a task, a counter, a finding, or all reasons of an aircraft."""
    if isinstance(answer, WhyAircraft):
        session.show(_aircraft_screen(answer, session), _aircraft_data(answer, session))
        return
    if isinstance(answer, WhyFinding):
        session.show(_finding_screen(answer, session), _finding_data(answer, session))
        return
    if isinstance(answer, WhyCounter):
        session.show(_counter_screen(answer, every=every), _counter_data(answer))
        return
    screen = Screen()
    for n, view in enumerate(answer):
        if n:
            screen.gap()
        _task(screen, view, session, several=len(answer) > 1)
    session.show(
        screen, {"version": 1, "on": session.on, "items": [_task_data(view) for view in answer]}
    )


def _task(screen: Screen, view: WhyTask, session: Session, *, several: bool = False) -> None:
    item = view.item
    on = f" on {item.subject[1]}" + (f" at {item.position}" if item.position else "")
    if several and item.subject != ("aircraft", item.aircraft):
        # A pack used in two aircraft is asked by the programme of each.
        on += f", asked by {item.aircraft}"
    screen.title(f"Why: {item.task.title}{on}", day_words(session.on))
    screen.line([state_span(item.state), f"  {why_phrase(item)}"])
    basis = item.task.basis
    screen.line(["basis     ", basis.text], 0, 10)
    if basis.kind in ("common-practice", "owner", "unknown"):
        screen.line("the figure is yours to confirm or change", 10)
    place = item.task.place
    reset = item.task.in_force(session.on).reset.replace("-", " ")
    rule = "a life limit, no window" if item.task.id == "life" else f"reset {reset}"
    screen.line(["rule      ", rule])
    screen.line(Span(f"{place.file}:{place.line}", "faint"), 2)
    for step in view.steps:
        _step(screen, step)
    _passed(screen, view)
    for words in view.sums:
        _said(screen, "sum", words)
    for words in view.next_flight:
        _said(screen, "ahead", words)
    _forecast(screen, view)
    for words in view.standing:
        _said(screen, "so", Span(words, "strong"))
    _task_notes(screen, item.task)


def _said(screen: Screen, head: str, words: str | Span) -> None:
    screen.line([f"{head:<10}", words], 0, 10)


def _passed(screen: Screen, view: WhyTask) -> None:
    passed = view.passed
    if passed is None:
        return
    which = f"flight {passed.first}"
    if passed.first != passed.last:
        which = f"one of flights {passed.first} to {passed.last}"
    _step(screen, Step(f"passed on {passed.day.isoformat()}, in {which}", passed.place))


def _forecast(screen: Screen, view: WhyTask) -> None:
    found = view.forecast
    if found is None or found.likely is None:
        return
    ends = [day.isoformat() if day else "later" for day in (found.earliest, found.latest)]
    between = f", between {ends[0]} and {ends[1]}" if ends[0] != ends[1] else ""
    words = f"about {found.likely}{between}; {found.says}"
    _said(screen, "forecast", words)


def _task_notes(screen: Screen, task: Task) -> None:
    """Readings with their bounds and basis, what to do when out, and the caution."""
    for reading in task.readings:
        bounds = [
            f"at least {reading.low}" if reading.low is not None else "",
            f"at most {reading.high}" if reading.high is not None else "",
        ]
        limit = " and ".join(filter(None, bounds)) or "no limit set"
        words = f"{reading.name}: {limit} {reading.unit} ({reading.basis.text})"
        _said(screen, "reading", words)
    if task.if_out:
        _said(screen, "if out", task.if_out)
    if task.caution:
        _said(screen, "caution", task.caution)


def _aircraft_screen(view: WhyAircraft, session: Session) -> Screen:
    found = view.found
    screen = Screen()
    screen.title(f"Why: standing of {found.aircraft}", day_words(session.on))
    screen.line(standing_span(found.standing))
    for reason in found.reasons:
        screen.line(f"{reason.standing.replace('-', ' ')}: {reason.says}", 2, 2)
        if reason.place is not None:
            screen.line(Span(f"{reason.place.file}:{reason.place.line}", "faint"), 4)
        what = reason.name if reason.kind != "life" else reason.subject
        if reason.kind in ("task", "life", "notice", "snag", "deferral", "paper", "cure"):
            screen.line(f"tailsheaf why {found.aircraft} {what}", 4)
        elif reason.mend:
            screen.line(reason.mend, 4)
    if not found.reasons:
        screen.line("nothing open is recorded", 2)
    return screen


def _aircraft_data(view: WhyAircraft, session: Session) -> Shape:
    """The same shape as one aircraft of `flyday`."""
    return {"version": 1, "on": session.on, **aircraft_shape(view.found)}


def _finding_screen(view: WhyFinding, session: Session) -> Screen:
    screen = Screen()
    screen.title(f"Why: {view.title}", day_words(session.on))
    screen.line(Span(view.state.replace("-", " "), "strong"))
    for step in view.steps:
        _step(screen, step)
    for words in view.standing:
        _said(screen, "so", Span(words, "strong"))
    return screen


def _finding_data(view: WhyFinding, session: Session) -> Shape:
    return {
        "version": 1,
        "on": session.on,
        "title": view.title,
        "state": view.state,
        "why": [{"says": step.says, "place": place_shape(step.place)} for step in view.steps],
        "standing": list(view.standing),
    }


def _step(screen: Screen, step: Step) -> None:
    screen.line(step.says, 10, 2)
    if step.place is not None:
        screen.line(Span(f"{step.place.file}:{step.place.line}", "faint"), 2)


def _task_data(view: WhyTask) -> Shape:
    passed = view.passed
    return {
        **item_shape(view.item),
        "rule": {
            "place": place_shape(view.item.task.place),
            "basis": basis_shape(view.item.task.basis),
        },
        "sums": list(view.sums),
        "next_flight": list(view.next_flight),
        "standing": list(view.standing),
        "forecast": forecast_shape(view.forecast),
        "passed": None
        if passed is None
        else {
            "day": passed.day,
            "record": passed.place.file,
            "flight": {"low": passed.first, "high": passed.last},
        },
    }


def _counter_screen(view: WhyCounter, *, every: bool) -> Screen:
    screen = Screen()
    unit = counter_words(view.counter)
    screen.title(f"Why: {view.counter} of {view.subject[1]}", span_words(view.total))
    screen.line(span_total_words(view))
    is_open = view.opening.high is None and view.opening.low == 0
    words = "not known" if is_open else f"{span_words(view.opening)} {unit} ({view.opening.known})"
    opening = f"opening {words}"
    screen.line(opening)
    screen.line(Span(f"{view.opening_place.file}:{view.opening_place.line}", "faint"), 2)
    for host, group in groupby(view.addends, key=lambda addend: addend.host):
        addends = list(group)
        total = NOTHING
        for addend in addends:
            total = total + addend.amount
        where = f"in {host}" if host and view.subject[0] == "part" else host or "by itself"
        screen.gap()
        screen.line(
            [Span(where, "strong"), f"  + {span_words(total)} {unit} from {len(addends)} records"]
        )
        shown = addends if every else addends[-MOST_RECORDS:]
        if len(shown) < len(addends):
            screen.line(f"{len(addends) - len(shown)} earlier records (--all)", 1)
        screen.table(
            (Column("record", flexible=True), Column("adds", right=True)),
            [_addend_row(addend) for addend in shown],
            indent=1,
            heads=False,
        )
    return screen


def _addend_row(addend: Addend) -> tuple[str, str]:
    place = f"  {addend.place.file}:{addend.place.line}" if addend.place else ""
    return f"{addend.says}{place}", f"+ {span_words(addend.amount)}"


def _counter_data(view: WhyCounter) -> Shape:
    return {
        "version": 1,
        "subject": view.subject[1],
        "counter": view.counter,
        "total": full_span_shape(view.total),
        "opening": {**full_span_shape(view.opening), "place": place_shape(view.opening_place)},
        "records": [
            {
                "says": addend.says,
                "adds": full_span_shape(addend.amount),
                "record": addend.place.file if addend.place else None,
                "line": addend.place.line if addend.place else None,
            }
            for addend in view.addends
        ],
    }
