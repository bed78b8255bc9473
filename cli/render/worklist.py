"""The screen of `worklist`: steps to tick, what to bring, when to begin."""

from __future__ import annotations

from pathlib import Path

from cli.render.marks import day_words, note_unread, unread_words
from cli.render.screen import Column, Meaning, Screen, Span, Words
from cli.render.skeletons import say_skeletons
from cli.render.worklist_shape import worklist_shape
from cli.session import Session
from register.entry.ids import shorten_id
from register.views.worklist import StepLine, WorklistView
from register.views.worklist_words import (
    ACTIONS,
    assumption_words,
    bring_words,
    by_evening,
    cautions,
    count_words,
    date_words,
    fly_head,
    fly_words,
    knot_mend,
    knot_words,
    labour_words,
    left_out_words,
    minutes_words,
    source_words,
    start_words,
    state_words,
    step_details,
    trap_words,
    unplaced_words,
)

_STOPS = ("overdue", "grounding", "not-yet-rated")
_ATTEND = ("due", "found", "limiting")
_UNSURE = ("cannot-tell", "no-baseline", "waits")
#: A box to tick with a pencil.
BOX = "[ ]"


def render_worklist(session: Session, view: WorklistView, page: str | None) -> None:
    """The list on the screen; with `page`, a page to print as well."""
    note_unread(session, view.unread)
    if view.problems or view.graph.knots:
        session.problems_seen = True
    session.open_items += len(view.lines)
    ids = session.open().find_ids()
    written = _write_page(session, view, page, ids) if page is not None else None
    session.show(_screen(view, ids, written), worklist_shape(view, written))


def _write_page(session: Session, view: WorklistView, page: str, ids: frozenset[str]) -> str:
    """Write the page where the owner said; the path back as typed."""
    from register.pages.worklist_page import draw_worklist
    from register.storage.outside import write_outside

    short = {line.id: shorten_id(line.id, ids) for line in view.lines if line.id in ids}
    write_outside(session.cwd / Path(page), draw_worklist(view, short).encode(), b"<!doctype html>")
    return page


def _screen(view: WorklistView, ids: frozenset[str], written: str | None) -> Screen:
    screen = Screen()
    screen.title(f"Worklist of {view.aircraft}  {view.title}", day_words(view.on))
    if view.unread:
        screen.line(unread_words(view.unread))
    _head(screen, view)
    _wrong(screen, view)
    _steps(screen, view, ids)
    _bring(screen, view)
    _unplaced(screen, view, ids)
    _foot(screen, view, written)
    return screen


def _head(screen: Screen, view: WorklistView) -> None:
    if view.stage != "in-service":
        screen.line(f"stage: {view.stage.replace('-', ' ')}")
    screen.line(f"by {date_words(view.asked.until)}: {count_words(view)}", 0, 2)
    rows: list[tuple[Words, ...]] = []
    for head, (word, rest) in (
        ("latest evening to begin", start_words(view)),
        (fly_head(view), fly_words(view)),
    ):
        is_open = word in ("too late", "cannot be told")
        meaning: Meaning = "attend" if is_open else "strong"
        rows.append((head, [Span(word, meaning), f"  {rest}" if rest else ""]))
    if view.steps:
        rows.append(("labour", labour_words(view)))
    screen.table((Column(""), Column("", flexible=True)), rows, heads=False)
    for cure, until in view.curing:
        screen.line(f"curing already: {cure.what}, until {until}", 0, 2)


def _wrong(screen: Screen, view: WorklistView) -> None:
    for problem in view.problems:
        where = f"{problem.place.file}:{problem.place.line}"
        screen.line([Span("WRONG", "stop"), f" {where}: {problem.says}"], 0, 2)
        screen.line(["mend: ", Span(problem.mend, "command")], 2, 2)
    told = {problem.place for problem in view.problems}
    for knot in view.graph.knots:
        if any(place in told for _, place in knot.ends):
            screen.line(f"this list is made without: {knot.left_out}", 2, 2)
            continue
        screen.line([Span("CANNOT BE DONE", "stop"), f" {knot_words(knot)}"], 0, 2)
        screen.line(["mend: ", Span(knot_mend(knot), "command")], 2, 2)


