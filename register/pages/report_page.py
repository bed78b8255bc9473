"""The report as one page: self-contained, no script, for a telephone, a screen and A4 paper."""

from __future__ import annotations

import re
from collections.abc import Iterator

from register.pages.blocks import FINE, PLAIN, Table, Words
from register.pages.markup import clean_markup
from register.pages.report_chapters import Chapter, More, Plot
from register.pages.report_document import CAUTION, build_report, title_of
from register.pages.report_plots import Plotter
from register.pages.style import POLICY, STYLE
from register.views.report import ReportView

#: The line that brings the plots, in the folder tailsheaf was installed from.
NO_PLOTS = "This page has no plots: the light install leaves them out. To have them: {mend}"
#: How a page of this command begins: only such a file is ever written over.
BEGINS = "<!doctype html>\n<!-- tailsheaf report -->"
#: Dates, intervals and counts of fixes: each stays in one piece.
_WHOLE = re.compile(
    r"\b\d{4}-\d\d(?:-\d\d)?\b|\(\d[\d.]*-[\d.]+\)|\b\d+ of \d+ held\b|\b\d+ (?:open|young)\b"
)
#: Short words that stay in one piece, where there is room.
_SHORT = frozenset({"standing", "state", "how"})
#: Rows up to which a table is not parted between two sheets of paper, and seasons on a telephone.
_TOGETHER, _SEASONS = 12, 3

_STYLE = """
nav.top{display:flex;flex-wrap:wrap;gap:2px 16px;margin:10px 0}nav.top a{padding:5px 0}
.plots{display:grid;grid-template-columns:repeat(auto-fit,minmax(min(100%,400px),1fr));gap:6px 26px}
.plots figure{margin:10px 0;max-width:470px;break-inside:avoid}
figcaption{font-weight:600;font-size:14px}figcaption small{display:block;font-weight:400;\
color:var(--soft);font-size:13px}
figure svg text{font-family:system-ui,-apple-system,"Segoe UI","DejaVu Sans",Arial,sans-serif;\
paint-order:stroke;stroke:var(--bg);stroke-width:3px;stroke-linejoin:round}
.short table{break-inside:avoid}
.wide td.r,.wide th.r{padding-left:8px}.found{margin:0 0 10px}.narrow{display:none}
.n{white-space:nowrap}
@media (max-width:700px){nav.top a{padding:9px 0}figcaption{font-size:15px}
.narrow{display:block}.n{white-space:normal}
.wide table{display:table;width:100%;table-layout:auto;font-size:14px}.wide thead{position:static;\
display:table-header-group}.wide tbody{display:table-row-group}.wide tr{display:table-row;border:0}
.wide td,.wide td.r{display:table-cell;border-bottom:1px solid var(--line);padding:4px 4px 4px 0}
.wide td.r,.wide th.r{text-align:right;padding:4px 0 4px 4px}
.wide td.r+td:not(.r),.wide th.r+th:not(.r){padding-left:10px}
.wide td[data-h]:not(:first-child)::before{content:none}
.wide td.old,.wide th.old{display:none}.wide td:first-child{overflow-wrap:anywhere}}
@media (max-width:360px){.wide table{font-size:12.5px}.wide th{font-size:11px}
.wide td.r,.wide th.r{padding:4px 0 4px 2px}}
@media print{nav.top,.back,.narrow{display:none}.answer{break-inside:avoid}\
.plots{grid-template-columns:1fr 1fr;gap:0 8mm}
.plots figure{max-width:none;margin:4pt 0;break-after:auto}figcaption{font-size:9.5pt}\
figcaption small{font-size:8.5pt}}
"""


def draw_report(view: ReportView, plotter: Plotter | None, mend: str) -> str:
    """The page. Without a plotter its tables stand alone, and it says which line adds plots."""
    title = clean_markup(title_of(view))
    chapters = build_report(view)
    complete = [] if view.complete else [_paragraph(_incomplete(view), "stop")]
    lines = [
        BEGINS,
        '<html lang="en"><head><meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">',
        '<meta name="viewport" content="width=device-width,initial-scale=1">',
        '<meta name="referrer" content="no-referrer"><meta name="robots" content="noindex">',
        f"<title>{title}</title>",
        f"<style>{STYLE}{_STYLE}</style></head><body>",
        f'<header id="top"><h1>{title}</h1>',
        _paragraph(_under(view), "under"),
        *complete,
        "</header>",
        '<nav class="top" aria-label="Contents">',
        *(f'<a href="#{one.anchor}">{clean_markup(one.title)}</a>' for one in chapters),
        "</nav>",
    ]
    for chapter in chapters:
        lines.extend(_chapter(chapter, view, plotter))
    lines.append("<footer>")
    if plotter is None:
        lines.append(_paragraph(NO_PLOTS.format(mend=mend), "attend"))
    lines.append(_paragraph(CAUTION))
    lines.append('<p class="back"><a href="#top">back to the top</a></p></footer></body></html>')
    return "\n".join(lines) + "\n"


