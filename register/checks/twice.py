"""Decisions out of their order: a layup begun twice, a fix dated before what it fixed."""

from __future__ import annotations

from collections.abc import Iterator

from register.checks.survey import Survey, warn
from register.records.bodies import Fix, Layup
from register.records.events import Event
from register.trouble import Problem


def check_layups_alternate(survey: Survey) -> Iterator[Problem]:
    """Two layups of one thing begun after each other, or ended after each other."""
    ledger = survey.ledger
    before: dict[object, Event] = {}
    for event in ledger.events:
        body = event.body
        subject = ledger.subject_of(body.subject) if isinstance(body, Layup) else None
        if not isinstance(body, Layup) or subject is None:
            continue
        first = before.get(subject)
        before[subject] = event
        if first is None or not isinstance(first.body, Layup) or first.body.state != body.state:
            continue
        one, two = survey.short(first), survey.short(event)
        began = body.state == "begin"
        other, when = (
            ("ended", f"--end --at {first.moment.day.isoformat()}")
            if began
            else ("began", f"--at {event.moment.day.isoformat()}")
        )
        yield warn(
            event.place("state"),
            "layup-twice",
            f"a layup of {subject[1]} {'begins' if began else 'ends'} here and in {one}, of "
            f"{first.moment.day.isoformat()}; that it {other} in between is not recorded",
            f'tailsheaf withdraw {two} --reason "entered twice"'
            f"   or, if it {other}:  tailsheaf layup {subject[1]} {when}",
            (first.place("state"),),
        )


def check_fixes_follow(survey: Survey) -> Iterator[Problem]:
    """A fix dated before the snag that it fixes was found."""
    originals = survey.ledger.orders.events
    for event in survey.ledger.events:
        if not isinstance(event.body, Fix):
            continue
        for id_ in event.body.snags:
            snag = originals.get(id_)
            if snag is None or snag.moment.day <= event.moment.day:
                continue
            found, fixed = snag.moment.day.isoformat(), event.moment.day.isoformat()
            yield warn(
                event.place("when"),
                "fix-before-snag",
                f"this fix of {fixed} is of a snag found on {found}, after it",
                f"tailsheaf amend {survey.short(event)} when={found}"
                f"   or  tailsheaf amend {survey.short(snag)} when={fixed}",
                (snag.place("when"),),
            )
