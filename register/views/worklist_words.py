"""A worklist in words, the same on the screen and on the printed page."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, timedelta
from decimal import Decimal

from register.records.values import format_amount
from register.views.worklist import StepLine, WorklistView, evening_of
from register.views.worklist_needs import fresh_words, joint_words, torque_words
from register.views.worklist_works import NOTICE_MEND, TASK_MEND, WorkLine
from register.workshop.precedence import Knot

ACTIONS = {"off": "OFF", "do": "DO", "on": "ON", "again": "AGAIN"}
CAUTION = (
    "Before flying: what stands here is what was written down. The maker's manual, your rules "
    "and a look at the aircraft decide, not this list."
)
CURE_CAUTION = (
    "Cures run longer when cold or damp, and in thick joints: the maker's leaflet comes first, "
    "and nothing is loaded early."
)
TORQUE_CAUTION = (
    "Torques are those somebody wrote down, for dry clean threads unless they say otherwise; "
    "the maker's figure comes first, and wood or plastic gives way before the screw does."
)


def moment_words(moment: datetime) -> str:
    """Sat 2026-05-16 10:00."""
    return f"{moment:%a %Y-%m-%d %H:%M}"


def date_words(day: date) -> str:
    """Sat 2026-05-16."""
    return f"{day:%a %Y-%m-%d}"


def hours(minutes: Decimal | int) -> str:
    """95 as 1:35 h."""
    whole = int(minutes)
    return f"{whole // 60}:{whole % 60:02d} h"


def count_words(view: WorklistView) -> str:
    """What there is, counted: 3 tasks, 2 snags, 1 job; 2 openings."""
    kinds = {"task": "task", "life": "life", "notice": "notice", "snag": "snag", "job": "job"}
    words = []
    for kind, word in kinds.items():
        count = sum(line.work.kind == kind for line in view.lines)
        if count:
            words.append(plural(count, word))
    opened = len(view.graph.opened)
    again = len(view.graph.agains)
    told = ", ".join(words) or "nothing to do"
    if opened:
        told += f"; {plural(opened, 'opening')}, each off once and on once"
    if again:
        told += f"; {again} to check again"
    return told


def plural(count: int, word: str) -> str:
    """2 tasks, 1 life, 2 lives."""
    if count == 1:
        return f"1 {word}"
    return f"{count} {word[:-2]}ves" if word == "life" else f"{count} {word}s"


def start_words(view: WorklistView) -> tuple[str, str]:
    """The latest evening to begin on: what is so, and for when."""
    wanted = moment_words(view.wanted_at)
    if not view.steps:
        return "nothing to begin", ""
    if view.untold:
        return "cannot be told", view.untold[0]
    if view.latest is None:
        return "too late", f"begun {moment_words(view.start)}, not all is ready by {wanted}"
    return date_words(view.latest), f"to be ready {wanted}"


def fly_head(view: WorklistView) -> str:
    """What the earliest hour is of: only an aircraft in service is judged for flying."""
    return "earliest it can fly" if view.stage == "in-service" else "earliest all is ready"


def fly_words(view: WorklistView) -> tuple[str, str]:
    """The earliest hour at which it can fly by this list, from when on, and what decides."""
    if view.fly_at is None:
        return "cannot be told", view.untold[0]
    if not view.steps and not view.curing:
        return "nothing here holds it", ""
    begun = f"begun {moment_words(view.start)}" if view.steps else ""
    decided = _decide_words(view)
    return moment_words(view.fly_at), "; ".join(word for word in (begun, decided) if word)


def _decide_words(view: WorklistView) -> str:
    """What decides that hour, shortly: the cures and waits on the longest way."""
    last = [cure for cure, _ in view.curing if cure.full_at == view.fly_at]
    if last:
        return f"decided by what cures already: {last[0].what}"
    if not view.decides:
        return ""
    words = []
    for step, following in zip(view.decides, [*view.decides[1:], None], strict=True):
        if step.full_at is None or step.handling_at is None:
            continue
        if following is None or step.slot.ends + _lag(view, step, following) >= step.full_at:
            words.append(f"step {step.number} cures until {moment_words(step.full_at)}")
        elif following.slot.waited:
            words.append(f"step {step.number} is handled from {moment_words(step.handling_at)}")
    if not words:
        return "decided by the labour"
    return "decided by: " + "; ".join(words)


def _lag(view: WorklistView, step: StepLine, following: StepLine) -> timedelta:
    """How long what follows waits for what a step leaves curing."""
    ends = (step.node.id, following.node.id)
    lags = [arrow.lag for arrow in view.graph.arrows if (arrow.before, arrow.after) == ends]
    return timedelta(minutes=max(lags, default=0))


def assumption_words(view: WorklistView) -> tuple[str, ...]:
    """Everything that was reckoned with and not recorded."""
    asked, labour = view.asked, view.labour
    words = [
        f"evenings {asked.evening.text} every day (--evening), ready by {asked.ready:%H:%M} on "
        f"the last day (--ready); one pair of hands"
    ]
    if labour.without:
        words.append(
            f"{plural(labour.without, 'step')} without a stated time: {asked.each} min for work "
            f"(--each), 5 min for an opening, marked ~"
        )
    if any(step.full_at is not None for step in view.steps):
        words.append("what is glued is mixed as its step ends, and cures by the clock")
    if view.asked.planned:
        words.append(f"{plural(view.asked.planned, 'flight')} planned on the last day")
    for name in view.graph.absent:
        words.append(f"{name} has an open job and is taken as not fitted yet")
    return tuple(words)


def labour_words(view: WorklistView) -> str:
    """Labour in all, and what of it is stated."""
    labour = view.labour
    words = hours(labour.total)
    if labour.without and not labour.stated:
        return f"about {words}, all of it reckoned"
    if labour.without:
        words = f"about {words}: {hours(labour.stated)} stated, {hours(labour.reckoned)} reckoned"
    return words


def source_words(line: WorkLine, id_: str) -> str:
    """Where a piece of work comes from and how it stands: snag k7q3, grounding; task, overdue."""
    words = f"{line.source} {id_}: {state_words(line)}"
    if not line.due or line.due == state_words(line):
        return words
    return f"{words} {line.due}" if line.state == "waits" else f"{words}, {line.due}"


def state_words(line: WorkLine) -> str:
    """The state of a piece of work."""
    words = {"ok": "coming", "no-baseline": "never done", "in-window": "in its window"}
    return words.get(line.state, line.state.replace("-", " "))


def unplaced_words(
    view: WorklistView, short: Mapping[str, str]
) -> list[tuple[str, list[tuple[str, str]]]]:
    """The lines that state a place, each with what it is for: a line of a file, or an id."""
    found: dict[str, list[tuple[str, str]]] = {}
    for line in view.unplaced:
        text = line.work.text + taken_words(line)
        if line.work.kind in ("snag", "job"):
            key = "position" if line.work.kind == "snag" else "at"
            mend = f"tailsheaf amend ID {key}=PLACE"
            found.setdefault(mend, []).append((short.get(line.id, line.id), text))
        else:
            begins = NOTICE_MEND if line.work.kind == "notice" else TASK_MEND
            mend = f"{begins} {line.place.file}, line"
            found.setdefault(mend, []).append((str(line.place.line), text))
    return list(found.items())


def taken_words(line: WorkLine) -> str:
    """Where something was put whose words alone tell its place; empty for others."""
    return f" (taken as {line.work.at}, by its words)" if line.by_words else ""


def where_words(line: WorkLine, titles: Mapping[str, str] | None = None) -> str:
    """Where it is, and behind what. `titles` are those of the openings."""
    if line.work.where == "not-stated":
        return "place not stated"
    if line.work.where == "whole":
        return "the whole aircraft"
    by = " (told by its words)" if line.by_words else ""
    if line.work.at == line.id and titles:
        # The access names the task itself.
        return f"behind {', '.join(titles.values())}"
    word = "" if line.work.where == "outside" else "at "
    return f"{word}{line.work.at}{by}"


def step_details(step: StepLine, view: WorklistView, id_: str) -> tuple[str, ...]:
    """What else is told of a step, one phrase each."""
    words: list[str] = []
    if step.line is not None:
        off = view.graph.ways[step.line.work.key].off
        words.append(where_words(step.line, {n: t for n, t in titles_of(view).items() if n in off}))
        words.append(source_words(step.line, id_))
        if step.line.caution is not None:
            words.append(f"caution: {step.line.caution}")
    if step.access is not None:
        words.extend(_opening_details(step, view))
    if step.again is not None:
        words.append(_again_words(step, view))
    if step.full_at is not None and step.handling_at is not None:
        cure = step.line.work.cure if step.line is not None else None
        basis = f" (basis of the times: {cure.basis.text})" if cure is not None else ""
        glue = f"{cure.adhesive} cures" if cure is not None and cure.adhesive else "cures"
        words.append(
            f"{glue}: handle from {moment_words(step.handling_at)}, load from "
            f"{moment_words(step.full_at)}{basis}"
        )
    return tuple(words)


def titles_of(view: WorklistView) -> dict[str, str]:
    """Titles of what comes off, by name."""
    return {step.access.name: step.access.title for step in view.steps if step.access is not None}


def _opening_details(step: StepLine, view: WorklistView) -> list[str]:
    access = step.access
    if access is None:
        return []
    if step.node.action == "on":
        return [f"check: {check}" for check in access.checks]
    held = [joint_words(n) for n in view.needs.joints if n.opening == access.title]
    words = [" + ".join(held)] if held else []
    others = sorted(
        {
            other
            for key in view.graph.works_behind(access.name)
            if view.graph.ways[key].by == access.name
            for other in view.graph.ways[key].others
        }
    )
    if others:
        words.append(f"or by {', '.join(others)}")
    return words


def _again_words(step: StepLine, view: WorklistView) -> str:
    again = step.again
    if again is None:
        return ""
    causes = []
    for cause in view.steps:
        if cause.node.action == "off" and cause.node.name in again.openings:
            causes.append(f"{cause.title} was off")
        elif cause.node.action == "do" and cause.node.name in again.works:
            causes.append(f"after: {cause.title}")
    known = "" if step.is_known else " (no task of this aircraft has that name)"
    return f"task {again.task}{known}: disturbed, {'; '.join(causes)}"


def trap_words(step: StepLine) -> tuple[str, ...]:
    """Traps first met in a step."""
    return tuple(f"{trap.title}: {trap.text}" if trap.text else trap.title for trap in step.traps)


def by_evening(steps: Iterable[StepLine], view: WorklistView) -> list[tuple[date, list[StepLine]]]:
    """Steps in order under the evenings they begin in."""
    found: list[tuple[date, list[StepLine]]] = []
    for step in steps:
        day = evening_of(step, view.asked.evening)
        if not found or found[-1][0] != day:
            found.append((day, []))
        found[-1][1].append(step)
    return found


def minutes_words(step: StepLine) -> str:
    """Minutes of a step; ~ where they are reckoned and not stated."""
    return f"~{step.minutes}" if step.is_assumed else format_amount(Decimal(step.minutes))


def bring_words(view: WorklistView) -> list[tuple[str, str]]:
    """What to bring as one list: what kind of thing, and what it is for."""
    needs = view.needs
    found = [("tool", _for(word, what)) for word, what in needs.tools]
    for need in needs.joints:
        words = f"{joint_words(need)}: {need.title}"
        if need.lock:
            words += f", {need.lock.replace('-', ' ')} lock"
        torque = torque_words(need)
        found.append(("fasteners", f"{words}, {torque}" if torque else words))
    found.extend(("new", fresh_words(fresh)) for fresh in needs.fresh)
    found.extend(("not known", words) for words in needs.unknown)
    found.extend(("material", _for(word, what)) for word, what in needs.materials)
    return found


def _for(word: str, what: Sequence[str]) -> str:
    listed = ", ".join(what[:3]) + (f" and {len(what) - 3} more" if len(what) > 3 else "")
    return f"{word}: {listed}"


def knot_words(knot: Knot) -> str:
    """An order that cannot be had: both ends with their lines, and what was set aside."""
    return "; but ".join(
        f"{says} ({place.file}:{place.line})" if place is not None else says
        for says, place in knot.ends
    )


def knot_mend(knot: Knot) -> str:
    """The line to change."""
    where = f" in {knot.place.file}:{knot.place.line}" if knot.place is not None else ""
    return f"change one of them; this list is made without: {knot.left_out}{where}"


def cautions(view: WorklistView) -> tuple[str, ...]:
    """What stands under every list."""
    words = [CAUTION]
    if view.curing or any(step.full_at is not None for step in view.steps):
        words.append(CURE_CAUTION)
    if any(need.torque is not None for need in view.needs.joints):
        words.append(TORQUE_CAUTION)
    return tuple(words)


def left_out_words(view: WorklistView) -> tuple[str, ...]:
    """What is not on the list, counted, with the line that shows it."""
    words = []
    if view.day_checks:
        words.append(
            f"before the first flight of the day: {plural(view.day_checks, 'check')} "
            f"(tailsheaf flyday {view.asked.until.isoformat()} --card)"
        )
    if view.never_done:
        words.append(
            f"{plural(view.never_done, 'task')} never recorded "
            f"(tailsheaf worklist {view.aircraft} --all)"
        )
    if view.soon:
        words.append(f"{view.soon} more due soon after (--all)")
    if view.shelf:
        titles = dict.fromkeys(item.task.title for item in view.shelf)
        words.append(f"only if it stays on the shelf: {'; '.join(titles)}")
    return tuple(words)
