"""Sections of a dossier: totals and lives, what is open, the checks, incidents, repairs, damage."""

from __future__ import annotations

from collections.abc import Iterator

from register.pages.blocks import (
    ATTEND,
    FINE,
    PLAIN,
    STOP,
    Block,
    Head,
    Listed,
    Row,
    Section,
    Table,
    Words,
)
from register.pages.dossier_first import is_due, open_words
from register.pages.dossier_words import (
    NOTHING,
    clock_words,
    counter_words,
    day_of,
    due_words,
    found_words,
    life_words,
    place_of,
    plural,
    standing_words,
    value_words,
)
from register.records.values import Span
from register.tasks.items import Item
from register.views.changes import left_phrase
from register.views.dossier import DossierView, SnagStory
from register.views.part import PartView

GRAVE = ("grounding", "not-yet-rated")


# --- totals and lives -----------------------------------------------------------


def totals(view: DossierView) -> Section:
    """What the aircraft and each of its parts have done, and what life is left."""
    lives = [(part.file.name, line) for part in view.parts for line in part.life]
    plane = ", ".join(clock_words(c.counter, c.value) for c in view.aircraft.counters[:3])
    count = plural(len(lives), "life limit")
    return Section(
        "totals",
        "Totals and remaining lives",
        f"{plane or 'nothing counted'}; {count} of parts recorded.",
        tuple(_total_blocks(view)),
    )


def _total_blocks(view: DossierView) -> Iterator[Block]:
    plane = view.aircraft
    yield Head("The aircraft")
    yield Table(
        ("counter", ">now", ">before the records", "how it is counted"),
        tuple(
            Row(
                (
                    counter_words(item.counter),
                    value_words(item.value, item.counter),
                    _before(item.opening, item.counter),
                    _each_flight(view, item.counter),
                )
            )
            for item in plane.counters
        ),
    )
    if view.parts:
        yield Head("Its parts, each with its own life")
        yield Table(
            ("part", "where", "serial", "since new", "since overhaul", "life left"),
            tuple(_part_row(part) for part in view.parts),
        )
        yield Words("Life left shows who set the limit. No entry: no limit was recorded, which "
                    "does not mean that there is none.", FINE)  # fmt: skip
    empty = [line.name for line in plane.positions if line.part is None]
    if empty:
        yield Words(f"Nothing is recorded as fitted at: {', '.join(empty)}.", ATTEND)


def _before(opening: Span, counter: str) -> str:
    return "none" if opening == Span.exact(0) else value_words(opening, counter)


def _each_flight(view: DossierView, counter: str) -> str:
    found = view.aircraft.per_flight.get(counter)
    if found is None:
        return "as recorded"
    return f"{value_words(Span.exact(found.amount), counter)} each flight ({found.basis.text})"


def _part_row(part: PartView) -> Row:
    file = part.file
    title = f"{file.name}: {file.title or file.kind}" + (f", lot {file.lot}" if file.lot else "")
    condition = part.condition.condition
    if condition != "serviceable":
        reason = f", {part.condition.reason}" if part.condition.reason else ""
        title += f" [{condition}{reason}]"
    clocks = [clock for clock in part.clocks if clock.since_new != Span.exact(0)]
    new = "; ".join(clock_words(clock.counter, clock.since_new) for clock in clocks)
    overhaul = NOTHING
    if part.overhauled is not None:
        since = "; ".join(clock_words(clock.counter, clock.since_overhaul) for clock in clocks)
        overhaul = f"{day_of(part.overhauled)}: {since or 'nothing since'}"
    life = "; ".join(life_words(line) for line in part.life) or NOTHING
    over = any(line.limit.state in ("overdue", "due", "cannot-tell") for line in part.life)
    tone = ATTEND if over or condition != "serviceable" else PLAIN
    cells = (title, place_of(part), file.serial or "not recorded", new or NOTHING, overhaul, life)
    return Row(cells, tone)


