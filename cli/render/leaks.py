"""The screen of `leak`."""

from __future__ import annotations

from cli.render.cures import span_words
from cli.render.marks import day_words, note_unread, unread_words
from cli.render.screen import Meaning, Screen, Span
from cli.render.shapes import Shape, basis_shape
from cli.render.skeletons import say_skeletons
from cli.session import Session
from register.records.air import AirSystem
from register.records.values import format_amount
from register.views.leaks import LeakLine, LeaksView, SystemLine
from register.workshop.leak import LeakDown, Taken

STATES: dict[str, tuple[str, Meaning]] = {
    "inside": ("inside the limit", "plain"),
    "out": ("OUT", "attend"),
    "no-limit": ("no limit is stated", "faint"),
    "cannot-tell": ("CANNOT TELL", "unsure"),
    "waiting": ("BEGUN", "attend"),
    "rose": ("CANNOT TELL", "unsure"),
}
#: Half of the last figure shown, in bar.
_SMALLEST = 0.0005
_OPEN = ("out", "cannot-tell", "rose")


def render_leaks(session: Session, view: LeaksView) -> None:
    """The last leak-down of each system, or every one of a system."""
    note_unread(session, view.unread)
    last = [line.tests[-1] for line in view.systems if line.tests]
    session.open_items += sum(line.state in _OPEN for line in last)
    screen = Screen()
    screen.title(f"Leak-down: {view.aircraft}", day_words(view.on))
    if view.unread:
        screen.line(unread_words(view.unread))
    for system in view.systems:
        _system(screen, view, system)
    screen.gap()
    if not view.systems:
        screen.line("no air system is stated")
        say_skeletons(screen, "air", path=view.path)
        screen.gap()
    for words in view.cautions:
        screen.line(Span(words, "faint"), 0, 2)
    session.show(screen, _shape(view))


def _system(screen: Screen, view: LeaksView, line: SystemLine) -> None:
    system = line.system
    screen.gap()
    screen.line(Span(f"{system.name}: {system.title}", "strong"))
    screen.line(_limits_words(system), 2, 2)
    if not line.tests:
        screen.line("no reading is recorded: tailsheaf leak "
                    f"{view.aircraft} {system.name} 8.0@24", 2)  # fmt: skip
        return
    if not view.is_one:
        _test(screen, system, line.tests[-1])
        if len(line.tests) > 1:
            screen.line(f"{len(line.tests) - 1} earlier: tailsheaf leak {view.aircraft} "
                        f"{system.name}", 2)  # fmt: skip
        return
    for test in line.tests:
        _test(screen, system, test)


def _limits_words(system: AirSystem) -> str:
    full = "not stated" if system.full is None else f"{format_amount(system.full)} bar"
    least = "not stated" if system.minimum is None else f"{format_amount(system.minimum)} bar"
    words = f"full {full}, minimum {least} ({system.basis.text})"
    for loss in system.losses:
        words += (
            f"; may lose {format_amount(loss.bar)} bar in {format_amount(loss.minutes)} min "
            f"({loss.basis.text})"
        )
    return words


def _test(screen: Screen, system: AirSystem, line: LeakLine) -> None:
    screen.gap()
    for taken in line.taken:
        screen.line(_reading_words(taken), 2, 4)
    ambients = dict.fromkeys(
        f"ambient {format_amount(gauge.ambient)} bar: {gauge.ambient_basis}"
        for taken in line.taken
        if (gauge := taken.gauge) is not None
    )
    for words in ambients:
        screen.line(words, 2, 4)
    found = line.found
    mark = Span(*STATES[line.state])
    if found is None:
        screen.line([mark, f"  {line.why_not}"], 2, 2)
        return
    if found.true_loss is None or line.state == "rose":
        words = f"{_bar(found.apparent)} bar lower on the gauge in {span_words(found.minutes)}"
        screen.line([mark, f"  {words}; {line.why_not}"], 2, 2)
        return
    _figures(screen, system, line, found)
    words = ""
    if line.allowed is not None:
        words = f": at most {line.allowed:.2f} bar in that time"
    elif line.why_not:
        words = f": {line.why_not}"
    screen.line([mark, words], 2, 2)


