"""damage: marks on an aircraft by zone, drawn from above and from the left.

With `--json` it answers, version 1:

    {"version": 1, "on", "complete", "aircraft", "title", "closed", "faults": [text],
     "has_outline", "colours": [{"name", "paint", "code"}], "drawn": "FILE" or null,
     "marks": [{"number", "snag", "text", "severity", "open", "zone", "zone_number",
                "zone_title", "place": {"along", "along_from", "across", "across_from"} or null,
                "drawn_at": {"view": "plan" or "side", "x", "v", "exact"} or null, "remark",
                "size_mm", "sizes": [{"day", "mm", "record"}], "growth_mm", "finish",
                "touch_up": {"paint", "from", "sure"} or null, "first_day", "age_days",
                "flights_since": number or {"low", "high"}, "files": [path], "record"}]}
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from cli.completion import complete_aircraft
from cli.options import After, At, By, Note, Source, stamp_of
from cli.session import current_session
from register.trouble import RegisterError

if TYPE_CHECKING:
    from register.entry.clerk import Clerk, Plan

EXAMPLE = (
    "Example: tailsheaf damage heron   (a picture: --svg heron.svg; "
    "a mark that grew: tailsheaf damage heron SNAG --size 18)"
)


def command(
    aircraft: Annotated[
        str, typer.Argument(help="The aircraft.", autocompletion=complete_aircraft)
    ],
    snag: Annotated[
        str | None, typer.Argument(help="One mark, by the id of its snag, to say more of it.")
    ] = None,
    size: Annotated[
        str | None, typer.Option("--size", metavar="MM", help="How large it is by now.")
    ] = None,
    zone: Annotated[str | None, typer.Option("--zone", help="The zone it is in.")] = None,
    place: Annotated[
        str | None,
        typer.Option(
            "--place",
            help='In the zone: "120 from leading edge, 340 from root", or just 120,340 (mm).',
        ),
    ] = None,
    finish: Annotated[str | None, typer.Option("--finish", help="Its paint.")] = None,
    svg: Annotated[
        str | None,
        typer.Option("--svg", metavar="FILE", help="Draw it for a telephone or an A4 page."),
    ] = None,
    every: Annotated[bool, typer.Option("--all", help="Mended marks too.")] = False,
    at: At = None,
    after: After = None,
    by: By = None,
    note: Note = None,
    source: Source = None,
) -> None:
    """Show where an aircraft is marked, how marks grew and their paint; or say more of a mark."""
    from cli.render.damage import render_damage
    from register.answers import answer_damage
    from register.entry.damage import DamageWords, plan_damage

    session = current_session()
    words = DamageWords(size, zone, place, finish)
    if snag is None and not words.is_empty:
        raise RegisterError(
            "of which mark?",
            mend=f"tailsheaf damage {aircraft} SNAG --size 18   (a new one: tailsheaf snag)",
            code="usage",
        )
    if snag is not None and not words.is_empty:
        stamp = stamp_of(at, after, by, note, source)

        def make(clerk: Clerk) -> Plan:
            return plan_damage(clerk, aircraft, snag, words, stamp)

        session.record(session.plan((aircraft, snag, after), make))
        return
    view = answer_damage(session.open(), session.on, aircraft, snag, every=every)
    render_damage(session, view, svg)