# --- what is open ----------------------------------------------------------------


def open_items(view: DossierView) -> Section:
    """Everything that is open, in the order in which it matters."""
    return Section("open", "What is open", f"{open_words(view)}.", tuple(_open_blocks(view)))


def _open_blocks(view: DossierView) -> Iterator[Block]:
    tone = {"grounded": STOP, "limited": ATTEND, "due": ATTEND, "cannot-tell": ATTEND}
    yield Words(f"As recorded: {standing_words(view)}.", tone.get(view.standing, PLAIN))
    if len(view.reasons) > 1:
        yield Listed(tuple(reason.says for reason in view.reasons))
    yield Head("Snags and deferrals")
    if view.open_snags:
        yield Table(
            ("what", "found", "severity", "decided", ">flights with it", "id"),
            tuple(_snag_row(story) for story in view.open_snags),
        )
    else:
        yield Words("No open snag is recorded.")
    yield Head("Checks that are due, or soon")
    due = [line.item for line in view.due if _is_near(line.item)]
    if due:
        yield Table(
            ("check", "state", "last done", "basis"),
            tuple(
                Row(
                    (
                        _task_title(item),
                        due_words(item),
                        day_of(item.last_done),
                        item.task.basis.text,
                    ),
                    STOP
                    if item.grounds and is_due(item.state)
                    else ATTEND
                    if is_due(item.state)
                    else PLAIN,
                )
                for item in due
            ),
        )
    else:
        yield Words("No check is recorded as due.")
    yield from _work_to_do(view)


def _is_near(item: Item) -> bool:
    if item.is_day_check or item.task.on == "notice":
        return False
    return item.failed is not None or item.state in (
        "overdue",
        "due",
        "cannot-tell",
        "in-window",
        "soon",
    )


def _task_title(item: Item) -> str:
    on = f" [{item.subject[1]}]" if item.subject[0] == "part" else ""
    mark = " (grounds)" if item.grounds else ""
    return f"{item.task.title}{on}{mark}"


def _work_to_do(view: DossierView) -> Iterator[Block]:
    jobs = [
        f"{line.job.body.text}"
        + (f", at {line.job.body.at}" if line.job.body.at else "")
        + "".join(f"; waits: {wait.says}" for wait in line.waits if wait.holds)
        for line in view.jobs.lines
    ]
    trials = [
        f"{line.departure.body.text}: {line.departure.state} since "
        f"{day_of(line.departure.state_event)}"
        for line in view.departures.lines
        if line.departure.is_unsettled
    ]
    cures = [
        f"{line.state.what}, {line.state.body.adhesive}: "
        + ("full load time not recorded" if line.state.full_at is None else
           f"full load from {line.state.full_at:%Y-%m-%d %H:%M}")
        for line in view.cures.lines
    ]  # fmt: skip
    notices = [
        f"{row.notice.title} on {row.subject[1]}: {row.stands}"
        for row in view.notices.rows
        if row.is_open and row.subject[1] not in view.stays
    ]
    for title, found in (
        ("Jobs to do", jobs),
        ("Changes on trial or curing", trials),
        ("Curing", cures),
        ("Notices not answered, or found", notices),
    ):
        if found:
            yield Head(title)
            yield Listed(tuple(found))
    if not (jobs or trials or cures or notices):
        yield Words("No job, trial, cure or notice is recorded as open.")


def snag_where(story: SnagStory) -> str:
    """What was found, and where."""
    state = story.state
    places = [word for word in (state.position, state.part) if word]
    zone = getattr(state.event.body, "zone", None)
    places.extend([zone] if zone and not places else [])
    return f"{state.text} [{', '.join(places)}]" if places else state.text


def flown_words(flown: Span | None) -> str:
    """Flights with a snag."""
    return NOTHING if flown is None else value_words(flown, "flights")