def _figures(screen: Screen, system: AirSystem, line: LeakLine, found: LeakDown) -> None:
    first = line.taken[0].gauge
    heat = "?" if first is None or first.temperature is None else format_amount(first.temperature)
    screen.line(
        f"gauge fell {_bar(found.apparent)} bar in {span_words(found.minutes)}; "
        f"{_cold_words(found.by_temperature or 0.0)}",
        2,
        2,
    )
    screen.line(f"corrected to {heat} °C: {_bar(found.corrected)} bar", 2, 2)
    rate = f"{found.rate:.2f} bar an hour" if found.rate is not None else "rate not known"
    screen.line([Span(f"true loss {_bar(found.true_loss)} bar", "strong"), f", {rate}"], 2, 2)
    if found.air_ml is not None and found.air_ml > 0:
        screen.line(f"about {found.air_ml:.1f} ml of outside air a minute", 2, 2)
    if found.hours is not None and system.minimum is not None:
        least = format_amount(system.minimum)
        slowing = (
            f"; {_hours(found.hours_slowing)} if it slows as the pressure falls"
            if found.hours_slowing is not None and found.hours
            else ""
        )
        screen.line(
            f"{_hours(found.hours)} to the minimum of {least} bar at this rate{slowing}", 2, 2
        )
    elif system.minimum is not None:
        screen.line("the fall is too small for hours to the minimum", 2, 2)


def _cold_words(cold: float) -> str:
    """How much of the fall is the air that cooled; warmer air hides a leak."""
    if abs(cold) < _SMALLEST:
        return "none of it is temperature"
    if cold > 0:
        return f"{_bar(cold)} bar of it is temperature"
    return f"{_bar(-cold)} bar more was hidden by warmth"


def _reading_words(taken: Taken) -> str:
    gauge = taken.gauge
    when = taken.event.moment.text.replace("T", " ")[:16]
    if gauge is None:
        return f"{when}  does not count: {taken.why_not}"
    heat = "?" if gauge.temperature is None else format_amount(gauge.temperature)
    return f"{when}  {format_amount(gauge.pressure)} bar at {heat} °C"


def _bar(value: float | None) -> str:
    return "?" if value is None else f"{value + 0.0:.3f}"


def _hours(hours: float | None) -> str:
    if hours is None:
        return "?"
    return "0 h" if hours <= 0 else f"{hours:.1f} h" if hours < 48 else f"{hours / 24:.0f} days"


def _figure(value: float | None) -> object:
    return None if value is None else round(value, 6)


def _shape(view: LeaksView) -> Shape:
    return {
        "version": 1,
        "on": view.on,
        "complete": view.complete,
        "aircraft": view.aircraft,
        "systems": [
            {
                "system": line.system.name,
                "title": line.system.title,
                "volume_ml": line.system.volume_ml,
                "full": line.system.full,
                "minimum": line.system.minimum,
                "basis": basis_shape(line.system.basis),
                "leak_downs": [_test_shape(test) for test in line.tests],
            }
            for line in view.systems
        ],
        "cautions": list(view.cautions),
    }


def _test_shape(line: LeakLine) -> Shape:
    found = line.found
    return {
        "state": line.state,
        "why_not": line.why_not or None,
        "readings": [
            {
                "record": taken.event.path,
                "when": taken.event.moment.text,
                "bar": taken.gauge.pressure if taken.gauge else None,
                "temperature": taken.gauge.temperature if taken.gauge else None,
                "ambient": taken.gauge.ambient if taken.gauge else None,
                "ambient_basis": taken.gauge.ambient_basis if taken.gauge else None,
            }
            for taken in line.taken
        ],
        "minutes": _figure(found.minutes) if found else None,
        "apparent_loss": _figure(found.apparent) if found else None,
        "corrected": _figure(found.corrected) if found else None,
        "true_loss": _figure(found.true_loss) if found else None,
        "bar_an_hour": _figure(found.rate) if found else None,
        "hours_to_minimum": _figure(found.hours) if found else None,
        "hours_if_slowing": _figure(found.hours_slowing) if found else None,
        "ambient_air_ml_a_minute": _figure(found.air_ml) if found else None,
        "allowed_loss": _figure(line.allowed),
    }
