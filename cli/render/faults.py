"""The screen of `faults`: the commonest first, what may be concluded, and what came back."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from cli.render.fault_figures import figure_lines, method_lines
from cli.render.fault_shapes import faults_shape
from cli.render.marks import day_words, note_unread, unread_words
from cli.render.screen import Column, Meaning, Screen, Span, Words
from cli.session import Session
from register.entry.ids import shorten_id
from register.faults.concluding import FOUND, figure_words
from register.faults.results import Figure
from register.views.fault_figures import GroupFigures
from register.views.faults import CameBack, FaultLine, FaultsView, Shared

#: Groups, fixes and kits on one screen; --all shows every one.
MOST = 8
MOST_BACK = 5
MOST_WHY = 3
#: Groups with fewer faults are told in one line.
LEAST_TOLD = 3
VERDICT_WORDS: dict[str, tuple[str, Meaning]] = {
    "rising": ("MORE OFTEN", "attend"),
    "ended": ("ended", "well"),
    "falling": ("less often", "plain"),
    "unsettled": ("NOT SETTLED", "unsure"),
    "looks-rising": ("MAY BE CHANCE", "unsure"),
    "steady": ("no trend", "plain"),
    "rate-only": ("trend not to tell", "faint"),
    "too-few": ("too few", "faint"),
    "no-rate": ("no rate", "faint"),
    "unsaid": ("counted only", "faint"),
}
SHORT_PER = {"flights": "fl", "landings": "ldg", "engine-minutes": "h"}


def render_faults(
    session: Session,
    view: FaultsView,
    figures: Sequence[GroupFigures],
    *,
    with_figures: bool,
    every: bool,
) -> None:
    """The plain view; with figures, the estimators under each group."""
    note_unread(session, view.unread)
    screen = Screen()
    screen.title(_title(view), day_words(view.on))
    if view.unread:
        screen.line(unread_words(view.unread))
    shown = view.lines if every else view.lines[:MOST]
    ids = session.open().ledger.settled.originals if view.came_back or view.shared else {}
    if not view.lines:
        screen.line("no snag is recorded that is asked of")
    else:
        _table(screen, shown, more=len(view.lines) - len(shown))
        told = {id(one.line): one for one in figures}
        for line in shown:
            _told(screen, line, told.get(id(line)))
    _back(screen, view.came_back if every else view.came_back[:MOST_BACK], view, ids)
    _kits(screen, view.shared, ids)
    _methods(screen, [told for told in figures if told.line in shown])
    screen.gap()
    for words in foot_words(view):
        screen.line(words, 0, 2)
    session.show(screen, faults_shape(view, figures, with_figures=with_figures))


def _title(view: FaultsView) -> str:
    whose = view.asked.subject[1] if view.asked.subject else "whole fleet"
    words = [f"Faults: {whose}, by {' and '.join(view.asked.by)}"]
    if view.asked.since is not None:
        words.append(f"since {view.asked.since.isoformat()}")
    if view.asked.chapter is not None:
        words.append(f"system {view.asked.chapter}")
    if view.asked.mode is not None:
        words.append(view.asked.mode)
    return ", ".join(words)


def _table(screen: Screen, shown: Sequence[FaultLine], more: int) -> None:
    screen.gap()
    screen.table(
        (
            Column("fault", flexible=True),
            Column("n", right=True),
            Column("share", right=True),
            Column("so far", right=True),
            Column("in 100", right=True),
            Column("the fix", flexible=True),
        ),
        [_row(line) for line in shown],
    )
    if more:
        screen.line(f"{more} more group{'' if more == 1 else 's'} (--all)")


def _row(line: FaultLine) -> tuple[Words, ...]:
    group = line.group
    count = str(line.count) if line.count or not group.others else f"0 +{group.others}"
    return (
        Span(group.label, "strong"),
        count,
        percent(line.share) if line.count else "",
        percent(line.cumulative) if line.count else "",
        _rate(line),
        line.fix_words if line.count else "",
    )


def _rate(line: FaultLine) -> str:
    """No rate of a heap of unlike things."""
    group = line.group
    if not line.count or line.conclusion.verdict == "unsaid":
        return ""
    return rate_words(line.conclusion.rate, group.counter, vague=group.is_vague)


def percent(share: float) -> str:
    """A share in a hundred."""
    return f"{share * 100:.0f} %"


def rate_words(rate: Figure, counter: str, *, vague: bool = False) -> str:
    """A rate with its interval; below the least number the interval alone."""
    if rate.low is None or rate.high is None:
        return "no use"
    ends = f"{figure_words(rate.low)}-{figure_words(rate.high)}"
    per = SHORT_PER[counter]
    mark = "~" if vague else ""
    if rate.too_few or rate.value is None:
        return f"{mark}{ends} {per}"
    return f"{mark}{figure_words(rate.value)} ({ends}) {per}"


def _told(screen: Screen, line: FaultLine, figures: GroupFigures | None) -> None:
    """What may be concluded, and the last three."""
    if not line.count:
        return
    if line.count < LEAST_TOLD and figures is None:
        return
    screen.gap()
    word, meaning = VERDICT_WORDS[line.conclusion.verdict]
    screen.line([Span(line.group.label, "strong"), "  ", Span(word, meaning)])
    screen.line(line.conclusion.says, 2, 0)
    screen.line(f"last: {last_words(line)}", 2, 6)
    if figures is not None:
        for words in figure_lines(figures):
            screen.line(words, 2, 2)


def _methods(screen: Screen, figures: Sequence[GroupFigures]) -> None:
    """How each sort of figure was made, once for all groups."""
    if figures:
        screen.gap()
        screen.line(Span("Methods", "heading"))
        for words in method_lines(figures):
            screen.line(words, 0, 2)


def last_words(line: FaultLine) -> str:
    """The last three, the latest first."""
    return "; ".join(
        f"{fault.day.isoformat()} {fault.aircraft or fault.state.part or ''}"
        + (f" {fault.position}" if fault.position else "")
        + (" (open)" if fault.state.is_open else "")
        for fault in reversed(line.last)
    )


def _back(screen: Screen, came: Sequence[CameBack], view: FaultsView, ids: Collection[str]) -> None:
    if not came:
        return
    screen.gap()
    screen.line(Span("Fixes that did not hold, or may not have", "heading"))
    screen.table(
        (Column("day"), Column("id"), Column("on"), Column("what", flexible=True)),
        [
            (
                one.state.first_day.isoformat(),
                shorten_id(one.state.id, ids),
                one.state.found_on or one.state.part or "",
                f"{one.state.text}: {one.state.back_words}",
            )
            for one in came
        ],
    )
    if len(view.came_back) > len(came):
        screen.line(f"{len(view.came_back) - len(came)} earlier (--all)")


def _kits(screen: Screen, shared: Sequence[Shared], ids: Collection[str]) -> None:
    if not shared:
        return
    screen.gap()
    screen.line(Span("On several aircraft of one kit", "heading"))
    for one in shared:
        screen.line(
            f"{one.kit}: {one.system}, {one.mode}: {one.count} on {len(one.aircraft)} of {one.of} "
            f"({', '.join(one.aircraft)})",
            0,
            2,
        )
        if one.raised:
            screen.line("a notice was raised", 2)
        else:
            short = shorten_id(one.raise_from, ids)
            screen.line(
                [
                    "make it a notice of the kit: ",
                    Span(f"tailsheaf notices --raise {short}", "command"),
                ],
                2,
                2,
            )


def foot_words(view: FaultsView) -> list[str]:
    """What is counted, what luck alone would show, and what a repeat is."""
    found = [
        f"{view.total} found in service; rates count these only, with their 95 % limits "
        "(h engine hours for the engine's systems, ldg landings for the gear, fl flights)."
    ]
    told = [line.group for line in view.lines if line.group.why and line.count]
    found += [f"{group.label}: {group.why}." for group in told[:MOST_WHY]]
    if view.others:
        found[0] += f" {view.others} found at the kit check, in the build or off any aircraft."
    if any(line.group.is_vague for line in view.lines):
        found.append("~ some of the use is a range, of which the lower end is counted.")
    if view.bare:
        found.append(
            f"{view.bare} without system and mode; say them of the latest: {view.bare_line} "
            "(words: tailsheaf faults --words)"
        )
    if view.tested:
        luck = view.tested * FOUND
        found.append(
            f"{view.tested} group{'' if view.tested == 1 else 's'} tested for a trend at "
            f"{percent(FOUND)}: of so many about {luck:.1f} would look like one by luck alone."
        )
    if any(line.group.occasions != line.count for line in view.lines):
        found.append(
            "Faults of one group on one aircraft on one day are one occasion: tests and least "
            "numbers count occasions, rates every fault."
        )
    rules = view.rules
    days = f" or {rules.refix_days} days" if rules.refix_days else ""
    found.append(
        f"Back: within {rules.refix_flights} flights{days} of a fix, or {rules.repeat_reports} "
        f"reports in {rules.repeat_flights} flights ({rules.basis})."
    )
    return found
