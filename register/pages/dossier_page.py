"""A dossier as one page of HTML: self-contained, for a telephone, a screen and A4 paper.

No script, no font, nothing fetched; every link leads to a place in the page itself.
"""

from __future__ import annotations

import re
from base64 import b64encode
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
    Picture,
    Pictures,
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


#: What a picture of each kept form begins with.
_FORMS = ((b"\xff\xd8\xff", "jpeg"), (b"\x89PNG\r\n", "png"), (b"RIFF", "webp"))
#: A word longer than this may be broken, and after how many letters each time.
_LONG, _PIECE = 24, 8
#: A word with a hyphen no longer than this stays in one piece: gear-r-2, te-114.
_NAME = 12
_DATE = re.compile(r"\b\d{4}-\d\d-\d\d\b(?: \d\d:\d\d\b)?")


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
        f'<p class="under">{_told(document.under)}</p>',
        '<div class="key">',
        *_pairs(document.key),
        "</div></header>",
    ]
    sections = (*document.first, *document.sections)
    numbers = {section.anchor: number for number, section in enumerate(sections, 1)}
    lines.extend(_contents(document.readers, numbers))
    lines.append('<div class="first">')
    for section in document.first:
        lines.extend(_section(section, numbers[section.anchor]))
    lines.append("</div>")
    for section in document.sections:
        lines.extend(_section(section, numbers[section.anchor]))
    lines.append("<footer>")
    lines.extend(f"<p>{_told(words)}</p>" for words in document.foot)
    lines.append('<p class="back"><a href="#top">back to the top</a></p></footer></body></html>')
    return "\n".join(lines) + "\n"


def _told(text: str) -> str:
    """Words on the page: dates in one piece, what is very long with places to break it."""
    words = []
    for word in text.split(" "):
        step = _PIECE if len(word) > _LONG else _LONG
        pieces = (word[n : n + step] for n in range(0, len(word), step))
        told = "<wbr>".join(clean_markup(piece) for piece in pieces)
        is_name = "-" in word and len(word) <= _NAME and not _DATE.search(word)
        words.append(f'<span class="d">{told}</span>' if is_name else told)
    return _DATE.sub(r'<span class="d">\g<0></span>', " ".join(words))


def _contents(readers: tuple[Reader, ...], numbers: dict[str, int]) -> Iterator[str]:
    yield '<nav class="who" aria-label="Contents">'
    for reader in readers:
        yield f"<div><h3>{clean_markup(reader.who)}</h3><ul>"
        for words, anchor in reader.asks:
            number = f'<span class="no">{numbers[anchor]}</span>'
            yield f'<li><a href="#{anchor}">{number}{clean_markup(words)}</a></li>'
        yield "</ul></div>"
    yield "</nav>"


def _section(section: Section, number: int) -> Iterator[str]:
    page = ' class="page"' if section.anchor in _NEW_SHEET else ""
    yield f'<section id="{section.anchor}"{page}><h2><span class="no">{number}</span>'
    yield f"{clean_markup(section.title)}</h2>"
    if section.answer:
        yield f'<p class="answer">{_told(section.answer)}</p>'
    for block in section.blocks:
        yield from _block(block)
    yield "</section>"


def _block(block: Block) -> Iterator[str]:
    match block:
        case Words(text, tone):
            style = "" if tone == PLAIN else f' class="{tone}"'
            yield f"<p{style}>{_told(text)}</p>"
        case Head(text):
            yield f"<h3>{_told(text)}</h3>"
        case Listed(items):
            yield "<ul>"
            yield from (f"<li>{_told(item)}</li>" for item in items)
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
        case Pictures(shown):
            yield '<div class="photos">'
            yield from (_photo(picture) for picture in shown)
            yield "</div>"


def _photo(picture: Picture) -> str:
    """A photo that the page itself holds; what begins like none of the kept forms is not shown."""
    caption = _told(picture.caption)
    kind = next((kind for sign, kind in _FORMS if picture.data.startswith(sign)), None)
    if kind is None:
        return f"<p>{caption}</p>"
    data = b64encode(picture.data).decode("ascii")
    alt = clean_markup(picture.caption)
    return (
        f'<figure><img alt="{alt}" src="data:image/{kind};base64,{data}">'
        f"<figcaption>{caption}</figcaption></figure>"
    )


def _pairs(block: Pairs) -> Iterator[str]:
    yield "<dl>"
    for name, words in block.rows:
        yield f"<dt>{_told(name)}</dt><dd>{_told(words)}</dd>"
    yield "</dl>"


def _table(block: Table) -> Iterator[str]:
    heads = [column.removeprefix(">") for column in block.columns]
    right = [column.startswith(">") for column in block.columns]
    yield "<table><thead><tr>"
    for head, figures in zip(heads, right, strict=True):
        style = ' class="r"' if figures else ""
        yield f'<th scope="col"{style}>{_told(head)}</th>'
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
    styles = [word for word, wanted in (("r", figures), ("none", cell == NOTHING)) if wanted]
    style = f' class="{" ".join(styles)}"' if styles else ""
    return f'<td data-h="{clean_markup(head)}"{style}>{_told(cell)}</td>'


def _boxes(groups: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]) -> Iterator[str]:
    for head, boxes in groups:
        yield f'<h3>{_told(head)}</h3><ul class="boxes">'
        for words, fine in boxes:
            small = f"<small>{_told(fine)}</small>" if fine else ""
            yield f'<li><span class="b"></span><span>{_told(words)}{small}</span></li>'
        yield "</ul>"
    yield '<p class="sign"><span>looked at by</span><span>second person</span><span>day</span></p>'
