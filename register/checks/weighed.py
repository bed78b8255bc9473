"""Scale readings that cannot be, or seldom are."""

from __future__ import annotations

from collections.abc import Iterator

from register.checks.survey import Survey, warn
from register.records.as_built import read_section
from register.records.events import Event
from register.records.workshop_bodies import Weighing
from register.text.nodes import Mapping, Scalar, Sequence
from register.trouble import Place, Problem
from register.workshop.weighing import find_faults, list_weighings


def check_weighings(survey: Survey) -> Iterator[Problem]:
    """Every weighing against the points and the heaviest mass of its aircraft."""
    ledger = survey.ledger
    for aircraft in survey.aircraft:
        weighings = list_weighings(ledger, aircraft)
        layout = read_section(ledger.records, aircraft, "balance")[0] if weighings else None
        for event in weighings:
            body = event.body
            if not isinstance(body, Weighing):
                continue
            for fault in find_faults(body.weights, layout):
                again = f"tailsheaf withdraw {survey.short(event)}, and record it anew"
                yield warn(
                    _place_of(event, fault.point),
                    "weighing-impossible" if fault.is_impossible else "weighing-unlikely",
                    f"{aircraft}: {fault.says}",
                    f"{fault.mend}   ({again})",
                )


def _place_of(event: Event, point: str) -> Place:
    """Where the reading of a point stands."""
    node = event.node.get("weights")
    for item in node.items if isinstance(node, Sequence) else ():
        name = item.get("point") if isinstance(item, Mapping) else None
        if isinstance(name, Scalar) and name.text.strip().lower() == point:
            return name.place
    return event.place("weights")
