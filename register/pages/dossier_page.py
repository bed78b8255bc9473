"""A dossier as one page of HTML: self-contained, for a telephone, a screen and A4 paper.

No script, no font, nothing fetched; every link leads to a place in the page itself.
"""

from __future__ import annotations

from collections.abc import Iterator

from register.pages.blocks import (
    PLAIN,
    Block,
    Boxes,
    Document,
    Figure,
    Head,
    Listed,
    Pairs,
    Reader,
    Section,
    Table,
    Words,
)
from register.pages.damage_svg import WIDTH
from register.pages.dossier_document import build_document
from register.pages.dossier_words import NOTHING
from register.pages.markup import clean_markup
from register.pages.style import POLICY, STYLE
from register.views.dossier import DossierView

#: Sections that begin a new sheet of paper.
_NEW_SHEET = ("totals", "inspection", "history")


def render_dossier(view: DossierView) -> str:
    """The page."""
    return draw_page(build_document(view))


def draw_page(document: Document) -> str:
    """A document as HTML."""
    title = clean_markup(document.title)
    lines = [
        "<!doctype html>",
        '<html lang="en"><head><meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">',
        '<meta name="viewport" content="width=device-width,initial-scale=1">',
        '<meta name="referrer" content="no-referrer"><meta name="robots" content="noindex">',
        f"<title>{title}: dossier</title>",
        f"<style>{STYLE}</style></head><body>",
        f'<header id="top"><h1>{title}</h1>',
        f'<p class="under">{clean_markup(document.under)}</p>',
        '<div class="key">',
        *_pairs(document.key),
        "</div></header>",
        *_contents(document.readers),
    ]
    for section in (*document.first, *document.sections):
        lines.extend(_section(section))
    lines.append("<footer>")
    lines.extend(f"<p>{clean_markup(words)}</p>" for words in document.foot)
    lines.append('<p><a href="#top">back to the top</a></p></footer></body></html>')
    return "\n".join(lines) + "\n"


def _contents(readers: tuple[Reader, ...]) -> Iterator[str]:
    yield '<nav class="who" aria-label="Contents">'
    for reader in readers:
        yield f"<div><h3>{clean_markup(reader.who)}</h3><ul>"
        for words, anchor in reader.asks:
            yield f'<li><a href="#{anchor}">{clean_markup(words)}</a></li>'
        yield "</ul></div>"
    yield "</nav>"


def _section(section: Section) -> Iterator[str]:
    page = ' class="page"' if section.anchor in _NEW_SHEET else ""
    yield f'<section id="{section.anchor}"{page}><h2>{clean_markup(section.title)}</h2>'
    if section.answer:
        yield f'<p class="answer">{clean_markup(section.answer)}</p>'
    for block in section.blocks:
        yield from _block(block)
    yield "</section>"


def _block(block: Block) -> Iterator[str]:
    match block:
        case Words(text, tone):
            style = "" if tone == PLAIN else f' class="{tone}"'
            yield f"<p{style}>{clean_markup(text)}</p>"
        case Head(text):
            yield f"<h3>{clean_markup(text)}</h3>"
        case Listed(items):
            yield "<ul>"
            yield from (f"<li>{clean_markup(item)}</li>" for item in items)
            yield "</ul>"
        case Pairs():
            yield from _pairs(block)
        case Table():
            yield from _table(block)
        case Boxes(groups):
            yield from _boxes(groups)
        case Figure(drawing):
            yield "<figure>"
            yield (
                f'<svg viewBox="0 0 {WIDTH:.0f} {drawing.high:.0f}" role="img" '
                'aria-label="marks by number, from above and from the left">'
            )
            yield from drawing.parts
            yield "</svg></figure>"


def _pairs(block: Pairs) -> Iterator[str]:
    yield "<dl>"
    for name, words in block.rows:
        yield f"<dt>{clean_markup(name)}</dt><dd>{clean_markup(words)}</dd>"
    yield "</dl>"


def _table(block: Table) -> Iterator[str]:
    heads = [column.removeprefix(">") for column in block.columns]
    right = [column.startswith(">") for column in block.columns]
    yield "<table><thead><tr>"
    for head, figures in zip(heads, right, strict=True):
        style = ' class="r"' if figures else ""
        yield f'<th scope="col"{style}>{clean_markup(head)}</th>'
    yield "</tr></thead><tbody>"
    for row in block.rows:
        tone = "" if row.tone == PLAIN else f' class="{row.tone}"'
        yield (
            f"<tr{tone}>"
            + "".join(
                _cell(head, cell, figures=figures)
                for head, cell, figures in zip(heads, row.cells, right, strict=True)
            )
            + "</tr>"
        )
    yield "</tbody></table>"


def _cell(head: str, cell: str, *, figures: bool) -> str:
    """One cell; on a telephone it names its column, and is not shown where it says nothing."""
    styles = [word for word, wanted in (("r", figures), ("no", cell == NOTHING)) if wanted]
    style = f' class="{" ".join(styles)}"' if styles else ""
    return f'<td data-h="{clean_markup(head)}"{style}>{clean_markup(cell)}</td>'


def _boxes(groups: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]) -> Iterator[str]:
    for head, boxes in groups:
        yield f'<h3>{clean_markup(head)}</h3><ul class="boxes">'
        for words, fine in boxes:
            small = f"<small>{clean_markup(fine)}</small>" if fine else ""
            yield f'<li><span class="b"></span><span>{clean_markup(words)}{small}</span></li>'
        yield "</ul>"
    yield '<p class="sign"><span>looked at by</span><span>second person</span><span>day</span></p>'
