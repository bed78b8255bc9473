"""The screens of `notices`: the matrix of the fleet, of one aircraft or part, or of one notice."""

from __future__ import annotations

from cli.render.marks import (
    CAUTION,
    GROUNDS_MARK,
    day_words,
    note_unread,
    unread_words,
)
from cli.render.screen import Column, Meaning, Screen, Span, Words
from cli.render.shapes import Shape, basis_shape, limit_shape, place_shape
from cli.render.skeletons import say_skeletons
from cli.session import Session
from register.findings.notices import NoticeState, asks_words
from register.records.notices import Notice
from register.records.programmes import CounterInterval
from register.records.values import format_amount
from register.tasks.limits import span_words
from register.views.changes import counter_words, limit_phrase
from register.views.notices import NoticeHead, NoticesView

STATES: dict[str, tuple[str, Meaning]] = {
    "cannot-tell": ("CANNOT TELL", "unsure"),
    "found": ("FOUND", "stop"),
    "not-looked-at": ("NOT LOOKED AT", "attend"),
    "due-again": ("DUE AGAIN", "attend"),
    "not-repaired": ("NOT REPAIRED", "attend"),
    "clear": ("clear", "well"),
    "repaired": ("repaired", "well"),
    "not-applicable": ("does not apply", "faint"),
}
#: Short forms for the cells of the table at the top.
CELLS: dict[str, str] = {
    "cannot-tell": "?",
    "found": "FOUND",
    "not-looked-at": "TO LOOK AT",
    "due-again": "DUE AGAIN",
    "not-repaired": "TO REPAIR",
    "clear": "clear",
    "repaired": "repaired",
    "not-applicable": "-",
}
_ACTIONS = {
    "once": "looked at once",
    "recurring": "looked at again and again",
    "until-repaired": "until repaired",
}
_LEAST_NOTICES, _COLUMNS = 2, 4


def render_notices(session: Session, view: NoticesView) -> None:
    """Open ones first; what does not apply says why."""
    note_unread(session, view.unread)
    session.open_items += view.open
    session.show(_screen(view), _data(view))


def _screen(view: NoticesView) -> Screen:
    screen = Screen()
    whose = view.subject[1] if view.subject else "whole fleet"
    screen.title(f"Notices: {view.name or whose}", day_words(view.on))
    if view.unread:
        screen.line(unread_words(view.unread))
    if view.heads and view.name is None:
        count = len(view.heads)
        words = f"{count} notice{'' if count == 1 else 's'}, {view.open} open"
        screen.line(Span(words, "strong"))
    if view.subject is None and view.name is None:
        _glance(screen, view)
    for head in view.heads:
        _head(screen, head, view)
        _rows(screen, head, view)
        if view.name is not None and view.subject is not None:
            _chains(screen, head, view)
    _traps(screen, view)
    if not view.heads and not view.traps:
        _nothing(screen, view)
    screen.gap()
    if any(head.notice.grounds for head in view.heads):
        screen.line(Span(f"{GROUNDS_MARK} grounds while it is open. {CAUTION}", "faint"))
    else:
        screen.line(Span(CAUTION, "faint"))
    return screen


def _nothing(screen: Screen, view: NoticesView) -> None:
    screen.gap()
    whose = f"of {view.subject[1]} " if view.subject else ""
    screen.line(f"no notice {whose}is recorded")
    screen.line(Span("tailsheaf notices --raise EVENT --title WORDS   makes one", "command"), 2)
    say_skeletons(screen, "notices", path="")


def _glance(screen: Screen, view: NoticesView) -> None:
    """One row for each aircraft or part, one column for each notice."""
    if len(view.heads) < _LEAST_NOTICES:
        return
    subjects = sorted({(_host(row), row.subject[1]) for row in view.rows})
    for first in range(0, len(view.heads), _COLUMNS):
        heads = view.heads[first : first + _COLUMNS]
        screen.gap()
        rows: list[tuple[Words, ...]] = []
        for host, name in subjects:
            cells = [_cell(view, head, name) for head in heads]
            if any(cells):
                on = Span(name, "strong") if host != name else "as a whole"
                rows.append((host, on, *cells))
        screen.table(
            (
                Column("in"),
                Column("on"),
                *(Column(head.notice.name, flexible=True) for head in heads),
            ),
            rows,
            indent=1,
        )


