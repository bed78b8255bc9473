"""A dossier as plain text of 78 columns: the same words as the page, to read or to print anywhere.

Where the page has links, the text has the numbers of its sections.
"""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap

from register.pages.blocks import (
    ATTEND,
    STOP,
    Block,
    Boxes,
    Document,
    Figure,
    Head,
    Listed,
    Pairs,
    Picture,
    Pictures,
    Section,
    Table,
    Words,
)
from register.pages.dossier_document import build_document
from register.pages.dossier_words import NOTHING
from register.text.unseen import clean_text
from register.views.dossier import DossierView

WIDTH = 78
_LEAST = 7
#: More lines than this in one cell, and the table is told row by row.
_MOST_LINES = 4
_MARKS = {STOP: "!! ", ATTEND: "! "}


def render_dossier_text(view: DossierView) -> str:
    """The text."""
    return draw_text(build_document(view))


def draw_text(document: Document) -> str:
    """A document as plain text; every line ends without blanks."""
    sections = (*document.first, *document.sections)
    numbers = {section.anchor: number for number, section in enumerate(sections, 1)}
    lines = [*_wrap(document.title), *_wrap(document.under), "", *_pairs(document.key, "")]
    for reader in document.readers:
        lines.append("")
        lines.append(f"{clean_text(reader.who)}:")
        for words, anchor in reader.asks:
            lines.append(f"  {numbers[anchor]:>2}  {clean_text(words)}")
    for section in sections:
        lines.extend(_section(section, numbers[section.anchor]))
    lines.extend(("", "-" * WIDTH))
    for words in document.foot:
        lines.extend(_wrap(words))
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _section(section: Section, number: int) -> Iterator[str]:
    title = clean_text(f"{number}  {section.title}").upper()
    yield from ("", "", title, "=" * min(len(title), WIDTH))
    if section.answer:
        yield from _wrap(section.answer)
    for block in section.blocks:
        yield from _block(block)


def _block(block: Block) -> Iterator[str]:
    match block:
        case Words(text, tone):
            yield ""
            yield from _wrap(text, _MARKS.get(tone, ""))
        case Head(text):
            yield from _head(text)
        case Listed(items):
            yield from _items(items)
        case Pairs():
            yield from _pairs(block, "  ")
        case Table():
            yield from _table(block)
        case Boxes(groups):
            yield from _boxes(groups)
        case Figure(_, instead):
            yield from _wrap(instead)
        case Pictures(shown):
            yield from _photos(shown)


def _head(text: str) -> Iterator[str]:
    words = _wrap(text)
    yield from ("", *words, "-" * max(len(line) for line in words))


def _boxes(groups: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]) -> Iterator[str]:
    for head, boxes in groups:
        yield ""
        yield from _wrap(head)
        for words, fine in boxes:
            yield from _wrap(f"{words} ({fine})" if fine else words, "[ ] ")
    yield ""
    yield "looked at by ______________  second person ______________  day __________"


def _items(items: tuple[str, ...]) -> Iterator[str]:
    for item in items:
        yield from _wrap(item, "- ")


def _photos(shown: tuple[Picture, ...]) -> Iterator[str]:
    yield from _wrap("The photos are in the page (HTML); they show:")
    yield from _items(tuple(picture.caption for picture in shown))


def _wrap(text: str, first: str = "") -> list[str]:
    """Lines of a text behind its mark, the later ones under the first."""
    found = wrap(clean_text(text), WIDTH - len(first), break_on_hyphens=False) or [""]
    return [f"{first if not n else ' ' * len(first)}{line}" for n, line in enumerate(found)]


def _pairs(block: Pairs, indent: str) -> Iterator[str]:
    widest = max((len(clean_text(name)) for name, _ in block.rows), default=0)
    wide = min(widest, 24)
    for name, words in block.rows:
        head = clean_text(name)
        if len(head) > wide:
            yield f"{indent}{head}"
            head = ""
        yield from _wrap(words, f"{indent}{head:<{wide}}  ")


def _table(block: Table) -> Iterator[str]:
    """Columns side by side; the widest give way until they fit, and their words are wrapped."""
    heads = [clean_text(column.removeprefix(">")) for column in block.columns]
    right = [column.startswith(">") for column in block.columns]
    rows = [
        [_MARKS.get(row.tone, "") + clean_text(row.cells[0]), *map(clean_text, row.cells[1:])]
        for row in block.rows
    ]
    widths = _widths([heads, *rows])
    if _is_cramped(rows, widths):
        yield from _cards(heads, rows)
        return
    yield ""
    yield from _row(heads, widths, right)
    yield "  ".join("-" * width for width in widths)
    for row in rows:
        yield from _row(row, widths, right)


def _is_cramped(rows: list[list[str]], widths: list[int]) -> bool:
    """Some row would be a tower of short lines."""
    return any(
        sum(len(cell) > width for cell, width in zip(row, widths, strict=True)) > 1
        and max(len(cell) // width for cell, width in zip(row, widths, strict=True)) >= _MOST_LINES
        for row in rows
    )


def _cards(heads: list[str], rows: list[list[str]]) -> Iterator[str]:
    """Each row under its first cell, every other cell behind the name of its column."""
    wide = max(len(head) for head in heads[1:])
    for row in rows:
        yield ""
        yield from _wrap(row[0])
        for head, cell in zip(heads[1:], row[1:], strict=True):
            if cell != NOTHING:
                yield from _wrap(cell, f"    {head:<{wide}}  ")


def _widths(rows: list[list[str]]) -> list[int]:
    widths = [max(1, *map(len, column)) for column in zip(*rows, strict=True)]
    # What cannot be broken is not made narrower than that, while anything else can give way.
    words = [
        min(max(len(word) for cell in column for word in cell.split(" ")), 16)
        for column in zip(*rows, strict=True)
    ]
    room = WIDTH - 2 * (len(widths) - 1)
    for least in (words, [_LEAST] * len(widths), [1] * len(widths)):
        while sum(widths) > room:
            free = [n for n, width in enumerate(widths) if width > least[n]]
            if not free:
                break
            widths[max(free, key=widths.__getitem__)] -= 1
    return widths


def _row(cells: list[str], widths: list[int], right: list[bool]) -> Iterator[str]:
    columns = [
        [cell] if len(cell) <= width else wrap(cell, width, break_on_hyphens=False) or [""]
        for cell, width in zip(cells, widths, strict=True)
    ]
    for n in range(max(len(lines) for lines in columns)):
        pieces = [lines[n] if n < len(lines) else "" for lines in columns]
        yield "  ".join(
            f"{piece:>{width}}" if figures else f"{piece:<{width}}"
            for piece, width, figures in zip(pieces, widths, right, strict=True)
        )
