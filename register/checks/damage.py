"""Places of damage that cannot be drawn as written, and sizes that belong to no snag."""

from __future__ import annotations

from collections.abc import Iterator

from register.checks.survey import Survey, warn
from register.records.bodies import Reading, Snag
from register.records.events import Event
from register.records.scalars import nearest
from register.trouble import Problem
from register.workshop.damage import SIZE, UNITS, Body, read_body, zone_of
from register.workshop.spots import Unplaced, locate_spot


def check_marks_placed(survey: Survey) -> Iterator[Problem]:
    """A snag whose zone its aircraft does not have, or whose place is not in the zone."""
    ledger = survey.ledger
    bodies: dict[str, Body] = {}
    for event in ledger.events:
        snag = event.body
        if not isinstance(snag, Snag) or (snag.zone is None and snag.spot is None):
            continue
        aircraft = ledger.names.aircraft_name(snag.aircraft)
        if aircraft is None:
            continue
        if aircraft not in bodies:
            bodies[aircraft] = read_body(ledger, aircraft)
        if bodies[aircraft].zones:
            yield from _check_mark(survey, event, snag, aircraft, bodies[aircraft])


def _check_mark(
    survey: Survey, event: Event, snag: Snag, aircraft: str, body: Body
) -> Iterator[Problem]:
    short = survey.short(event)
    name = zone_of(snag, body.zones)
    zone = body.zones.get(name) if name is not None else None
    if name is not None and zone is None:
        guess = nearest(name, body.zones) or next(iter(body.zones))
        yield warn(
            event.place("zone"),
            "zone-not-listed",
            f"zone: {aircraft} has no zone {name!r}; the mark is not drawn",
            f"tailsheaf amend {short} zone={guess}",
        )
    if zone is None or snag.spot is None:
        return
    where = locate_spot(zone, snag.spot, body.outline)
    if isinstance(where, Unplaced):
        if where.by_words:
            yield warn(
                event.place("place"),
                "spot-unclear",
                f"place: {where.reason}",
                f'tailsheaf amend {short} place="120 from leading edge, 340 from root"',
            )
    elif not where.inside:
        yield warn(
            event.place("place"),
            "spot-outside",
            f"place: it lies beyond the outline of {zone.name}",
            f"tailsheaf amend {short} place=…   or mend the outline in {zone.place.file}",
        )


def check_sizes_belong(survey: Survey) -> Iterator[Problem]:
    """A size of a snag that nobody recorded, or in a unit that is not read."""
    settled = survey.ledger.settled
    snags = [id_ for id_, event in settled.originals.items() if event.kind == "snag"]
    for event in survey.ledger.events:
        reading = event.body
        if not isinstance(reading, Reading) or reading.snag is None:
            continue
        meant = [id_ for id_ in snags if id_.startswith(reading.snag)]
        if len(meant) != 1 or len(reading.snag) < 4:
            guess = nearest(reading.snag, snags)
            word = survey.short(settled.originals[guess]) if guess else "SNAG"
            yield warn(
                event.place("snag"),
                "snag-unknown",
                f"snag: no snag has the id {reading.snag!r}; this size belongs to nothing",
                f"tailsheaf amend {survey.short(event)} snag={word}",
            )
        unit = reading.measured.unit
        if reading.measured.name == SIZE and unit.strip().lower() not in UNITS:
            yield warn(
                event.place("unit"),
                "unit-differs",
                f"unit: a size in {unit[:20]!r} is not read; it is one of mm, cm, in",
                f"tailsheaf amend {survey.short(event)} unit=mm value=…",
            )
