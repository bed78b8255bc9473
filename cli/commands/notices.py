"""notices: known defects and traps of the kits; answer one, or raise one."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cli.notice_options import (
    Action,
    Basis,
    Clear,
    Every,
    Found,
    FromEvent,
    Grounds,
    Kind,
    Lots,
    Name,
    NotApplicable,
    Position,
    Repaired,
    Side,
    Text,
    Title,
    Touches,
    Trap,
    Words,
)
from cli.options import After, At, By, Note, Source, stamp_of
from cli.session import Session, current_session
from register.trouble import RegisterError

if TYPE_CHECKING:
    from register.entry.clerk import Stamp
    from register.entry.raising import NoticeWish

EXAMPLE = "Example: tailsheaf notices heron"


def command(
    words: Words = None,
    clear: Clear = None,
    found: Found = None,
    repaired: Repaired = None,
    not_applicable: NotApplicable = None,
    from_event: FromEvent = None,
    title: Title = None,
    name: Name = None,
    text: Text = None,
    trap: Trap = False,
    kind: Kind = None,
    position: Position = None,
    side: Side = None,
    lots: Lots = None,
    action: Action = None,
    every: Every = None,
    grounds: Grounds = False,
    touches: Touches = None,
    basis: Basis = None,
    at: At = None,
    after: After = None,
    by: By = None,
    note: Note = None,
    source: Source = None,
) -> None:
    """Show what the kits' notices ask; answer one; raise a record to a notice of its kit."""
    from register.entry.raising import NoticeWish, plan_raise

    results = (("clear", clear), ("found", found), ("repaired", repaired))
    given = dict((*results, ("not-applicable", not_applicable)))
    parts = (title, name, text, trap, kind, position, side, tuple(lots or ()), action)
    wish = NoticeWish(*parts, tuple(every or ()), grounds, tuple(touches or ()), basis)
    session = current_session()
    stamp = stamp_of(at, after, by, note, source)
    if from_event is not None:
        _refuse_stamp(stamp)
        session.record(plan_raise(session.clerk(), from_event, wish))
        return
    _refuse_idle(wish, position)
    said = {result: words for result, words in given.items() if words is not None}
    where = [*(words or []), *([position] if position else [])]
    if said:
        _answer(session, where, said, stamp)
    else:
        _show(session, where)


def _refuse_stamp(stamp: Stamp) -> None:
    """A notice stands in the kit's file, which has no time and no hand."""
    given = next((key for key in stamp.__struct_fields__ if getattr(stamp, key)), None)
    if given is not None:
        raise RegisterError(
            f"--{given} means nothing with --raise: a notice stands in the kit's file",
            mend='leave it out; words belong in --text "…"',
            code="usage",
        )


def _refuse_idle(wish: NoticeWish, position: str | None) -> None:
    """What describes a new notice means nothing without a record to raise."""
    from register.entry.raising import NoticeWish

    if wish != NoticeWish(position=position):
        raise RegisterError(
            "what a notice says and whom it asks is given with --raise, or written in the kit file",
            mend='tailsheaf notices --raise EVENT --title "…"',
            code="usage",
        )


def _answer(session: Session, where: list[str], said: dict[str, str], stamp: Stamp) -> None:
    from register.entry.notices import plan_answer

    if len(said) > 1:
        raise RegisterError(
            f"one answer at a time, not {' and '.join(said)}",
            mend="give the one that holds now; an earlier find stays on record",
            code="usage",
        )
    ((result, words),) = said.items()
    session.record(plan_answer(session.clerk(), where, result, words, stamp))


def _show(session: Session, words: list[str]) -> None:
    from cli.render.notices import render_notices
    from register.answers import answer_notices

    render_notices(session, answer_notices(session.open(), session.on, tuple(words)))
