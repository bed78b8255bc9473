"""JSON of `throws`, version 1. Lengths in mm, angles in degrees, torque in N·m, pulses in µs."""

from __future__ import annotations

from typing import Any

from cli.render.shapes import Shape, basis_shape, place_shape
from cli.render.throw_words import finite, met_words, pair_words, use_words
from register.records.rods import Rod
from register.views.linkage import LinkageState, PairState, TorqueLine
from register.views.linkage_changes import Shift, WhatIf
from register.views.throws import RateLines, Sheet, SurfaceState, ThrowsView, WayLine
from register.workshop.drive import Point
from register.workshop.pairs import Step
from register.workshop.throws import Deflection, Difference


def throws_shape(view: ThrowsView) -> Shape:
    """All surfaces, or the one asked for."""
    return {
        "version": 1,
        "on": view.on,
        "complete": view.complete,
        "aircraft": view.aircraft,
        "surfaces": [_surface(state) for state in view.surfaces],
        "one_way_pairs": [_pair(pair) for pair in view.pairs],
        "problems": [
            {"place": place_shape(item.place), "code": item.code, "says": item.says}
            for item in view.problems
        ],
    }


def what_if_shape(view: WhatIf) -> Shape:
    """Before and after."""
    return {
        "version": 1,
        "aircraft": view.aircraft,
        "changed": [
            {"what": key, "now": finite(now), "then": finite(then)}
            for key, now, then in view.changed
        ],
        "rod_kept": view.rod_kept,
        "before": linkage_shape(view.before),
        "after": linkage_shape(view.after),
        "one_way_pair": None
        if view.pairs is None
        else {"before": _pair(view.pairs[0]), "after": _pair(view.pairs[1])},
    }


def shift_shape(view: Shift) -> Shape:
    """The rod's change and its turns."""
    return {
        "version": 1,
        "aircraft": view.aircraft,
        "linkage": view.state.linkage.name,
        "asked": view.asked,
        "neutral": finite(view.now),
        "wanted": finite(view.wanted),
        "change": finite(view.change),
        "ways": [
            {
                "turn": way.what,
                "per_turn": finite(way.per_turn),
                "turns": finite(way.turns),
                "refitted": finite(way.done),
                "change": finite(way.change),
                "still_off": finite(way.left),
                "neutral_then": finite(reached),
                "engaged_then": [finite(depth) for depth in way.engaged],
                "refused": way.refused,
                "unknown": way.unknown,
            }
            for way, reached in zip(view.ways, view.reached, strict=True)
        ],
    }


def _surface(state: SurfaceState) -> Shape:
    surface = state.surface
    return {
        "surface": surface.name,
        "title": surface.title,
        "listed": state.listed,
        "kind": surface.kind,
        "moves": "one-way" if surface.one_way else "both",
        "pair": surface.pair,
        "on": surface.on,
        "carried": list(state.carried),
        "chord": surface.chord,
        "span": surface.span,
        "stops": {item.way: item.value for item in surface.stops},
        "rates": [_rate(rate) for rate in state.rates],
        "readings": [
            {
                "name": item.name,
                "first": item.first.value,
                "first_on": item.first_on,
                "last": item.last.value,
                "last_on": item.last_on,
                "unit": item.last.unit,
            }
            for item in state.readings
        ],
        "linkages": [linkage_shape(linkage) for linkage in state.linkages],
    }


def _rate(rate: RateLines) -> Shape:
    wanted = rate.wanted
    return {
        "rate": rate.rate,
        "measure": rate.measure,
        "tolerance": wanted.tolerance if wanted else None,
        "basis": basis_shape(wanted.basis) if wanted else None,
        "measured": _sheet(rate.latest),
        "set_up": _sheet(rate.set_up),
        "other_side": _sheet(rate.other),
        "throws": [_way(line) for line in rate.lines],
    }


def _sheet(sheet: Sheet | None) -> Shape | None:
    if sheet is None:
        return None
    return {"when": sheet.event.moment.text, "record": sheet.event.path, "id": sheet.event.id}


def _way(line: WayLine) -> Shape:
    return {
        "way": line.way,
        "asked": _deflection(line.asked),
        "measured": _deflection(line.now),
        "off": _difference(line.off),
        "other_side": _difference(line.side),
        "drift": _difference(line.drift),
    }


def _deflection(found: Deflection | None) -> Shape | None:
    if found is None:
        return None
    return {
        name: finite(found.in_measure(name))
        for name in ("degrees", "chordal", "perpendicular", "arc")
    }


def _difference(found: Difference | None) -> Shape | None:
    if found is None:
        return None
    return {
        "amount": finite(found.amount),
        "measure": found.measure,
        "tolerance": finite(found.tolerance),
        "within": found.within,
    }


