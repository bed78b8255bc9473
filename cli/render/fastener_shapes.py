"""JSON shapes of `fasteners`, version 1. Lengths mm, torques N·m, loads N, stresses MPa."""

from __future__ import annotations

from decimal import Decimal

from cli.render.shapes import Shape, basis_shape, place_shape
from register.records.lines import Line
from register.records.stock import StockItem
from register.records.threads import Thread
from register.trouble import Problem
from register.views.fasteners import (
    FastenersView,
    FleetFasteners,
    JointLine,
    JointView,
    LotLine,
    ThreadView,
)
from register.workshop.fastener_sizes import Figure
from register.workshop.fasteners import broken_of
from register.workshop.threads import Geometry, Holes
from register.workshop.torque import CAUTION, REOPENED, NoTorque, Torque


def fleet_shape(view: FleetFasteners) -> Shape:
    """All aircraft in short."""
    return {
        "version": 1,
        "on": view.on,
        "complete": view.complete,
        "aircraft": [
            {
                "aircraft": row.aircraft,
                "joints": row.joints,
                "fasteners": row.fasteners,
                "at_least": row.at_least,
                "broken": row.broken,
                "departures": row.departures,
            }
            for row in view.rows
        ],
    }


def fasteners_shape(view: FastenersView) -> Shape:
    """One aircraft."""
    return {
        "version": 1,
        "on": view.on,
        "complete": view.complete and not view.problems,
        "aircraft": view.aircraft,
        "joints": [_joint(line) for line in view.joints],
        "tools": [{"tool": tool.name, "joints": list(tool.joints)} for tool in view.tools],
        "thread_locks": [{"lock": lock, "joints": list(names)} for lock, names in view.locks],
        "spares": [
            {
                "what": spare.text,
                "item": spare.item,
                "fitted": spare.fitted,
                "carry": spare.carry,
                "stock": stock_shape(spare.stock) if spare.stock else None,
            }
            for spare in view.spares
        ],
        "not_standard": [{"joint": joint, "says": says} for joint, says in view.oddities],
        "lines": [_line(line) for line in view.lines],
        "colour_clashes": [_problem(problem) for problem in view.clashes],
        "problems": [_problem(problem) for problem in view.problems],
        "caution": CAUTION,
    }


def joint_shape(view: JointView) -> Shape:
    """One joint with its ways to mend."""
    return {
        "version": 1,
        "on": view.on,
        "complete": view.complete and not view.problems,
        "aircraft": view.aircraft,
        **_joint(view.line),
        "rest": view.rest,
        "ways": [
            {
                "mending": way.name,
                "says": way.says,
                "needs": [
                    {
                        "what": need.what,
                        "source": need.source or None,
                        "item": need.item,
                        "at_hand": need.at_hand,
                    }
                    for need in way.needs
                ],
            }
            for way in view.ways
        ],
        "problems": [_problem(problem) for problem in view.problems],
        "caution": CAUTION,
    }


def _joint(line: JointLine) -> Shape:
    fitted, joint = line.fitted, line.fitted.joint
    return {
        "joint": joint.name,
        "title": joint.title,
        "zone": joint.zone,
        "count": joint.count,
        "broken": fitted.broken,
        "holding": fitted.holding,
        "least_holding": joint.least_holding,
        "too_few": fitted.is_too_few,
        "material": joint.material,
        "into": joint.into,
        "thread_lock": joint.thread_lock,
        "left_hand": joint.left_hand,
        "holds": list(joint.holds),
        "basis": basis_shape(joint.basis),
        "record": place_shape(joint.place),
        "stated_torque": None
        if joint.torque is None
        else {"newton_metres": joint.torque.value, "basis": basis_shape(joint.torque.basis)},
        "fitted": [_lot(lot) for lot in line.lots],
        "snags": [
            {
                "id": state.id,
                "text": state.text,
                "severity": state.severity,
                "broken": broken_of(state),
                "rest": state.rest,
            }
            for state in fitted.snags
        ],
    }


