"""The screen of `jobs`."""

from __future__ import annotations

from cli.render.marks import day_words, hour_minutes, note_unread, unread_words
from cli.render.screen import Column, Screen, Span, Words
from cli.render.shapes import Shape
from cli.session import Session
from register.entry.ids import shorten_id
from register.records.opening import UNFLOWN
from register.records.values import format_amount
from register.views.jobs import JobLine, JobsView


def render_jobs(session: Session, view: JobsView) -> None:
    """What can be begun, what waits and for what; closed ones with --all."""
    note_unread(session, view.unread)
    session.open_items += sum(line.job.is_open for line in view.lines)
    ids = tuple(session.open().ledger.settled.originals)
    session.show(_screen(view, ids), _data(view))


def _screen(view: JobsView, ids: tuple[str, ...]) -> Screen:
    screen = Screen()
    screen.title(f"Jobs: {view.aircraft or 'whole fleet'}", day_words(view.on))
    if view.unread:
        screen.line(unread_words(view.unread))
    names = list(dict.fromkeys(line.job.aircraft or "" for line in view.lines))
    table: list[tuple[Words, ...]] = []
    for name in names:
        stage = view.stages.get(name, "")
        heading: list[str | Span] = [Span(name, "strong")]
        if stage != "in-service":
            heading.append(f"  ({stage.replace('-', ' ')})")
        table.append((heading,))
        table.extend(_row(line, ids) for line in view.lines if (line.job.aircraft or "") == name)
    screen.table(
        (
            Column("id"),
            Column("state"),
            Column("where"),
            Column("job", flexible=True),
            Column("min", right=True),
        ),
        table,
        indent=1,
    )
    _foot(screen, view)
    return screen


def _row(line: JobLine, ids: tuple[str, ...]) -> tuple[Words, ...]:
    job, body = line.job, line.job.body
    words: list[str | Span] = [body.text]
    hand = "" if body.hand == "none" else body.hand
    if hand and hand not in (body.at or "").split("-") and hand not in body.text.lower().split():
        words.append(f" ({hand})")
    for wait in line.waits:
        if job.is_open and wait.holds:
            words.append(f"; waits for {shorten_id(wait.id, ids)} {wait.says}")
    words.extend(f"; trap: {trap.title}" for trap in line.traps)
    if job.by is not None:
        said = getattr(job.by.body, "text", "") if job.by is not job.event else ""
        words.append(f"; {job.by.moment.day.isoformat()}" + (f": {said}" if said else ""))
    minutes = format_amount(body.minutes) if body.minutes is not None else ""
    return (shorten_id(job.id, ids), _state(line), body.at or "", words, minutes)


def _state(line: JobLine) -> Span:
    if not line.job.is_open:
        return Span(line.job.state, "faint")
    return Span("ready", "strong") if line.is_ready else Span("waits", "unsure")


def _foot(screen: Screen, view: JobsView) -> None:
    opened = [line for line in view.lines if line.job.is_open]
    if not opened:
        screen.line(
            f"no open jobs of {view.aircraft} recorded" if view.aircraft else "no open jobs"
        )
    if view.closed and not view.every:
        screen.line(f"{view.closed} closed (--all)")
    if not opened:
        return
    screen.gap()
    ready = sum(line.is_ready for line in opened)
    words = f"{len(opened)} open, {ready} can be begun"
    if view.minutes:
        words += f"; {hour_minutes(int(view.minutes))} of work stated"
        if view.unstated:
            words += f", {view.unstated} without a time"
    screen.line(words)
    waiting = [name for name, stage in view.stages.items() if stage in UNFLOWN]
    for name in waiting:
        if any(line.job.aircraft == name for line in opened):
            screen.line(f"{name}: acceptance and first flight need none of them open")
    screen.line(Span("tailsheaf jobs --done ID WORDS   or  --drop ID WORDS", "command"))


def _data(view: JobsView) -> Shape:
    return {
        "version": 1,
        "on": view.on,
        "complete": view.complete,
        "unread": list(view.unread),
        "open": sum(line.job.is_open for line in view.lines),
        "minutes": view.minutes,
        "without_minutes": view.unstated,
        "jobs": [_shape(line, view) for line in view.lines],
    }


def _shape(line: JobLine, view: JobsView) -> Shape:
    job, body = line.job, line.job.body
    return {
        "id": job.id,
        "aircraft": job.aircraft,
        "stage": view.stages.get(job.aircraft or ""),
        "text": body.text,
        "where": body.at,
        "hand": body.hand,
        "minutes": body.minutes,
        "state": job.state,
        "ready": line.is_ready,
        "other_hand_of": body.other_hand_of,
        "waits_for": [
            {"id": wait.id, "kind": wait.what, "open": wait.is_open, "says": wait.says}
            for wait in line.waits
        ],
        "traps": [{"notice": trap.name, "title": trap.title} for trap in line.traps],
        "noted": job.event.moment.text,
        "record": job.event.path,
        "closed_by": job.by.path if job.by is not None else None,
    }
