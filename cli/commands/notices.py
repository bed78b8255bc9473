"""notices: known defects and traps of the kits; answer one, or raise one."""

from __future__ import annotations

from typing import Annotated

import typer

from cli.completion import complete_notice
from cli.options import After, At, By, Note, Source, stamp_of
from cli.session import Session, current_session
from register.trouble import RegisterError

EXAMPLE = "Example: tailsheaf notices heron"


def command(
    words: Annotated[
        list[str] | None,
        typer.Argument(
            help="A notice, an aircraft, a part or its position, in any order.",
            autocompletion=complete_notice,
        ),
    ] = None,
    clear: Annotated[
        str | None,
        typer.Option("--clear", metavar="WORDS", help="Looked at, nothing found: in what way."),
    ] = None,
    found: Annotated[
        str | None,
        typer.Option("--found", metavar="WORDS", help="It has it; open until repaired."),
    ] = None,
    repaired: Annotated[
        str | None, typer.Option("--repaired", metavar="WORDS", help="What was done.")
    ] = None,
    not_applicable: Annotated[
        str | None,
        typer.Option("--not-applicable", metavar="REASON", help="It does not apply, and why."),
    ] = None,
    from_event: Annotated[
        str | None,
        typer.Option(
            "--raise", metavar="EVENT", help="Make a snag, modification or note a notice."
        ),
    ] = None,
    title: Annotated[str | None, typer.Option(help="Of a new one, in a few words.")] = None,
    name: Annotated[str | None, typer.Option(help="Its name in commands.")] = None,
    text: Annotated[str | None, typer.Option(help="What to look for, at more length.")] = None,
    trap: Annotated[
        bool, typer.Option("--trap", help="Needs no answer; shown where work touches its place.")
    ] = False,
    kind: Annotated[str | None, typer.Option(help="The kind of part asked: wing, servo.")] = None,
    position: Annotated[
        str | None, typer.Option("--position", "-p", help="The position asked.")
    ] = None,
    side: Annotated[str | None, typer.Option(help="left, right or both.")] = None,
    lots: Annotated[list[str] | None, typer.Option(help="B12-B40; several are several.")] = None,
    action: Annotated[str | None, typer.Option(help="once, recurring or until-repaired.")] = None,
    every: Annotated[
        list[str] | None, typer.Option(help="How often: flights=10, months=6.")
    ] = None,
    grounds: Annotated[bool, typer.Option("--grounds", help="Grounds while it is open.")] = False,
    touches: Annotated[
        list[str] | None, typer.Option(help="A place it is shown at when work touches it.")
    ] = None,
    basis: Annotated[
        str | None, typer.Option(help='Where it comes from: "maker: service letter 4".')
    ] = None,
    at: At = None,
    after: After = None,
    by: By = None,
    note: Note = None,
    source: Source = None,
) -> None:
    """Show what the kits' notices ask; answer one; raise a record to a notice of its kit."""
    session = current_session()
    results = {
        "clear": clear,
        "found": found,
        "repaired": repaired,
        "not-applicable": not_applicable,
    }
    given = {result: said for result, said in results.items() if said is not None}
    if from_event is not None:
        from register.entry.raising import NoticeWish, plan_raise

        wish = NoticeWish(
            title,
            name,
            text,
            trap,
            kind,
            position,
            side,
            tuple(lots or ()),
            action,
            tuple(every or ()),
            grounds,
            tuple(touches or ()),
            basis,
        )
        session.record(plan_raise(session.clerk(), from_event, wish))
        return
    if len(given) > 1:
        raise RegisterError(
            f"one answer at a time, not {' and '.join(given)}",
            mend="give the one that holds now; an earlier find stays on record",
            code="usage",
        )
    if not given:
        _show(session, words or [])
        return
    from register.entry.notices import plan_answer

    result, said = next(iter(given.items()))
    stamp = stamp_of(at, after, by, note, source)
    where = [*(words or []), *([position] if position else [])]
    session.record(plan_answer(session.clerk(), where, result, said, stamp))


def _show(session: Session, words: list[str]) -> None:
    from cli.render.notices import render_notices
    from register.answers import answer_notices

    render_notices(session, answer_notices(session.open(), session.on, tuple(words)))