def _lot(line: LotLine) -> Shape:
    lot = line.lot
    return {
        "count": lot.count,
        "thread": lot.thread.name if lot.thread else None,
        "length": lot.length,
        "head": lot.head,
        "since": None
        if lot.since is None
        else {"id": lot.since.id, "when": lot.since.moment.text, "record": lot.since.path},
        "key": line.key,
        "key_figure": _figure(line.key_figure),
        "item": line.item,
        "stock": stock_shape(line.stock) if line.stock else None,
        "geometry": _geometry(line.geometry),
        "holes": _holes(line.holes),
        "torque": torque_shape(line.torque),
    }


def stock_shape(item: StockItem) -> Shape:
    """One thing on the shelf; where it lies is private and not told."""
    return {
        "item": item.name,
        "title": item.title,
        "count": item.count,
        "wanted": item.wanted,
        "unit": item.unit,
        "state": item.state,
        "short_by": item.short_by,
    }


def torque_shape(found: Torque | NoTorque) -> Shape:
    """A computed torque with all it rests on, or why there is none."""
    if isinstance(found, NoTorque):
        return {"newton_metres": None, "says": found.says}
    return {
        "newton_metres": _round(found.newton_metres),
        "formula": "T = K*F*d",
        "k": found.factor.k,
        "k_of": found.factor.says,
        "k_source": found.factor.source,
        "preload": _round(found.preload),
        "part_of_proof": REOPENED,
        "proof_load": _round(found.proof_load),
        "proof_stress": found.strength.mpa,
        "proof_stress_source": found.strength.source,
        "stress_area": _round(found.area),
        "assumes": list(found.assumes),
        "ask_maker": found.ask_maker,
    }


def thread_shape(view: ThreadView) -> Shape:
    """One thread looked up."""
    wish = view.wish
    return {
        "version": 1,
        **_thread(wish.thread),
        "head": wish.head,
        "keys": [
            {"head": head, "tool": tool, **(_figure(figure) or {})}
            for head, tool, figure in view.keys
        ],
        "nut_and_washer": [{"what": what, **(_figure(f) or {})} for what, f in view.nut],
        "geometry": _geometry(view.geometry),
        "holes": _holes(view.holes),
        "torque": torque_shape(view.torque),
        "published_torque": _figure(view.published),
        "torque_by_friction": None if view.by_friction is None else _round(view.by_friction),
        "wrench_setting": None if view.setting is None else _round(view.setting),
        "caution": CAUTION,
    }


def _thread(thread: Thread) -> Shape:
    return {
        "thread": thread.name,
        "system": thread.system,
        "diameter": thread.diameter,
        "pitch": None if thread.pitch is None else _round(float(thread.pitch)),
        "threads_per_inch": thread.tpi,
        "coarse": thread.is_coarse,
    }


def _geometry(found: Geometry | None) -> Shape | None:
    if found is None:
        return None
    return {
        "pitch_diameter": _round(found.pitch_diameter),
        "core_diameter": _round(found.core_diameter),
        "bore_diameter": _round(found.bore_diameter),
        "stress_area": _round(found.stress_area),
        "source": found.source,
        "stress_area_source": found.area_source,
    }


def _holes(found: Holes | None) -> Shape | None:
    if found is None:
        return None
    return {
        "tapping": _figure(found.tapping),
        "clearance": {fit: _figure(figure) for fit, figure in found.clearance.items()},
    }


def _figure(figure: Figure | None) -> Shape | None:
    if figure is None:
        return None
    return {
        "value": figure.value,
        "unit": figure.unit or None,
        "source": figure.source,
        "status": figure.status,
    }


def _line(line: Line) -> Shape:
    return {
        "line": line.name,
        "medium": line.medium,
        "colour": line.colour,
        "function": line.function,
        "from": line.begins,
        "to": line.ends,
        "route": list(line.route),
        "bundle": line.bundle,
        "protection": line.protection,
        "clear_of": line.clear_of,
        "record": place_shape(line.place),
    }


def _problem(problem: Problem) -> Shape:
    return {
        "place": place_shape(problem.place),
        "code": problem.code,
        "says": problem.says,
        "mend": problem.mend,
    }


def _round(value: float) -> Decimal:
    """Four figures: what a table would print, and no more."""
    return Decimal(f"{value:.4g}")
