"""faults: what keeps breaking, whether the fix held, and what may be concluded.

With `--json` it answers, version 1:

    {"version": 1, "on", "complete", "unread": [path], "subject", "by": [word], "since", "system",
     "mode", "total", "not_in_service", "tested",
     "rules": {"repeat_reports", "repeat_flights", "refix_flights", "refix_days", "basis"},
     "groups": [{"label", "key": {word: value}, "count", "occasions", "not_in_service", "share",
                 "cumulative",
                 "exposure": {"counter", "amount", "at_least", "per", "why"}, "rate": FIGURE,
                 "last": [FAULT], "open", "fixes": {"held", "back", "young",
                 "may_not_have_held", "records": [path]},
                 "seasons": [{"season", "count", "amount"}],
                 "verdict": "rising" | "ended" | "falling" | "unsettled" | "looks-rising" |
                            "steady" | "rate-only" | "too-few" | "no-rate" |
                            "unsaid", "says",
                 with --figures: "time_between": FIGURE, "trend": {"laplace": TEST,
                 "handbook": TEST}, "quiet", "growth": {"power": FIGURE, "corrected"} or null,
                 "likeness": {"aircraft", "ratio_test": TEST, "dispersion": TEST, "oddest",
                 "says"} or null, "cumulative_means": [{"kit", "aircraft", "method",
                 "convention", "too_few", "steps": [{"at", "at_risk", "faults", "mean", "low",
                 "high"}]}]}],
     "came_back": [{"snag", "aircraft", "text", "when", "fix", "action", "says", "sure"}],
     "shared": [{"kit", "system", "mode", "aircraft", "of", "count", "raise_from", "raised"}]}

    FIGURE: {"value", "low", "high", "level", "method", "convention", "events", "too_few"}
    TEST: {"statistic", "p", "direction", "method", "convention", "events", "too_few"}
    FAULT: {"id", "when", "aircraft", "position", "text", "open", "record"}

With `--compare`: {"version": 1, "compared": [A, B], "kind", "rows": [{"label", "counter",
"first": {"count", "amount"}, "second", "ratio": FIGURE, "conditional": TEST, "unconditional":
TEST}], "says"}. With `--life`: {"version": 1, "kind", "counter", "watched", "failed", "left_out",
"survival": [{"at", "at_risk", "failed", "share", "low", "high"}], "weibull": {"shape": FIGURE,
"scale": FIGURE} or null, "intervals": [{"what", "amount", "basis", "failed": FIGURE, "weibull":
FIGURE or null, "says"}], "parts": [{"part", "age", "entry", "failed", "record", "left_out"}],
"says"}.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from cli.completion import complete_subject
from cli.session import Session, current_session
from register.trouble import RegisterError

if TYPE_CHECKING:
    from register.views.faults import FaultsAsked

EXAMPLE = "Example: tailsheaf faults   (of one: tailsheaf faults heron --by position)"

Words = Annotated[bool, typer.Option("--words", help="The words for modes, mechanisms, systems.")]
Figures = Annotated[
    bool, typer.Option("--figures", help="The estimators with their intervals and methods.")
]


def command(
    subject: Annotated[
        str | None,
        typer.Argument(
            metavar="[AIRCRAFT|PART]",
            help="Whose; all if not given.",
            autocompletion=complete_subject,
        ),
    ] = None,
    by: Annotated[
        list[str] | None,
        typer.Option(
            "--by",
            metavar="WORDS",
            help="system, mode, kind, position, kit, aircraft, season; several with commas.",
        ),
    ] = None,
    since: Annotated[
        str | None, typer.Option("--since", metavar="DATE", help="Faults and use from a day on.")
    ] = None,
    system: Annotated[
        str | None, typer.Option("--system", help="One system only: gear, fuel, 32.")
    ] = None,
    mode: Annotated[
        str | None, typer.Option("--mode", help="One mode only: loose, leaks-outward.")
    ] = None,
    figures: Figures = False,
    compare: Annotated[
        tuple[str, str] | None,
        typer.Option("--compare", metavar="A B", help="Two aircraft, or two seasons."),
    ] = None,
    life: Annotated[
        str | None, typer.Option("--life", metavar="KIND", help="How long parts of a kind last.")
    ] = None,
    counter: Annotated[
        str | None, typer.Option("--counter", help="With --life, what age is counted in.")
    ] = None,
    every: Annotated[bool, typer.Option("--all", help="Every group, not the commonest.")] = False,
    words: Words = False,
) -> None:
    """Show what keeps breaking, how often, whether the fix held, and what may be concluded."""
    session = current_session()
    if words:
        _show_words(session)
        return
    _refuse_mixed(subject, compare, life, counter)
    if life is not None:
        _show_life(session, life, counter)
        return
    asked = _read_asked(session, by, since, system, mode)
    if compare is not None:
        _show_compare(session, asked, compare)
        return
    from cli.render.faults import render_faults
    from register.answers import answer_faults

    view, told = answer_faults(session.open(), session.on, subject, asked, figures=figures)
    render_faults(session, view, told, with_figures=figures, every=every)


def _show_compare(session: Session, asked: FaultsAsked, compare: tuple[str, str]) -> None:
    from cli.render.faults_compare import render_compare
    from register.answers import answer_compare

    render_compare(session, answer_compare(session.open(), session.on, asked, compare))


def _show_words(session: Session) -> None:
    from cli.render.fault_words import render_words

    render_words(session, session.open().standing.fleet.faults)


def _read_asked(
    session: Session,
    by: list[str] | None,
    since: str | None,
    system: str | None,
    mode: str | None,
) -> FaultsAsked:
    from register.entry.dates import read_day
    from register.entry.fault_questions import read_by, read_chapter, read_mode
    from register.views.faults import FaultsAsked

    fleet = session.open()
    ledger = fleet.ledger_at(session.on)
    return FaultsAsked(
        None,
        read_by(by or ()),
        read_day(since, session.now, fleet.zone) if since else None,
        read_chapter(ledger, system) if system else None,
        read_mode(ledger, mode) if mode else None,
    )


def _refuse_mixed(
    subject: str | None, compare: tuple[str, str] | None, life: str | None, counter: str | None
) -> None:
    """Questions that do not go together."""
    says = ""
    if compare is not None and (subject is not None or life is not None):
        says = "--compare names whom it compares; nothing else is asked with it"
    elif life is not None and subject is not None:
        says = "--life is about all parts of a kind, not of one aircraft"
    elif counter is not None and life is None:
        says = "--counter belongs to --life"
    if says:
        raise RegisterError(
            says, mend="tailsheaf faults --life servo   or  --compare heron kestrel", code="usage"
        )


def _show_life(session: Session, life: str, counter: str | None) -> None:
    from cli.render.part_life import render_part_life
    from register.answers import answer_part_life

    render_part_life(session, answer_part_life(session.open(), session.on, life, counter))
