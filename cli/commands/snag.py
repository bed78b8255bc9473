"""snag: note something found wrong, rate it, or list what is open."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from cli.completion import complete_subject
from cli.options import After, At, By, Note, Source, stamp_of
from cli.session import Session, current_session
from cli.snag_options import (
    Broken,
    Circumstance,
    Finish,
    Found,
    JointName,
    Mechanism,
    Mode,
    Position,
    Rest,
    Severity,
    Size,
    Spot,
    System,
    WillCure,
    Zone,
)
from register.trouble import RegisterError

if TYPE_CHECKING:
    from register.entry.clerk import Clerk, Plan, Stamp
    from register.entry.snags import SnagWords

EXAMPLE = "Example: tailsheaf snag heron chip on left wing -s cosmetic"


def command(
    subject: Annotated[
        str | None,
        typer.Argument(
            help="Aircraft or part; or the id of a snag to rate it.",
            autocompletion=complete_subject,
        ),
    ] = None,
    words: Annotated[
        list[str] | None,
        typer.Argument(help="What was found; without words, open snags are listed."),
    ] = None,
    severity: Severity = None,
    position: Position = None,
    zone: Zone = None,
    place: Spot = None,
    size: Size = None,
    finish: Finish = None,
    found: Found = None,
    system: System = None,
    joint: JointName = None,
    broken: Broken = None,
    rest: Rest = None,
    cure: WillCure = None,
    mode: Mode = None,
    mechanism: Mechanism = None,
    circumstance: Circumstance = None,
    every: Annotated[bool, typer.Option("--all", help="In a list, closed snags too.")] = False,
    at: At = None,
    after: After = None,
    by: By = None,
    note: Note = None,
    source: Source = None,
) -> None:
    """Note something found wrong, in one line and with no question asked."""
    from register.entry.snags import SnagWords

    session = current_session()
    fault = (mode, mechanism, circumstance)
    if not words and not any((severity, rest, system, *fault)):
        _list(session, subject, every=every)
        return
    where = (severity, position, zone, found, system)
    details = SnagWords(words or (), *where, joint, broken, rest, place, size, finish, cure, *fault)
    _record(session, subject, details, stamp_of(at, after, by, note, source))


def _record(session: Session, subject: str | None, details: SnagWords, stamp: Stamp) -> None:
    """A new snag; without words more of one on record: its rating, its words, its rest."""
    from register.entry.snags import plan_snag
    from register.entry.subjects import is_subject

    if subject is None:
        raise RegisterError(
            "which aircraft, part or snag?", mend="tailsheaf snag heron WORDS…", code="usage"
        )

    def make(clerk: Clerk) -> Plan:
        if details.words or is_subject(clerk, subject):
            return plan_snag(clerk, subject, details, stamp)
        return _say_more(clerk, subject, details, stamp)

    session.record(session.plan((subject, stamp.after), make))


def _say_more(clerk: Clerk, snag: str, details: SnagWords, stamp: Stamp) -> Plan:
    """A rating, the words for the fault, or where the rest of a screw was found."""
    from register.entry.fault_entry import FaultWords, plan_fault
    from register.entry.snags import plan_severity

    fault = FaultWords(details.mode, details.mechanism, details.circumstance, details.system)
    plans = []
    if details.rest is not None:
        from register.entry.screws import plan_rest

        plans.append(plan_rest(clerk, snag, details.rest, stamp, details.severity))
    elif details.severity is not None:
        plans.append(plan_severity(clerk, snag, details.severity, stamp))
    if fault.said:
        plans.append(plan_fault(clerk, snag, fault, stamp))
    plan = plans[0]
    for other in plans[1:]:
        plan = plan.plus(other)
    return plan


def _list(session: Session, subject: str | None, *, every: bool) -> None:
    from cli.render.snags import render_snags
    from register.desk import answer_snags

    view = answer_snags(session.open(), session.on, subject, every=every)
    render_snags(session, view)
