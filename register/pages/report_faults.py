"""The chapter of faults in the report: what keeps breaking, and what may be concluded of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from register.pages.blocks import ATTEND, FINE, PLAIN, Row, Table, Words
from register.pages.report_chapters import Chapter, More, Part, Plot
from register.views.faults import FaultLine, Shared
from register.views.report import ReportView
from register.views.season_words import FEW_NOTE, RATE_NOTE

MOST_FAULTS, MOST_SHARED, LEAST_TOLD = 8, 4, 2
TESTS_NOTE = (
    "{groups} faults enough for the trend tests, at 5 %; what looks like more or less "
    "in the others may be chance."
)
VERDICT_TEXT = {
    "rising": ("MORE OFTEN", ATTEND),
    "ended": ("ended", PLAIN),
    "falling": ("less often", PLAIN),
    "unsettled": ("unsettled", PLAIN),
    "looks-rising": ("MAY BE CHANCE", PLAIN),
    "steady": ("", PLAIN),
    "rate-only": ("", PLAIN),
    "too-few": ("", PLAIN),
    "no-rate": ("", PLAIN),
    "unsaid": ("", PLAIN),
}
VERDICT_SENTENCES = (
    ("rising", "comes more often"),
    ("ended", "ended with a fix"),
    ("looks-rising", "looks like more and may be chance"),
)


def build_faults(view: ReportView) -> Chapter:
    """The chapter of what keeps breaking: groups, what may be concluded, and the kit's."""
    faults = view.faults
    told = [line for line in faults.lines if line.count >= LEAST_TOLD]
    shown = told[:MOST_FAULTS]
    parts: list[Part] = []
    if shown:
        heads = ("fault", ">times", ">share", "last found", "the fix", "what may be concluded")
        parts.append(Table(heads, tuple(_fault_row(line) for line in shown)))
    for one in faults.shared[:MOST_SHARED]:
        parts.append(_shared(one))
    if any(line.flights.low for line in view.season.beside):
        parts.append(Plot("rates", "Faults in 100 flights by season", f"{RATE_NOTE} {FEW_NOTE}"))
    left = sum(line.count for line in faults.lines) - sum(line.count for line in shown)
    if left:
        parts.append(More(f"{left} more in smaller groups", "tailsheaf faults"))
    if faults.bare:
        says = "say" if faults.bare > 1 else "says"
        words = f"{faults.bare} of them {says} neither system nor mode"
        parts.append(More(words, faults.bare_line))
    if faults.total:
        groups = {0: "No group has", 1: "1 group has"}.get(
            faults.tested, f"{faults.tested} groups have"
        )
        parts.append(Words(TESTS_NOTE.format(groups=groups), FINE))
        parts.append(More("", "Every figure with its limits: tailsheaf faults --figures"))
    answer = f"{faults.total} fault{'' if faults.total == 1 else 's'} in service"
    back = sum(not one.state.unheld_open for one in faults.came_back)
    if back:
        answer += f", {back} of them back soon after a fix"
    findings = tuple(_find(view))
    return Chapter("faults", "What keeps breaking", f"{answer}.", tuple(parts), findings)


def _find(view: ReportView) -> Iterator[str]:
    """Which groups are more than chance or look like it, and what is of a whole kit."""
    faults = view.faults
    for verdict, words in VERDICT_SENTENCES:
        lines = [line for line in faults.lines if line.conclusion.verdict == verdict]
        yield from (f'"{line.group.label}" {words}{_mostly(line)}' for line in lines)
    yield from (
        f'"{one.system}, {one.mode}" is on several of a kit ({", ".join(one.aircraft)})'
        for one in faults.shared
    )


def _mostly(line: FaultLine) -> str:
    """Where most faults of a group were found: an aircraft and a place."""
    places = Counter((one.aircraft, one.position) for one in line.group.faults if one.aircraft)
    if not places:
        return ""
    (aircraft, place), _ = max(places.items(), key=lambda item: (item[1], str(item[0])))
    return f" ({aircraft}{f' {place}' if place else ''})"


def _fault_row(line: FaultLine) -> Row:
    word, tone = VERDICT_TEXT[line.conclusion.verdict]
    times = str(line.count)
    says = f"{word}. {line.conclusion.says}" if word else line.conclusion.says
    last = line.last[-1].day.isoformat() if line.last else ""
    return Row((line.group.label, times, f"{line.share:.0%}", last, line.fix_words, says), tone)


def _shared(one: Shared) -> Words | More:
    words = (
        f"On several aircraft of one kit, {one.kit}: {one.system}, {one.mode}, {one.count} on "
        f"{len(one.aircraft)} of {one.of} ({', '.join(one.aircraft)})"
    )
    if one.raised:
        return Words(f"{words}; a notice of the kit.")
    return More(words, f"tailsheaf notices --raise {one.raise_from[:6]}")
