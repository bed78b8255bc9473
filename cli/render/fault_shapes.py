"""The JSON of `faults`, version 1."""

from __future__ import annotations

from collections.abc import Sequence

from cli.render.shapes import Shape
from register.faults.concluding import BACK, HELD, OPEN, YOUNG
from register.faults.grouping import PER
from register.faults.results import Evidence, Figure
from register.faults.service import Fault
from register.views.fault_figures import Compared, CompareView, GroupFigures, KitCurve
from register.views.faults import CameBack, FaultLine, FaultsView, Shared


def faults_shape(view: FaultsView, figures: Sequence[GroupFigures], *, with_figures: bool) -> Shape:
    """The whole answer."""
    told = {id(one.line): one for one in figures}
    rules = view.rules
    return {
        "version": 1,
        "on": view.on,
        "complete": view.complete,
        "unread": list(view.unread),
        "subject": view.asked.subject[1] if view.asked.subject else None,
        "by": list(view.asked.by),
        "since": view.asked.since,
        "system": view.asked.chapter,
        "mode": view.asked.mode,
        "total": view.total,
        "not_in_service": view.others,
        "tested": view.tested,
        "rules": {
            "repeat_reports": rules.repeat_reports,
            "repeat_flights": rules.repeat_flights,
            "refix_flights": rules.refix_flights,
            "refix_days": rules.refix_days,
            "basis": rules.basis,
        },
        "groups": [
            _group_shape(view, line)
            | (_figures_shape(line, told.get(id(line))) if with_figures else {})
            for line in view.lines
        ],
        "came_back": [_back_shape(one) for one in view.came_back],
        "shared": [_shared_shape(one) for one in view.shared],
    }


def _group_shape(view: FaultsView, line: FaultLine) -> Shape:
    group = line.group
    return {
        "label": group.label,
        "key": dict(zip(view.asked.by, group.key, strict=True)),
        "count": line.count,
        "occasions": line.group.occasions,
        "not_in_service": group.others,
        "share": line.share,
        "cumulative": line.cumulative,
        "exposure": {
            "counter": group.counter,
            "amount": group.exposure,
            "at_least": group.is_vague,
            "per": PER[group.counter][0],
            "why": group.why or None,
        },
        "rate": figure_shape(line.conclusion.rate),
        "last": [_fault_shape(fault) for fault in line.last],
        "open": line.open,
        "fixes": {
            "held": line.went(HELD),
            "back": line.went(BACK),
            "young": line.went(YOUNG),
            "may_not_have_held": line.went(OPEN),
            "records": [fix.event.path for fix in line.fixes],
        },
        "seasons": [
            {"season": year, "count": count, "amount": used} for year, count, used in group.seasons
        ],
        "verdict": line.conclusion.verdict,
        "says": line.conclusion.says,
    }


def _fault_shape(fault: Fault) -> Shape:
    return {
        "id": fault.state.id,
        "when": fault.day,
        "aircraft": fault.aircraft,
        "position": fault.position,
        "text": fault.state.text,
        "open": fault.state.is_open,
        "record": fault.state.event.path,
    }


def _figures_shape(line: FaultLine, figures: GroupFigures | None) -> Shape:
    conclusion = line.conclusion
    growth = figures.growth if figures is not None else None
    likeness = figures.likeness if figures is not None else None
    return {
        "time_between": figure_shape(conclusion.between),
        "trend": {
            "laplace": evidence_shape(conclusion.trend.laplace),
            "handbook": evidence_shape(conclusion.trend.handbook),
        },
        "quiet": conclusion.quiet,
        "growth": None
        if growth is None
        else {"power": figure_shape(growth.power), "corrected": growth.corrected},
        "likeness": None
        if likeness is None or figures is None
        else {
            "aircraft": list(figures.compared),
            "ratio_test": evidence_shape(likeness.ratio_test),
            "dispersion": evidence_shape(likeness.dispersion),
            "oddest": None
            if likeness.oddest is None
            else {
                "aircraft": figures.compared[likeness.oddest.unit],
                "ratio": figure_shape(likeness.oddest.against_rest.ratio),
                "p": likeness.oddest.p,
            },
            "says": figures.likeness_says,
        },
        "cumulative_means": [
            _curve_shape(curve) for curve in (figures.curves if figures is not None else ())
        ],
    }


def _curve_shape(one: KitCurve) -> Shape:
    return {
        "kit": one.kit,
        "aircraft": list(one.aircraft),
        "method": one.curve.method,
        "convention": one.curve.convention,
        "too_few": one.curve.too_few,
        "steps": [
            {
                "at": step.at,
                "at_risk": step.at_risk,
                "faults": step.events,
                "mean": step.value,
                "low": step.low,
                "high": step.high,
            }
            for step in one.curve.steps
        ],
    }


def _back_shape(one: CameBack) -> Shape:
    return {
        "snag": one.state.id,
        "aircraft": one.state.found_on,
        "text": one.state.text,
        "when": one.state.first_day,
        "fix": one.fix.path,
        "action": getattr(one.fix.body, "action", ""),
        "says": one.state.back_words,
        "sure": not one.state.unheld_open,
    }


def _shared_shape(one: Shared) -> Shape:
    return {
        "kit": one.kit,
        "system": one.system,
        "mode": one.mode,
        "aircraft": list(one.aircraft),
        "of": one.of,
        "count": one.count,
        "raise_from": one.raise_from,
        "raised": one.raised,
    }


def figure_shape(figure: Figure) -> Shape:
    """An estimate with its interval and method."""
    return {
        "value": figure.value,
        "low": figure.low,
        "high": figure.high,
        "level": figure.level,
        "method": figure.method,
        "convention": figure.convention,
        "events": figure.behind.events,
        "too_few": figure.too_few,
    }


def evidence_shape(test: Evidence) -> Shape:
    """A test with its chance and method."""
    return {
        "statistic": test.statistic,
        "p": test.p,
        "direction": test.direction,
        "method": test.method,
        "convention": test.convention,
        "events": test.behind.events,
        "too_few": test.too_few,
    }


def compare_shape(view: CompareView) -> Shape:
    """Two aircraft or two seasons."""
    return {
        "version": 1,
        "compared": list(view.names),
        "kind": view.kind,
        "rows": [_row_shape(row) for row in view.rows],
        "says": view.says,
    }


def _row_shape(row: Compared) -> Shape:
    result = row.result
    return {
        "label": row.label,
        "counter": row.counter,
        "first": {"count": row.first[0], "amount": row.first[1]},
        "second": {"count": row.second[0], "amount": row.second[1]},
        "ratio": None if result is None else figure_shape(result.ratio),
        "conditional": None if result is None else evidence_shape(result.conditional),
        "unconditional": None if result is None else evidence_shape(result.unconditional),
    }