def linkage_shape(state: LinkageState) -> Shape:
    """One linkage with what was computed of it."""
    linkage = state.linkage
    shape: Shape = {
        "linkage": linkage.name,
        "surface": linkage.surface,
        "servo": linkage.servo,
        "shared_with": list(state.shared_with),
        "path": place_shape(linkage.place),
        "arm": {
            "radius": linkage.arm.radius,
            "hole": linkage.arm.hole,
            "side": linkage.arm.side,
            "angle": linkage.arm.angle,
            "at_pulse": linkage.arm.at_pulse,
        },
        "horn": {
            "radius": linkage.horn.radius,
            "offset": linkage.horn.offset,
            "angle": linkage.horn.angle,
            "side": linkage.horn.side,
        },
        "pivots": linkage.pivots,
        "rod": _rod(linkage.rod),
        "refused": state.refused,
        "cannot_tell": state.unsolved.says if state.unsolved else None,
    }
    return shape | (_computed(state) if state.drive is not None else {})


def _rod(rod: Rod) -> Shape:
    return {
        "pin_to_pin": rod.pin_to_pin,
        "cut": rod.cut,
        "least_engagement_diameters": rod.least_engagement,
        "ends": [
            {
                "thread": end.thread.name if end.thread else None,
                "hand": end.hand,
                "engagement": end.engagement,
                "fitting": end.kind,
                "fitting_length": end.fitting,
                "turn_step": end.turn_step,
            }
            for end in rod.ends
        ],
    }


def _computed(state: LinkageState) -> Shape:
    drive, rod, servo = state.drive, state.rod, state.linkage.servo
    met = state.sweep.met if state.sweep is not None else ()
    return {
        "neutral": None if drive is None else finite(drive.neutral_deflection),
        "assumptions": [] if drive is None else list(drive.assumptions),
        "travel": [_point(point) for point in (state.sweep.points if state.sweep else ())],
        "meets": [
            {
                "kind": item.kind,
                "pulse": finite(item.pulse, 1),
                "end_point": finite(item.end, 1),
                "deflection": finite(item.deflection),
                "servo": servo,
                "says": met_words(item, servo),
            }
            for item in met
        ],
        "throws": [
            {
                "way": use.way,
                "degrees": finite(use.degrees),
                **_point(use.point),
                "trouble": use_words(use) or None,
            }
            for use in state.uses
        ],
        "travel_used": finite(state.share),
        "mm_per_us": None
        if state.per_us is None
        else {"neutral": finite(state.per_us[0], 5), "coarsest": finite(state.per_us[1], 5)},
        "rod_computed": None
        if rod is None
        else {
            "pin_to_pin": finite(rod.pin_to_pin),
            "stated": rod.stated,
            "pin_to_pin_from_cut": finite(rod.from_cut),
            "cut_wanted": finite(rod.cut_wanted),
            "says": list(rod.says),
            "unknown": rod.unknown,
        },
        "speed": finite(state.speed),
        "torque": [_torque(line) for line in state.torque],
    }


def _point(point: Point | None) -> dict[str, Any]:
    if point is None:
        return {"pulse": None, "arm": None, "surface": None, "advantage": None}
    return {
        "pulse": finite(point.pulse, 1),
        "arm": finite(point.arm_turn),
        "surface": finite(point.deflection),
        "advantage": finite(point.advantage),
        "rod_to_arm": finite(point.rod_to_arm),
        "rod_to_horn": finite(point.rod_to_horn),
    }


def _torque(line: TorqueLine) -> Shape:
    needed = line.needed
    return {
        "way": line.way,
        "degrees": finite(line.degrees),
        "available": finite(line.available),
        "estimated": None if needed is None else finite(needed.newton_metres),
        "method": None if needed is None else needed.method,
        "assumptions": [] if needed is None else list(needed.says),
        "ratio": finite(line.ratio),
    }


def _pair(state: PairState) -> Shape:
    found = state.found
    shape: Shape = {
        "linkages": list(state.names),
        "servo": state.servo,
        "tolerance": state.tolerance_says,
        "says": list(pair_words(state)),
        "both": None if found is None else found.both,
    }
    if found is None:
        return shape
    return shape | {
        "as_built": [_step(step) for step in found.as_built],
        "set_flush": [_step(step) for step in found.flush],
        "rods_set_flush": [finite(rod) for rod in found.rods],
        "would_do": [
            {
                "linkage": cure.linkage,
                "change": cure.what,
                "now": finite(cure.now),
                "to": finite(cure.wanted),
                "rod": finite(cure.rod),
                "most_apart": finite(cure.worst),
            }
            for cure in found.cures
        ],
    }


def _step(step: Step) -> Shape:
    return {
        "pulse": finite(step.pulse, 1),
        "deflections": [finite(step.one), finite(step.other)],
        "apart": finite(step.apart),
    }