def _cell(view: NoticesView, head: NoticeHead, name: str) -> Words:
    for row in view.rows:
        if _is_of(row, head) and row.subject[1] == name:
            return Span(CELLS[row.state], STATES[row.state][1])
    return ""


def _is_of(row: NoticeState, head: NoticeHead) -> bool:
    return (row.notice.name, row.kit) == (head.notice.name, head.kit)


def _host(row: NoticeState) -> str:
    return ", ".join(row.asked.hosts) or "shelf"


def _head(screen: Screen, head: NoticeHead, view: NoticesView) -> None:
    notice = head.notice
    screen.gap()
    mark = f"{GROUNDS_MARK} " if notice.grounds else ""
    screen.line([mark, Span(notice.name, "strong"), f"  {notice.title}"], 0, 2)
    owner = f"kit {head.kit}" if head.kit else f"{notice.owner}'s own"
    screen.line(f"{owner}: asks {asks_words(notice)}; {how_often(notice)}", 2, 2)
    if view.name is None:
        return
    if notice.text:
        screen.line(notice.text, 2)
    screen.line(f"basis: {notice.basis.text}", 2)
    if notice.raised_from:
        screen.line(f"raised from {notice.raised_from}", 2)
    if head.places:
        screen.line(f"touches: {', '.join(head.places)}", 2)
    screen.line(Span(f"{notice.place.file}:{notice.place.line}", "faint"), 2)


def how_often(notice: Notice) -> str:
    """What it asks for, in words: once, every 10 flights, until repaired."""
    sides = []
    for interval in notice.every:
        if isinstance(interval, CounterInterval):
            amount = format_amount(interval.amount) if interval.amount is not None else "?"
            sides.append(f"{amount} {counter_words(interval.counter, interval.amount)}")
        else:
            unit = interval.unit.replace("-", " ")
            sides.append(
                f"{interval.amount} {unit.removesuffix('s') if interval.amount == 1 else unit}"
            )
    if not sides:
        return _ACTIONS[notice.action]
    often = f"every {' or '.join(sides)}"
    return f"{often} until repaired" if notice.action == "until-repaired" else often


def _rows(screen: Screen, head: NoticeHead, view: NoticesView) -> None:
    rows = [row for row in view.rows if _is_of(row, head)]
    screen.table(
        (Column("state"), Column("on"), Column("in"), Column("what is known", flexible=True)),
        [
            (
                Span(*STATES[row.state]),
                Span(row.subject[1], "strong"),
                _host(row) if row.subject[0] == "part" else "",
                _known(row),
            )
            for row in rows
        ],
        indent=2,
        heads=False,
    )
    if not rows:
        screen.line("asks nobody in this fleet", 2)


def _known(row: NoticeState) -> str:
    words = [row.says]
    words.extend(until_words(row))
    if row.looks and row.state == "not-applicable":
        last = row.looks[-1]
        if last.event.moment.day.isoformat() not in row.says:
            result = last.result.replace("-", " ")
            lot = f" as lot {last.lot}" if last.lot else ""
            words.append(f"answered {result} {last.event.moment.day.isoformat()}{lot}")
    return "; ".join(words)


def until_words(row: NoticeState) -> list[str]:
    """Until when an answer holds: clear until 28 flights (due in 8 flights)."""
    found = []
    for limit in row.limits:
        phrase = limit_phrase(limit)
        if phrase is None:
            continue
        if limit.counter is not None and limit.due_at is not None and row.state == "clear":
            unit = counter_words(limit.counter)
            found.append(f"until {span_words(limit.due_at)} {unit} ({phrase[1]})")
        elif limit.day is not None and row.state == "clear":
            found.append(f"until {limit.day.isoformat()}")
        else:
            found.append(phrase[1])
    return found


