"""Why a snag, a deferral or a paper stands as it does; and every reason of one aircraft."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from msgspec import Struct

from register.findings.cures import CAUTION, CureState, moment_words
from register.findings.deferrals import view_deferral
from register.findings.papers import view_paper
from register.findings.snags import LOOSE, SnagState
from register.ledger.ledger import Ledger
from register.records.bodies import Fix, Flights
from register.records.standing_files import PaperFile
from register.records.values import format_amount
from register.standing.judge import AircraftDay, judge_aircraft
from register.standing.reasons import cure_reasons, paper_reasons, snag_reasons
from register.tasks.limits import span_words
from register.tasks.reasons import Step, event_step
from register.trouble import Place

DEFERRAL_RULE = (
    "rule: the day of discovery is not counted, either limit ends it, and an extension keeps "
    "the first day (common practice, after the full-size minimum-equipment rule)"
)
CURE_RULE = (
    "rule: a day counts as not complete through the whole date on which the cure ends; "
    "the hour is shown by tailsheaf cure"
)


class WhyFinding(Struct, frozen=True):
    """The chain behind a finding: its steps, and what it comes to."""

    title: str
    state: str
    steps: tuple[Step, ...]
    standing: tuple[str, ...]


class WhyAircraft(Struct, frozen=True):
    """Every reason for the standing of an aircraft, with the record behind each."""

    found: AircraftDay


def view_why_aircraft(ledger: Ledger, aircraft: str, day: date) -> WhyAircraft:
    """All reasons of one aircraft."""
    return WhyAircraft(judge_aircraft(ledger, aircraft, day))


def view_why_snag(ledger: Ledger, snag: SnagState, day: date) -> WhyFinding:
    """How a snag was found, rated, deferred and fixed, and what is left of a deferral."""
    steps = [event_step(f"found {snag.first_day.isoformat()}: {snag.text}", snag.event, "text")]
    rated = snag.severity.replace("-", " ")
    if snag.rest == LOOSE:
        words = "the rest lies loose inside: grounding until it is found, whatever it is rated"
        steps.append(event_step(words, snag.severity_event, "rest"))
    else:
        steps.append(event_step(f"rated {rated}", snag.severity_event, "severity"))
    steps.extend(_deferral_steps(ledger, snag, day))
    for fix in snag.fixes:
        body = fix.body
        if isinstance(body, Fix):
            verb = "fixed" if body.closes else "worked on"
            steps.append(event_step(f"{verb} {fix.moment.day}: {body.action}", fix, "action"))
    standing = tuple(
        f"{reason.standing.replace('-', ' ')}: {reason.says}"
        for host in snag.hosts
        for reason in snag_reasons(ledger, host, [snag], day)
    )
    return WhyFinding(
        f"snag {snag.id[:6]}: {snag.text}",
        "open" if snag.is_open else "closed",
        tuple(steps),
        standing,
    )


def _deferral_steps(ledger: Ledger, snag: SnagState, day: date) -> Iterator[Step]:
    state = view_deferral(ledger, snag, day)
    if state is None:
        return
    yield Step(DEFERRAL_RULE)
    for event in snag.deferrals:
        verb = "extended" if event is not snag.deferrals[0] else "deferred"
        reason = getattr(event.body, "reason", "")
        yield event_step(f"{verb} {event.moment.day.isoformat()}: {reason}", event, "reason")
    if state.until is not None:
        left = (state.until - day).days
        words = f"{left} days left" if left >= 0 else f"{-left} days over"
        yield event_step(
            f"until {state.until.isoformat()}: {words} on {day.isoformat()}", state.event, "until"
        )
    if state.body.flights is not None:
        left_words = format_amount(state.flights_left) if state.flights_left is not None else "?"
        yield event_step(
            f"for {state.body.flights} flights: {span_words(state.flights_used)} flown since, "
            f"{left_words} left",
            state.event,
            "flights",
        )
        yield from _flown_since(ledger, snag)


def _flown_since(ledger: Ledger, snag: SnagState) -> Iterator[Step]:
    aircraft = snag.aircraft or snag.found_on
    for flown in ledger.flights(aircraft) if aircraft else ():
        body = flown.body
        if isinstance(body, Flights) and flown.moment.day > snag.first_day:
            yield event_step(f"{flown.moment.day.isoformat()}: {body.count} flown", flown, "count")


def view_why_paper(ledger: Ledger, paper: PaperFile, aircraft: str, day: date) -> WhyFinding:
    """A paper's days, and where they are written."""
    state = view_paper(paper, day)
    place = Place(paper.path, paper.place.line)
    steps = [Step(f"covers {'the fleet' if paper.whole_fleet else aircraft}", place)]
    for since, until in paper.spells:
        begin = since.isoformat() if since else "the beginning"
        end = until.isoformat() if until else "not recorded"
        steps.append(Step(f"valid from {begin} until {end}", place))
    steps.append(Step(state.says))
    steps.append(Step(f"basis: {paper.basis.text}; warned of {paper.warn_days} days before"))
    standing = tuple(
        f"{reason.standing.replace('-', ' ')}: {reason.says}"
        for reason in paper_reasons(ledger, aircraft, day)
        if reason.name == paper.name
    )
    return WhyFinding(f"paper {paper.name}: {paper.title}", state.state, tuple(steps), standing)


def view_why_cure(ledger: Ledger, cure: CureState, day: date) -> WhyFinding:
    """When it was mixed, the maker's times, and until when it is not complete."""
    body, event = cure.body, cure.event
    mixed = moment_words(cure.mixed)
    known = "" if cure.is_exact else " (no time of day is recorded: the end of that day counts)"
    steps = [event_step(f"mixed {mixed}{known}: {body.adhesive}", event, "mixed")]
    heat = body.temperature
    at = f" at {format_amount(heat)} °C" if heat is not None else ", temperature not recorded"
    times = (
        ("handling", "handling_minutes", body.handling_minutes, cure.handling_at),
        ("full load", "full_minutes", body.full_minutes, cure.full_at),
    )
    for what, key, minutes, end in times:
        if minutes is None or end is None:
            steps.append(Step(f"{what}: no time is recorded, so it cannot be told"))
        else:
            words = f"{what}: {format_amount(minutes)} minutes{at}, so {moment_words(end)}"
            steps.append(event_step(words, event, key))
    steps.append(event_step(f"basis: {body.basis.text}", event, "basis"))
    for held in body.holds:
        other = ledger.settled.originals.get(held)
        words = f"{other.kind.replace('-', ' ')} {held[:6]}" if other is not None else held[:6]
        steps.append(event_step(f"rests on it: {words}, not done before", event, "holds"))
    steps.extend((Step(CURE_RULE), Step(CAUTION)))
    standing = tuple(
        f"{reason.standing.replace('-', ' ')}: {reason.says}"
        for host in cure.hosts
        for reason in cure_reasons(ledger, host, day)
        if reason.name == event.id
    )
    state = "not complete" if cure.is_open_on(day) else "complete by the table"
    return WhyFinding(f"cure {event.id[:6]}: {cure.what}", state, tuple(steps), standing)