def _under(view: ReportView) -> str:
    season = view.season
    last = season.on if season.is_running else season.end
    money = " With money: for the owner alone." if season.with_money else ""
    return (
        f"As recorded on {view.on:%a} {view.on.isoformat()}; season {season.first.isoformat()} to "
        f"{last.isoformat()}.{money}"
    )


def _incomplete(view: ReportView) -> str:
    count = len(view.unread)
    files = f"{count} file{'s' if count > 1 else ''}"
    return f"INCOMPLETE: {files} could not be read, and nothing of them is counted here."


def _paragraph(words: str, style: str = "") -> str:
    kind = f' class="{style}"' if style and style != PLAIN else ""
    return f"<p{kind}>{_told(words)}</p>"


def _told(words: str) -> str:
    """Words on the page, each date and interval in one piece."""
    return _WHOLE.sub(r'<span class="d">\g<0></span>', clean_markup(words))


def _chapter(chapter: Chapter, view: ReportView, plotter: Plotter | None) -> Iterator[str]:
    yield f'<section id="{chapter.anchor}"><h2>{clean_markup(chapter.title)}</h2>'
    yield _paragraph(chapter.answer, "answer")
    if chapter.findings:
        listed = "".join(f"<li>{_told(words)}</li>" for words in chapter.findings)
        yield f'<ul class="found">{listed}</ul>'
    waiting: list[str] = []
    for part in chapter.parts:
        if isinstance(part, Plot):
            # Plots that follow each other stand side by side where there is room.
            waiting.extend(_plot(part, view, plotter))
            continue
        yield from _plots(waiting)
        waiting = []
        if isinstance(part, Words):
            yield _paragraph(part.text, part.tone)
        elif isinstance(part, More):
            if part.text:
                yield _paragraph(f"{part.text}.", FINE)
        else:
            yield from _table(part)
    yield from _plots(waiting)
    yield "</section>"


def _plots(drawn: list[str]) -> Iterator[str]:
    if drawn:
        yield '<div class="plots">'
        yield from drawn
        yield "</div>"


def _plot(plot: Plot, view: ReportView, plotter: Plotter | None) -> Iterator[str]:
    svg = plotter.draw(plot, view) if plotter is not None else ""
    if svg:
        note = f"<small>{_told(plot.note)}</small>" if plot.note else ""
        yield f"<figure><figcaption>{clean_markup(plot.title)}{note}</figcaption>{svg}</figure>"


def _table(table: Table) -> Iterator[str]:
    """A table; of figures by season a telephone shows the latest three, and says so."""
    seasons = table.columns[0] == "figure"
    heads = [column.removeprefix(">") for column in table.columns]
    styles = [
        " ".join(
            word
            for word, wanted in (
                ("r", column.startswith(">")),
                ("n", column in _SHORT),
                ("old", seasons and n > _SEASONS),
            )
            if wanted
        )
        for n, column in enumerate(table.columns)
    ]
    short = " short" if seasons or len(table.rows) <= _TOGETHER else ""
    yield f'<div class="{"wide" if table.narrow else "cards"}{short}"><table><thead><tr>'
    for head, style in zip(heads, styles, strict=True):
        yield f'<th scope="col"{_class(style)}>{clean_markup(head)}</th>'
    yield "</tr></thead><tbody>"
    for row in table.rows:
        cells = zip(heads, row.cells, styles, strict=True)
        drawn = "".join(_cell(head, cell, style) for head, cell, style in cells)
        yield f"<tr{_class('' if row.tone == PLAIN else row.tone)}>{drawn}</tr>"
    yield "</tbody></table></div>"
    if seasons and len(heads) > _SEASONS + 1:
        yield _paragraph("Earlier seasons are on a wider screen and on paper.", "fine narrow")


def _cell(head: str, cell: str, style: str) -> str:
    """One cell; on a telephone it names its column, and an empty one is not shown."""
    style = style if cell else f"{style} none".strip()
    return f'<td data-h="{clean_markup(head)}"{_class(style)}>{_told(cell)}</td>'


def _class(words: str) -> str:
    return f' class="{words}"' if words else ""