def _chains(screen: Screen, head: NoticeHead, view: NoticesView) -> None:
    for row in view.rows:
        if not _is_of(row, head):
            continue
        screen.gap()
        screen.line(["why ", Span(row.subject[1], "strong")], 2)
        for step in row.steps:
            place = f"  {step.place.file}:{step.place.line}" if step.place else ""
            screen.line([step.says, Span(place, "faint")], 4, 2)
        if row.is_open:
            name = f"{row.notice.name} {row.subject[1]}"
            screen.line(Span(f'tailsheaf notices {name} --clear "…"', "command"), 4)
            screen.line("or --found, --repaired, --not-applicable", 4)
        if row.state == "cannot-tell" and "lot not recorded" in row.says:
            screen.line("or say which lot it is:", 4)
            screen.line(Span(_lot_line(row), "command"), 4)


def _lot_line(row: NoticeState) -> str:
    kind, name = row.subject
    if kind == "part":
        return f"tailsheaf parts {name} --lot LOT"
    return f'add a line  lot: "LOT"  to aircraft/{name}/aircraft.yaml'


def _traps(screen: Screen, view: NoticesView) -> None:
    if not view.traps:
        return
    screen.gap()
    screen.line(Span("Traps: no answer needed, shown where work touches them", "strong"))
    for head in view.traps:
        notice = head.notice
        owner = f"kit {head.kit}" if head.kit else notice.owner
        screen.line([Span(notice.name, "strong"), f"  {notice.title} ({owner})"], 2, 2)
        if notice.text and (view.name or view.subject):
            screen.line(notice.text, 4)
        screen.line(f"at {', '.join(head.places) or 'no place yet'}", 4)
        if view.name:
            screen.line(f"basis: {notice.basis.text}", 4)
            screen.line(Span(f"{notice.place.file}:{notice.place.line}", "faint"), 4)


def _data(view: NoticesView) -> Shape:
    return {
        "version": 1,
        "on": view.on,
        "complete": view.complete,
        "unread": list(view.unread),
        "subject": view.subject[1] if view.subject else None,
        "open": view.open,
        "notices": [_head_shape(head) for head in (*view.heads, *view.traps)],
        "rows": [_row_shape(row) for row in view.rows],
    }


def _head_shape(head: NoticeHead) -> Shape:
    notice, applies = head.notice, head.notice.applies
    return {
        "notice": notice.name,
        "kit": head.kit,
        "owner": notice.owner,
        "aircraft": list(head.aircraft),
        "title": notice.title,
        "text": notice.text,
        "kind": notice.kind,
        "action": None if notice.is_trap else notice.action,
        "grounds": notice.grounds,
        "applies": {
            "part_kind": applies.part_kind,
            "position": applies.position,
            "side": applies.side,
            "lots": [item.text for item in applies.lots],
        },
        "every": [
            {"counter": item.counter, "amount": item.amount}
            if isinstance(item, CounterInterval)
            else {item.unit.replace("-", "_"): item.amount}
            for item in notice.every
        ],
        "touches": list(head.places),
        "basis": basis_shape(notice.basis),
        "raised_from": notice.raised_from,
        "place": place_shape(notice.place),
        "open": head.open,
    }


def _row_shape(row: NoticeState) -> Shape:
    return {
        "notice": row.notice.name,
        "kit": row.kit,
        "subject": row.subject[1],
        "on": row.subject[0],
        "aircraft": list(row.asked.hosts),
        "position": row.asked.position,
        "applies": row.asked.verdict.answer,
        "because": row.asked.verdict.why,
        "state": row.state,
        "open": row.is_open,
        "grounds": row.notice.grounds,
        "says": row.says,
        "answers": [
            {
                "result": look.result,
                "when": look.event.moment.text,
                "text": look.text,
                "lot": look.lot,
                "record": look.event.path,
            }
            for look in row.looks
        ],
        "limits": [limit_shape(limit) for limit in row.limits],
        "why": [{"says": step.says, "place": place_shape(step.place)} for step in row.steps],
    }
