"""Joints and the shelf: names that nothing has, and joints held by fewer than must."""

from __future__ import annotations

from collections.abc import Iterator

from register.checks.survey import Survey, name_known, warn
from register.findings.snags import fold_snags
from register.records.as_built import read_section
from register.records.bodies import Snag
from register.records.events import Event
from register.records.stock import read_stock
from register.records.workshop_bodies import Modification
from register.trouble import Problem
from register.workshop.fasteners import fit_joints


def check_joints_known(survey: Survey) -> Iterator[Problem]:
    """A snag or departure names a joint that its aircraft has."""
    joints: dict[str, dict[str, object]] = {}
    for event, aircraft, word, key in _named(survey):
        if aircraft not in joints:
            joints[aircraft] = read_section(survey.ledger.records, aircraft, "joints")[0]
        known = joints[aircraft]
        if word not in known:
            make = f"write it at  joints:  in aircraft/{aircraft}/aircraft.yaml or its kit"
            yield warn(
                event.place(key),
                "joint-unknown",
                f"joint: {aircraft} has no joint {word}, so this counts for none",
                name_known(word, known, "joint", make),
            )


def _named(survey: Survey) -> Iterator[tuple[Event, str, str, str]]:
    for event in survey.ledger.events:
        body = event.body
        if isinstance(body, Snag):
            word, key = body.joint, "joint"
        elif isinstance(body, Modification) and body.fastener is not None:
            word, key = body.fastener.joint, "fastener"
        else:
            continue
        aircraft = survey.ledger.names.aircraft_name(body.aircraft)
        if word is not None and aircraft is not None:
            yield event, aircraft, word.strip().lower(), key


def check_joints_hold(survey: Survey) -> Iterator[Problem]:
    """Where fewer hold than a joint asks for, one of its snags is rated grounding, or no snag."""
    snags = [state for state in fold_snags(survey.ledger).values() if state.is_open]
    jointed = [
        state
        for state in snags
        if isinstance(state.event.body, Snag) and state.event.body.joint is not None
    ]
    for aircraft in sorted({host for state in jointed for host in state.hosts}):
        for name, fitted in fit_joints(survey.ledger, aircraft)[0].items():
            grave = ("grounding", "not-yet-rated")
            if not fitted.is_too_few or any(state.severity in grave for state in fitted.snags):
                continue
            state = fitted.snags[0]
            yield warn(
                state.event.place("joint"),
                "joint-too-few",
                f"{fitted.holding} of {fitted.joint.count} of {name} hold and "
                f"{fitted.joint.least_holding} must, but no snag on it is rated grounding",
                f"tailsheaf snag {survey.short(state.event)} -s grounding",
                (fitted.joint.place,),
            )


def check_shelf_read(survey: Survey) -> Iterator[Problem]:
    """What is wrong in stock.yaml."""
    yield from read_stock(survey.ledger.records.stock)[1]
