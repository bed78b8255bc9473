"""After an entry: one line saying what was written, and what it changed."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from cli.render.folding import fold_line
from cli.render.sanitise import clean_text

if TYPE_CHECKING:
    from cli.session import Session
    from register.desk import Outcome
    from register.entry.clerk import Plan

#: Rows that go on stand so far in.
HANG = 4


def acknowledge(session: Session, plan: Plan) -> None:
    """Write the plan, then say so: never before it is on disk and in history.

    What was recorded is said before anything is computed from it, so that no
    interruption in between leaves a record that nobody was told of.
    """
    from register.desk import answer_changes, answer_unread, apply_plan

    before = session.open()
    outcome = apply_plan(before, plan)
    session.problems_seen = False
    session.open_items += len(plan.warnings)
    if session.as_json:
        _write_data(session, plan, outcome)
        return
    if outcome.adopted:
        session.out.write(f"finished an interrupted write: {len(outcome.adopted)} file(s)\n")
    for n, text in enumerate(plan.says):
        _say(session, "  " if n else "recorded: ", text)
    session.out.flush()
    for text in answer_changes(before, outcome.fleet, plan, session.today):
        _say(session, "  ", text)
    for text in plan.warnings:
        _say(session, "  note: ", text)
    if outcome.note:
        _say(session, "  ", outcome.note)
    unread = answer_unread(before, outcome.fleet, plan)
    if unread:
        names = ", ".join(unread[:2]) + (" …" if len(unread) > 2 else "")
        _say(session, "  note: ", f"what it changes is told without {names}: tailsheaf check")


def _say(session: Session, lead: str, text: str) -> None:
    for row in fold_line(lead, clean_text(text), session.width, HANG):
        session.out.write(row + "\n")


def _write_data(session: Session, plan: Plan, outcome: Outcome) -> None:
    from register.desk import answer_changes, answer_unread

    before = session.open()
    unread = answer_unread(before, outcome.fleet, plan)
    first = plan.written[0] if plan.written else None
    data = {
        "version": 1,
        "id": first.id if first else None,
        "path": first.path if first else None,
        "written": [{"id": item.id, "path": item.path, "kind": item.kind} for item in plan.written],
        "says": list(plan.says),
        "changed": list(answer_changes(before, outcome.fleet, plan, session.today)),
        "warnings": list(plan.warnings),
        "note": outcome.note,
        "complete": not unread,
        "unread": list(unread),
    }
    session.out.write(json.dumps(data, indent=2) + "\n")
