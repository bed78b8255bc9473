"""The JSON of `balance`, version 1."""

from __future__ import annotations

from fractions import Fraction

from cli.render.shapes import Shape, basis_shape, place_shape
from register.views.balance import BalanceView, ClassLine, Side, StateLine
from register.workshop.balance import TRIAL, BallastNeed, BallastTrial, rounded


def _figure(value: Fraction | None, places: int = 3) -> object:
    return None if value is None else rounded(value, places)


def balance_shape(view: BalanceView) -> Shape:
    """Masses in kilograms, arms and sides in millimetres; null where it cannot be told."""
    layout = view.layout
    weighing = view.weighing
    return {
        "version": 1,
        "on": view.on,
        "complete": view.complete,
        "aircraft": view.aircraft,
        "datum": layout.datum if layout else None,
        "weighed": weighing.moment.text if weighing else None,
        "record": weighing.path if weighing else None,
        "tanks": getattr(weighing.body, "tanks", None) if weighing else None,
        "points": _points_shape(view),
        "faults": _faults_shape(view),
        "looks": [_side_shape(side) for side in view.sides],
        "tried": list(view.tried),
        "limits": _limits_shape(view),
        "changed": _drift_shape(view),
        "since_weighing": list(view.since),
        "ballast": [_ballast_shape(need) for need in view.ballast],
        "ballast_tried": [_trial_shape(trial) for trial in view.trials],
        "classes": [_class_shape(view, line) for line in view.classes],
        "cautions": list(view.cautions),
    }


def _side_shape(side: Side) -> Shape:
    return {"look": side.name, "states": [_state_shape(line) for line in side.lines]}


def _state_shape(line: StateLine) -> Shape:
    state = line.state
    return {
        "tanks": state.name,
        "mass": _figure(state.mass),
        "mass_low": _figure(state.low),
        "mass_high": _figure(state.high),
        "cg": _figure(state.cg),
        "percent_chord": _figure(state.percent),
        "side": _figure(state.side),
        "side_out": line.side_out,
        "against_limits": line.verdict.state,
        "by": _figure(line.verdict.by),
        "why_not": state.why_not or None,
    }


def _class_shape(view: BalanceView, line: ClassLine) -> Shape:
    return {
        "limit": line.limit.limit,
        "kind": line.limit.kind,
        "what": line.limit.what,
        "basis": basis_shape(line.limit.basis),
        "crossed": line.crossed,
        "looks": [
            {
                "look": side.name,
                "state": verdict.state,
                "low": _figure(verdict.low),
                "high": _figure(verdict.high),
                "by": _figure(verdict.by),
            }
            for side, verdict in zip(view.sides, line.verdicts, strict=True)
        ],
    }


def _points_shape(view: BalanceView) -> list[Shape]:
    return [
        {
            "point": line.point,
            "reading": line.reading,
            "tare": line.tare,
            "net": line.net,
            "arm": line.arm,
            "side": line.track,
        }
        for line in view.points
    ]


def _faults_shape(view: BalanceView) -> list[Shape]:
    return [
        {"point": f.point, "says": f.says, "mend": f.mend, "impossible": f.is_impossible}
        for f in view.faults
    ]


def _limits_shape(view: BalanceView) -> Shape | None:
    limits = view.layout.limits if view.layout is not None else None
    if limits is None:
        return None
    return {
        "forward": limits.forward,
        "aft": limits.aft,
        "tanks": limits.tanks,
        "basis": basis_shape(limits.basis),
        "place": place_shape(limits.place),
    }


def _drift_shape(view: BalanceView) -> Shape | None:
    drift = view.drift
    if drift is None:
        return None
    return {
        "since": drift.since,
        "state": drift.state,
        "mass": _figure(drift.mass),
        "cg": _figure(drift.cg),
        "side": _figure(drift.side),
    }


def _ballast_shape(need: BallastNeed) -> Shape:
    return {
        "state": need.state,
        "place": need.place,
        "arm": _figure(need.arm),
        "mass": _figure(need.mass),
        "limit": _figure(need.limit),
        "to": need.side,
        "all_inside": need.others_inside,
    }


def _trial_shape(trial: BallastTrial) -> Shape:
    return {
        "state": trial.state,
        "place": trial.place,
        "arm": _figure(trial.arm),
        "mass": _figure(TRIAL),
        "cg": _figure(trial.cg),
        "moved": _figure(trial.moved),
        "against_limits": trial.verdict,
    }
