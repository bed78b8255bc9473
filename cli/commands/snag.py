"""snag: note something found wrong, rate it, or list what is open."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from cli.completion import complete_subject
from cli.options import After, At, By, Note, Source, stamp_of
from cli.session import Session, current_session
from register.trouble import RegisterError

if TYPE_CHECKING:
    from register.entry.clerk import Clerk, Plan

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
    severity: Annotated[
        str | None,
        typer.Option(
            "--severity", "-s", help="g(rounding), l(imiting), d(eferrable), m(onitor), c(osmetic)."
        ),
    ] = None,
    position: Annotated[
        str | None, typer.Option("--position", "-p", help="Where on the aircraft.")
    ] = None,
    zone: Annotated[str | None, typer.Option("--zone", help="Part of the airframe.")] = None,
    place: Annotated[
        str | None,
        typer.Option(
            "--place",
            help='In the zone: "120 from leading edge, 340 from root", or just 120,340 (mm).',
        ),
    ] = None,
    size: Annotated[str | None, typer.Option("--size", metavar="MM", help="How large.")] = None,
    finish: Annotated[
        str | None, typer.Option("--finish", help='Its paint: "light grey, two-pack".')
    ] = None,
    found: Annotated[
        str | None, typer.Option("--found", help="When it came to light: after-flight, workshop, …")
    ] = None,
    system: Annotated[str | None, typer.Option("--system", help="brakes, radio, air, …")] = None,
    joint: Annotated[
        str | None, typer.Option("--joint", help="The joint whose fasteners failed.")
    ] = None,
    broken: Annotated[
        str | None, typer.Option("--broken", metavar="N", help="How many of them.")
    ] = None,
    rest: Annotated[
        str | None,
        typer.Option(
            "--rest", help="Where the rest of it is: out, in-hole, loose-inside (grounds)."
        ),
    ] = None,
    every: Annotated[bool, typer.Option("--all", help="In a list, closed snags too.")] = False,
    at: At = None,
    after: After = None,
    by: By = None,
    note: Note = None,
    source: Source = None,
) -> None:
    """Note something found wrong, in one line and with no question asked."""
    from register.entry.snags import SnagWords, plan_severity, plan_snag
    from register.entry.subjects import is_subject

    session = current_session()
    if not words and severity is None and rest is None:
        _list(session, subject, every=every)
        return
    if subject is None:
        raise RegisterError(
            "which aircraft, part or snag?", mend="tailsheaf snag heron WORDS…", code="usage"
        )
    stamp = stamp_of(at, after, by, note, source)
    details = SnagWords(
        words or (),
        severity,
        position,
        zone,
        found,
        system,
        joint,
        broken,
        rest,
        place,
        size,
        finish,
    )

    def make(clerk: Clerk) -> Plan:
        if not words and not is_subject(clerk, subject):
            if rest is not None:
                from register.entry.screws import plan_rest

                return plan_rest(clerk, subject, rest, stamp, severity)
            return plan_severity(clerk, subject, severity or "", stamp)
        return plan_snag(clerk, subject, details, stamp)

    session.record(session.plan((subject, after), make))


def _list(session: Session, subject: str | None, *, every: bool) -> None:
    from cli.render.snags import render_snags
    from register.desk import answer_snags

    view = answer_snags(session.open(), session.on, subject, every=every)
    render_snags(session, view)
