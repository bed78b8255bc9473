"""The screen of `report`, and its page."""

from __future__ import annotations

from pathlib import Path

from cli.render.fault_shapes import faults_shape
from cli.render.marks import day_words, note_unread, unread_words
from cli.render.screen import Column, Meaning, Screen, Span
from cli.render.season import season_shape
from cli.render.shapes import Shape, aircraft_shape, item_shape
from cli.render.trend import trend_shape
from cli.session import Session
from register.pages.blocks import ATTEND, STOP, Table, Words
from register.pages.report_chapters import Chapter, More, Plot
from register.pages.report_document import CAUTION, build_report, title_of
from register.pages.series_text import draw_series, legend
from register.views.report import ReportView
from register.views.season_words import season_name

#: Rows of a table on a screen, and series drawn.
MOST_ROWS, MOST_DRAWN = 12, 2
#: What a narrow screen leaves out: `why`, `trend` and `faults` say it in full.
LEFT_OUT = frozenset({"basis", "limit"})
#: A column of whole sentences: on a narrow screen they stand under the table.
SENTENCES = "what may be concluded"
_TONES: dict[str, Meaning] = {STOP: "stop", ATTEND: "attend"}
_BAR = 40


def render_report(session: Session, view: ReportView, html: str | None) -> None:
    """Every chapter on the screen; with `html`, the page to a file."""
    note_unread(session, view.unread)
    session.open_items += sum(found.standing == "grounded" for found in view.standings)
    written = _write_page(session, view, html) if html is not None else ""
    screen = Screen()
    screen.title(title_of(view), day_words(view.on))
    if view.unread:
        screen.line(unread_words(view.unread))
    for chapter in build_report(view):
        screen.gap()
        screen.line([Span(chapter.title, "strong"), f"  {chapter.answer}"], 0, 2)
        for words in chapter.findings:
            screen.line(f"- {words}", 2, 4)
        _parts(session, screen, view, chapter)
    screen.gap()
    screen.line(Span(CAUTION, "faint"), 0, 2)
    if written:
        screen.line(written)
    session.show(screen, _shape(view, html))


def _parts(session: Session, screen: Screen, view: ReportView, chapter: Chapter) -> None:
    drawn = 0
    for part in chapter.parts:
        if isinstance(part, Table):
            _table(screen, part, session.width)
        elif isinstance(part, Words | More):
            screen.line(part.whole if isinstance(part, More) else part.text, 2, 2)
        elif part.kind == "trend" and part.line is not None and drawn < MOST_DRAWN:
            drawn += 1
            _drawing(session, screen, part)
        elif part.kind == "flights":
            _bars(session, screen, view)


def _write_page(session: Session, view: ReportView, html: str) -> str:
    """Write the page where the owner said, and say what it is without."""
    from register.faults.extra import LIBRARIES, find_mend
    from register.pages.report_page import BEGINS, draw_report
    from register.pages.report_plots import load_plotter
    from register.storage.outside import write_outside

    plotter = load_plotter()
    # A page is handed round: no path of this computer stands on it.
    page = draw_report(view, plotter, f"the extra figures ({', '.join(LIBRARIES)})")
    write_outside(session.cwd / Path(html), page.encode(), BEGINS.encode())
    if plotter is None:
        session.err.write(
            f"the page has no plots, which the light install leaves out\n  mend: {find_mend()}\n"
        )
    return f"page written: {html}"


def _table(screen: Screen, table: Table, width: int) -> None:
    if not table.rows:
        return
    heads = [column.removeprefix(">") for column in table.columns]
    wide = width >= 110
    shown = [n for n, head in enumerate(heads) if wide or head not in (*LEFT_OUT, SENTENCES)]
    texts = [n for n in shown if not table.columns[n].startswith(">")]
    # The two columns with the longest words take what is left.
    flexible = set(sorted(texts, key=lambda n: -max(len(row.cells[n]) for row in table.rows))[:2])
    columns = [
        Column(heads[n], right=table.columns[n].startswith(">"), flexible=n in flexible)
        for n in shown
    ]
    rows = []
    for row in table.rows[:MOST_ROWS] if table.columns[0] != "figure" else table.rows:
        cells: list[str | Span] = [row.cells[n] for n in shown]
        if row.tone in _TONES and heads[1] in ("standing",):
            cells[1] = Span(row.cells[1], _TONES[row.tone])
        rows.append(cells)
    screen.table(columns, rows, indent=2)
    left = len(table.rows) - len(rows)
    if left > 0:
        screen.line(f"and {left} more", 2)
    if SENTENCES in heads and not wide:
        screen.gap()
        for row in table.rows[:MOST_ROWS]:
            screen.line([Span(row.cells[0], "strong"), f": {row.cells[-1]}"], 2, 2)


def _drawing(session: Session, screen: Screen, plot: Plot) -> None:
    if plot.line is None:
        return
    screen.gap()
    screen.line(Span(plot.title, "strong"), 2)
    for row in draw_series(plot.line, session.width - 4, ascii_only=session.as_plain):
        screen.line(row, 2)
    screen.line(legend(plot.line, ascii_only=session.as_plain), 2, 2)


def _bars(session: Session, screen: Screen, view: ReportView) -> None:
    """Flights of each season as bars."""
    lines = [line for line in view.season.beside if line.flights.low]
    if len(lines) < 2:
        return
    most = max(int(line.flights.low) for line in lines)
    sign = "#" if session.as_plain else "█"
    rows = [
        (season_name(line), sign * max(round(int(line.flights.low) / most * _BAR), 1),
         str(line.flights.low))
        for line in lines[:6]
    ]  # fmt: skip
    screen.gap()
    columns = (Column("flights"), Column(""), Column("", right=True))
    screen.table(columns, rows, indent=2)
    screen.gap()


def _shape(view: ReportView, html: str | None) -> Shape:
    return {
        "version": 1,
        "on": view.on,
        "complete": view.complete,
        "unread": list(view.unread),
        "aircraft": view.aircraft,
        "standing": [aircraft_shape(found) for found in view.standings],
        "due": [item_shape(line.item) for line in view.due],
        "never_done": view.never_done,
        "faults": faults_shape(view.faults, (), with_figures=False),
        "trend": trend_shape(view.trend),
        "season": season_shape(view.season),
        "page": html,
    }
