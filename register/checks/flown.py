"""Flights without a part, before the register began, out of service, on rejected parts."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby, zip_longest

from register.checks.survey import Survey, count_flights, number_of, warn
from register.findings.snags import host_aircraft
from register.ledger.order import Point
from register.ledger.places import Spell
from register.records.bodies import Condition, Flights, Layup
from register.records.events import Event
from register.records.owner_bodies import ChangeOfOwner
from register.records.standing_files import Position
from register.trouble import Place, Problem


def check_positions_filled(survey: Survey) -> Iterator[Problem]:
    """Flights while a required position held no part: one problem for each such run of flights."""
    ledger = survey.ledger
    for aircraft in survey.aircraft:
        for position in ledger.positions(aircraft).values():
            if position.required:
                spells = ledger.places.history_at(aircraft, position.name)
                yield from _check_position(survey, aircraft, position, spells)


def _check_position(
    survey: Survey, aircraft: str, position: Position, spells: tuple[Spell, ...]
) -> Iterator[Problem]:
    points = [
        point
        for event in survey.ledger.flights(aircraft)
        for point in survey.ledger.orders.segments(event.id)
    ]
    empty = [(point, _is_empty(survey, spells, point)) for point in points]
    for is_empty, run in groupby(empty, key=lambda pair: pair[1]):
        if is_empty:
            yield _empty_problem(survey, aircraft, position.name, [point for point, _ in run])


def _is_empty(survey: Survey, spells: tuple[Spell, ...], point: Point) -> bool:
    """Surely nothing there: not even perhaps, where the order of the day is not known."""
    return all(survey.is_inside(spell, point) is False for spell in spells)


def _empty_problem(survey: Survey, aircraft: str, position: str, points: list[Point]) -> Problem:
    events = survey.ledger.orders.events
    count = sum(point.high - point.low + 1 for point in points)
    named = ", ".join(_flight_words(survey, point) for point in points[:3])
    more = f" and {len(points) - 3} more records" if len(points) > 3 else ""
    first = events[points[0].event]
    return warn(
        first.place("when"),
        "flown-without-part",
        f"{aircraft} flew {number_of(count, 'flight')} with no {position} recorded: {named}{more}",
        f"tailsheaf install PART {aircraft} {position} --at {first.moment.day.isoformat()}"
        "   (what was there then)",
        (events[point.event].place("when") for point in points[1:]),
    )


def _flight_words(survey: Survey, point: Point) -> str:
    event = survey.ledger.orders.events[point.event]
    words = f"{survey.short(event)} of {event.moment.day.isoformat()}"
    if not isinstance(event.body, Flights) or point.high - point.low + 1 == event.body.count:
        return words
    if point.low == point.high:
        return f"{words} flight {point.low}"
    return f"{words} flights {point.low} to {point.high}"


def check_register_begun(survey: Survey) -> Iterator[Problem]:
    """Flights before the day from which the opening counters hold: counted twice, perhaps."""
    for aircraft in survey.aircraft:
        as_of = survey.ledger.records.aircraft[aircraft].opening.as_of
        if as_of is None:
            continue
        for event in survey.ledger.flights(aircraft):
            if event.moment.day < as_of:
                path = survey.ledger.records.aircraft[aircraft].path
                yield warn(
                    event.place("when"),
                    "flown-before-record",
                    f"{aircraft} flew on {event.moment.day.isoformat()}, before its opening "
                    f"counters of {as_of.isoformat()}: they may count these flights already",
                    f"tailsheaf withdraw {survey.short(event)}   if they do; else give an earlier "
                    f"as_of in {path}",
                )


def check_in_service(survey: Survey) -> Iterator[Problem]:
    """Flights of an aircraft that was surely not in service: one problem for each such time."""
    for aircraft in survey.aircraft:
        stages = survey.ledger.stages(aircraft)
        out: list[tuple[str, Event | None, Event]] = []
        for event in survey.ledger.flights(aircraft):
            stage, since = _stage_at(survey, stages, event)
            if stage != "in-service":
                out.append((stage, since, event))
        for _, group in groupby(out, key=lambda item: (item[0], item[1].id if item[1] else "")):
            run = list(group)
            stage, since, _ = run[0]
            yield _stage_problem(survey, aircraft, stage, since, [item[2] for item in run])


Stages = list[tuple[str, Event | None]]


def _stage_at(survey: Survey, stages: Stages, flown: Event) -> tuple[str, Event | None]:
    """The stage at some flights; in service if it may have been."""
    compare = survey.ledger.orders.compare
    last = survey.ledger.orders.last_point(flown.id)
    possible: Stages = []
    for stage, event in stages:
        if event is None:
            possible = [(stage, event)]
            continue
        order = compare(survey.ledger.orders.segments(event.id)[0], last)
        if order == "before":
            possible = [(stage, event)]
        elif order == "unknown":
            possible.append((stage, event))
    return next((item for item in possible if item[0] == "in-service"), possible[-1])


def _stage_problem(
    survey: Survey, aircraft: str, stage: str, since: Event | None, events: list[Event]
) -> Problem:
    words = stage.replace("-", " ")
    from_day = f" since {since.moment.day.isoformat()}" if since else ""
    day = events[0].moment.day.isoformat()
    related = [since.place("stage")] if since else []
    related.extend(event.place("when") for event in events[1:])
    return warn(
        events[0].place("when"),
        "flown-not-in-service",
        f"{aircraft} flew {number_of(count_flights(events), 'flight')} from {day}, "
        f"and its stage was {words}{from_day}",
        _bring_back(survey, aircraft, since, day),
        related,
    )


def _bring_back(survey: Survey, aircraft: str, since: Event | None, day: str) -> str:
    if since is not None and isinstance(since.body, ChangeOfOwner):
        return f"tailsheaf withdraw {survey.short(since)}   if it did not go then"
    if since is not None and isinstance(since.body, Layup):
        return f"tailsheaf layup {aircraft} --end --at {day}"
    return f"tailsheaf aircraft {aircraft} --stage in-service --at {day}"


def check_parts_serviceable(survey: Survey) -> Iterator[Problem]:
    """A part that flew after it was quarantined, rejected or scrapped."""
    for part in sorted(survey.ledger.records.parts):
        changes = [
            event
            for event in survey.ledger.about(("part", part))
            if isinstance(event.body, Condition)
        ]
        for change, release in zip_longest(changes, changes[1:]):
            if isinstance(change.body, Condition) and change.body.condition != "serviceable":
                flown = _flown_between(survey, part, change, release)
                if flown:
                    yield _unserviceable(survey, part, change, change.body.condition, flown)


def _flown_between(survey: Survey, part: str, since: Event, until: Event | None) -> list[Event]:
    orders = survey.ledger.orders
    start = orders.last_point(since.id)
    end = orders.segments(until.id)[0] if until is not None else None
    return [
        item.event
        for item in survey.ledger.counters.contributions(("part", part))
        if isinstance(item.event.body, Flights)
        and any(
            piece.sure
            and orders.compare(start, piece.point) == "before"
            and (end is None or orders.compare(piece.point, end) == "before")
            for piece in item.pieces
        )
    ]


def _unserviceable(
    survey: Survey, part: str, change: Event, condition: str, flown: list[Event]
) -> Problem:
    day = change.moment.day.isoformat()
    hosts = host_aircraft(survey.ledger, part)
    off = f"tailsheaf remove {part}" if hosts else f"tailsheaf condition {part} serviceable"
    place = flown[0].place("uses") if flown[0].node.get("uses") else flown[0].place("when")
    related: list[Place] = [change.place("condition")]
    related.extend(event.place("when") for event in flown[1:])
    return warn(
        place,
        "used-unserviceable",
        f"{part} flew on {number_of(len(flown), 'record')} from "
        f"{flown[0].moment.day.isoformat()}, and it was {condition} since {day}",
        f"{off} --at DATE   (if that was so),  or  tailsheaf amend {survey.short(flown[0])} …",
        related,
    )