def _snag_row(story: SnagStory) -> Row:
    state, deferral = story.state, story.line.deferral
    decided = "nothing decided" if state.severity in GRAVE else NOTHING
    if deferral is not None:
        stands = f"RUN OUT: {deferral.says}" if deferral.expired else f"deferred, {deferral.says}"
        decided = f"{stands}; reason: {deferral.body.reason}"
    tone = (
        STOP
        if state.severity in GRAVE or (deferral and deferral.expired)
        else (ATTEND if state.severity == "limiting" else PLAIN)
    )
    words = snag_where(story) + ("; reported again and again" if state.repeat else "")
    cells = (
        words,
        state.first_day.isoformat(),
        state.severity.replace("-", " "),
        decided,
        flown_words(story.flown),
        state.id[:6],
    )
    return Row(cells, tone)


# --- checks ------------------------------------------------------------------------


def checks(view: DossierView) -> Section:
    """Every check with its last result and the next one."""
    items = [
        line.item
        for line in view.due
        if line.item.task.on != "notice" and line.item.task.id != "life"
    ]
    done = [item for item in items if item.last_done is not None]
    last = max((day_of(item.last_done) for item in done), default="none")
    programmes = ", ".join(line.title or line.name for line in view.aircraft.programmes)
    answer = (
        f"{plural(len(done), 'check')} of {len(items)} done since the records began, the last "
        f"on {last}."
    )
    items.sort(key=lambda item: (item.last_done is None, item.task.title.lower(), item.subject))
    silent = [item for item in items if _is_silent(item)]
    items = [item for item in items if not _is_silent(item)]
    blocks: list[Block] = [
        Words(f"Programme: {programmes or 'none'}. A check may be done and never written down.")
    ]
    if items:
        blocks.append(
            Table(
                ("check", "last done", "what was found", "next", "basis"),
                tuple(_check_row(view, item) for item in items),
            )
        )
    if silent:
        grounding = sum(item.grounds for item in silent)
        marked = f", {grounding} of them (marked *) ones that ground" if grounding else ""
        blocks.append(Head(f"Never recorded, not due by the records: {len(silent)}{marked}"))
        blocks.append(Listed(tuple(_tell_silent(silent))))
    return Section("checks", "Checks: last done, what was found, next", answer, tuple(blocks))


def _is_silent(item: Item) -> bool:
    """Never recorded, and nothing asks for it now: its row would say only that."""
    quiet = item.state in ("no-baseline", "ok") or item.is_day_check
    return item.was_never_done and quiet


def _tell_silent(items: list[Item]) -> Iterator[str]:
    """One line for each group of checks, each check once, with how many parts it is asked of."""
    groups: dict[str, dict[str, list[Item]]] = {}
    for item in items:
        titles = groups.setdefault(item.task.group or "no group", {})
        titles.setdefault(item.task.title, []).append(item)
    for name, titles in sorted(groups.items()):
        told = []
        for title, same in sorted(titles.items()):
            mark = "*" if any(item.grounds for item in same) else ""
            parts = [item.subject[1] for item in same if item.subject[0] == "part"]
            on = f" [{parts[0]}]" if len(parts) == 1 else f" [{len(parts)} parts]" if parts else ""
            left = {left_phrase(item) for item in same}
            when = f", {left.pop()}" if len(left) == 1 and "" not in left else ""
            told.append(f"{title}{mark}{on}{when}")
        yield f"{name.replace('-', ' ')}: {'; '.join(told)}"


def _check_row(view: DossierView, item: Item) -> Row:
    opening = "before the records" if item.opening is not None else "never recorded"
    last = opening
    if item.last_done is not None:
        mark = view.pages.mark_of(item.last_done.by)
        last = day_of(item.last_done) + (f" by {mark}" if mark else "")
    event = item.failed or item.last_done
    tone = PLAIN
    if not item.is_day_check and (item.failed is not None or is_due(item.state)):
        tone = STOP if item.grounds else ATTEND
    cells = (_task_title(item), last, found_words(event), due_words(item), item.task.basis.text)
    return Row(cells, tone)