def _steps(screen: Screen, view: WorklistView, ids: frozenset[str]) -> None:
    table: list[tuple[Words, ...]] = []
    for day, steps in by_evening(view.steps, view):
        table.append((Span(date_words(day), "strong"),))
        for step in steps:
            table.extend(_rows(step, view, ids))
    screen.table(
        (
            Column(""),
            Column("", right=True),
            Column("from"),
            Column("min", right=True),
            Column(""),
            Column("what", flexible=True),
        ),
        table,
        heads=False,
    )
    if not view.steps:
        screen.gap()
        screen.line("nothing is recorded that is to be done by then")


def _rows(step: StepLine, view: WorklistView, ids: frozenset[str]) -> list[tuple[Words, ...]]:
    """One row to tick, and one under it that tells where, from where and how it stands."""
    words: list[str | Span] = []
    line = step.line
    id_ = shorten_id(line.id, ids) if line is not None and line.id in ids else ""
    id_ = id_ or (line.id if line is not None else "")
    told = source_words(line, id_) if line is not None else ""
    checks: list[str] = []
    for detail in step_details(step, view, id_):
        if detail.startswith("check: "):
            checks.append(detail.removeprefix("check: "))
        elif line is not None and detail == told:
            source, _, rest = detail.partition(": ")
            state = state_words(line)
            words.extend([f"{source}: ", Span(state, _meaning(line.state))])
            words.append(f"{rest.removeprefix(state)}; ")
        else:
            words.append(f"{detail}; ")
    act = Span(ACTIONS[step.node.action], "plain" if step.node.action == "do" else "strong")
    rows: list[tuple[Words, ...]] = [
        (
            BOX,
            str(step.number),
            f"{step.slot.begins:%H:%M}",
            minutes_words(step),
            act,
            Span(step.title, "strong"),
        )
    ]
    if words:
        last = words.pop()
        if isinstance(last, str):
            last = last.removesuffix("; ")
        rows.append(("", "", "", "", "", [*words, last] if last else words))
    rows.extend(("", "", "", "", "", f"{BOX} {check}") for check in checks)
    rows.extend(
        ("", "", "", "", "", [Span("TRAP", "limit"), f" {trap}"]) for trap in trap_words(step)
    )
    return rows


def _meaning(state: str) -> Meaning:
    if state in _STOPS:
        return "stop"
    if state in _ATTEND:
        return "attend"
    return "unsure" if state in _UNSURE else "plain"


def _bring(screen: Screen, view: WorklistView) -> None:
    listed = bring_words(view)
    if not listed:
        return
    screen.gap()
    screen.line(Span("Bring", "strong"))
    rows = [(BOX, kind, words) for kind, words in listed]
    screen.table((Column(""), Column(""), Column("", flexible=True)), rows, heads=False)


def _unplaced(screen: Screen, view: WorklistView, ids: frozenset[str]) -> None:
    """Never dropped, but nothing can be opened for it: with the line that states the place."""
    short = {line.id: shorten_id(line.id, ids) for line in view.unplaced if line.id in ids}
    groups = unplaced_words(view, short)
    if groups:
        screen.gap()
        screen.line(Span("Place not stated", "strong"))
    for mend, items in groups:
        screen.line(Span(mend, "command"), 1, 2)
        columns = (Column("", right=mend.endswith("line")), Column("", flexible=True))
        screen.table(columns, items, indent=3, heads=False)


def _foot(screen: Screen, view: WorklistView, written: str | None) -> None:
    screen.gap()
    if not view.has_access:
        screen.line("No access is described, so nothing is taken off.")
        say_skeletons(screen, "access", path=f"aircraft/{view.aircraft}/aircraft.yaml")
    for word in left_out_words(view):
        screen.line(word, 0, 2)
    if view.steps:
        for word in assumption_words(view):
            screen.line(f"reckoned with: {word}", 0, 2)
    for word in cautions(view):
        screen.line(Span(word, "faint"))
    if written is not None:
        screen.line(f"page written: {written}")
