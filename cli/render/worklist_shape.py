"""The JSON of `worklist`."""

from __future__ import annotations

from cli.render.shapes import Shape, basis_shape, place_shape
from register.views.worklist import OPENING_MINUTES, StepLine, WorklistView
from register.views.worklist_works import WorkLine


def worklist_shape(view: WorklistView, written: str | None) -> Shape:
    """The whole list, version 1."""
    return {
        "version": 1,
        "on": view.on,
        "complete": view.complete and not view.problems and not view.graph.knots,
        "unread": list(view.unread),
        "aircraft": view.aircraft,
        "title": view.title,
        "stage": view.stage,
        "until": view.asked.until,
        "start": view.start,
        "wanted_at": view.wanted_at,
        "latest_evening": view.latest,
        "fly_at": view.fly_at,
        "untold": list(view.untold),
        "decided_by": [step.number for step in view.decides],
        "assumed": {
            "evening": view.asked.evening.text,
            "each_minutes": view.asked.each,
            "opening_minutes": OPENING_MINUTES,
            "planned_flights": view.asked.planned,
            "not_fitted_yet": list(view.graph.absent),
        },
        "labour": {
            "stated_minutes": view.labour.stated,
            "reckoned_minutes": view.labour.reckoned,
            "steps_without": view.labour.without,
        },
        "steps": [_step(step, view) for step in view.steps],
        "before": [
            {"first": arrow.before, "then": arrow.after, "cure_minutes": arrow.lag}
            for arrow in view.graph.arrows
        ],
        **_wrong(view),
        "curing": [
            {"what": cure.what, "record": cure.event.path, "full_at": cure.full_at}
            for cure, _ in view.curing
        ],
        **_needs(view),
        "place_not_stated": [
            {"id": line.id, "text": line.work.text, "taken_as": line.work.at, "mend": line.mend}
            for line in view.unplaced
        ],
        "day_checks": view.day_checks,
        "never_done": view.never_done,
        "soon": view.soon,
        "only_on_the_shelf": [
            {"task": item.task.id, "subject": item.subject[1], "text": item.task.title}
            for item in view.shelf
        ],
        "page": written,
    }  # fmt: skip


def _wrong(view: WorklistView) -> Shape:
    """What cannot be had, and what could not be read."""
    return {
        "knots": [
            {
                "ends": [{"says": says, "place": place_shape(place)} for says, place in knot.ends],
                "left_out": knot.left_out,
                "place": place_shape(knot.place),
            }
            for knot in view.graph.knots
        ],
        "problems": [
            {"code": problem.code, "says": problem.says, "place": place_shape(problem.place),
             "mend": problem.mend}
            for problem in view.problems
        ],
    }  # fmt: skip


def _needs(view: WorklistView) -> Shape:
    needs = view.needs
    return {
        "tools": [{"tool": word, "for": list(what)} for word, what in needs.tools],
        "fasteners": [
            {
                "joint": need.joint,
                "opening": need.opening,
                "count": need.count,
                "fastener": need.text,
                "thread_lock": need.lock,
                "torque_nm": need.torque.value if need.torque is not None else None,
                "torque_basis": basis_shape(need.torque.basis) if need.torque is not None else None,
            }
            for need in needs.joints
        ],
        "fresh_fasteners": [
            {
                "joint": fresh.joint,
                "count": fresh.count,
                "fastener": fresh.text,
                "item": fresh.item,
                "on_shelf": fresh.stock.count if fresh.stock is not None else None,
            }
            for fresh in needs.fresh
        ],
        "materials": [{"material": word, "for": list(what)} for word, what in needs.materials],
    }


def _step(step: StepLine, view: WorklistView) -> Shape:
    again = step.again
    return {
        "number": step.number,
        "step": step.node.id,
        "action": step.node.action,
        "title": step.title,
        "begins": step.slot.begins,
        "ends": step.slot.ends,
        "minutes": step.minutes,
        "minutes_stated": not step.is_assumed,
        "opening": step.access.name if step.access is not None else None,
        "checks": list(step.access.checks)
        if step.access is not None and step.node.action == "on"
        else [],
        "work": _work(step.line, view) if step.line is not None else None,
        "disturbed_by": [*again.openings, *again.works] if again is not None else [],
        "traps": [{"notice": trap.name, "title": trap.title} for trap in step.traps],
        "handling_at": step.handling_at,
        "full_at": step.full_at,
    }


def _work(line: WorkLine, view: WorklistView) -> Shape:
    way = view.graph.ways[line.work.key]
    return {
        "kind": line.work.kind,
        "id": line.id,
        "text": line.work.text,
        "subject": line.subject,
        "state": line.state,
        "due": line.due,
        "grounds": line.grounds,
        "where": line.work.where,
        "at": line.work.at,
        "told_by_words": line.by_words,
        "off": list(way.off),
        "other_ways": list(way.others),
        "record": place_shape(line.place),
    }
