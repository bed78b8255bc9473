"""Laying out a screen in columns of characters, with no drawing library."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator

from cli.render.sanitise import clean_text
from cli.render.screen import Column, Gap, Line, Screen, Span, Table, Title, Words, spans_of

GUTTER = 2
LEAST_FLEXIBLE = 16

Row = list[Span]


def width_of(text: str) -> int:
    """Columns a text takes: wide characters two, combining ones none."""
    if text.isascii():
        return len(text)
    return sum(
        0
        if unicodedata.combining(char) or unicodedata.category(char) in ("Mn", "Me", "Cf")
        else 2
        if unicodedata.east_asian_width(char) in "WF"
        else 1
        for char in text
    )


def lay_out(screen: Screen, width: int) -> Iterator[Row]:
    """Every line of a screen, as spans no wider than `width` where words allow."""
    for block in screen.blocks:
        if isinstance(block, Gap):
            yield []
        elif isinstance(block, Title):
            yield from _title(block, width)
        elif isinstance(block, Line):
            yield from _line(block, width)
        else:
            yield from _table(block, width)


def _line(line: Line, width: int) -> Iterator[Row]:
    for n, row in enumerate(wrap_words(line.words, width - line.indent - line.hang)):
        lead = line.indent + (line.hang if n else 0)
        yield [Span(" " * lead), *row] if lead else row


def _clean(words: Words) -> list[Span]:
    return [Span(clean_text(span.text), span.meaning) for span in spans_of(words) if span.text]


def _title(title: Title, width: int) -> Iterator[Row]:
    left = [Span(span.text, "heading") for span in _clean(title.left)]
    right = _clean(title.right)
    room = width - sum(width_of(span.text) for span in (*left, *right))
    if right and room < GUTTER:
        # Both do not fit on one line.
        yield from wrap_words(left, width)
        taken = sum(width_of(span.text) for span in right)
        yield [Span(" " * max(width - taken, 0)), *right]
    else:
        yield [*left, Span(" " * room), *right] if right else left


def wrap_words(words: Words, width: int) -> list[Row]:
    """Words broken into rows at spaces; a word longer than the row is cut."""
    rows: list[Row] = [[]]
    used = 0
    for span in _clean(words):
        for piece in _pieces(span.text):
            size = width_of(piece)
            if used + size > width and used and piece.strip():
                rows[-1] = _strip_end(rows[-1])
                rows.append([])
                used = 0
            if not used and len(rows) > 1:
                piece = piece.lstrip(" ")
                size = width_of(piece)
            while size > width > 0:
                head = _head(piece, width - used)
                rows[-1].append(Span(head, span.meaning))
                rows.append([])
                used = 0
                piece = piece[len(head) :]
                size = width_of(piece)
            if piece:
                rows[-1].append(Span(piece, span.meaning))
                used += size
    return rows


def _head(text: str, width: int) -> str:
    taken = 0
    for n, char in enumerate(text):
        taken += width_of(char)
        if taken > width and n:
            return text[:n]
    return text


def _pieces(text: str) -> Iterator[str]:
    start = 0
    for n in range(1, len(text)):
        if text[n - 1] == " " and text[n] != " ":
            yield text[start:n]
            start = n
    yield text[start:]


def _strip_end(row: Row) -> Row:
    while row and not row[-1].text.strip(" "):
        row = row[:-1]
    if row:
        row[-1] = Span(row[-1].text.rstrip(" "), row[-1].meaning)
    return row


def _table(table: Table, width: int) -> Iterator[Row]:
    cells = [[_clean(words) for words in row] for row in table.rows]
    wide = [
        max(
            [width_of(column.head) if table.heads else 0]
            + [sum(width_of(span.text) for span in row[n]) for row in cells if len(row) > 1]
        )
        for n, column in enumerate(table.columns)
    ]
    _fit(table, wide, width)
    if table.heads:
        head: list[Words] = [Span(column.head, "faint") for column in table.columns]
        yield from _row(table, head, wide)
    for row in cells:
        if len(row) == 1:
            # A row of one cell heads the rows below it.
            yield []
            yield list(row[0])
        else:
            yield from _row(table, list(row), wide)


def _fit(table: Table, wide: list[int], width: int) -> None:
    spare = width - table.indent - GUTTER * (len(wide) - 1) - sum(wide)
    flexible = [n for n, column in enumerate(table.columns) if column.flexible]
    while spare < 0 and flexible:
        widest = max(flexible, key=lambda n: wide[n])
        if wide[widest] <= LEAST_FLEXIBLE:
            break
        wide[widest] -= 1
        spare += 1


def _row(table: Table, row: list[Words], wide: list[int]) -> Iterator[Row]:
    columns = [wrap_words(words, max(wide[n], 1)) for n, words in enumerate(row)]
    for number in range(max(len(column) for column in columns)):
        line: Row = [Span(" " * table.indent)] if table.indent else []
        for n, column in enumerate(columns):
            part = column[number] if number < len(column) else []
            line.extend(_padded(part, wide[n], table.columns[n], last=n == len(columns) - 1))
        yield _strip_end(line)


def _padded(part: Row, width: int, column: Column, *, last: bool) -> Iterator[Span]:
    room = max(width - sum(width_of(span.text) for span in part), 0)
    if column.right and room:
        yield Span(" " * room)
    yield from part
    if not last:
        yield Span(" " * (GUTTER + (0 if column.right else room)))
