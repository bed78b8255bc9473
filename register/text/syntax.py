"""What a YAML scanner's complaint means, in plain words, with the line that mends it."""

from __future__ import annotations

import re
from typing import Any

from register.text.emitting import render_text
from register.trouble import Place, Problem

_KEY_AND_REST = re.compile(r"^(\s*(?:- +)?[^\s:#'\"\[{]+:\s+)(\S.*?)\s*$")
_ITEM_AND_REST = re.compile(r"^(\s*- +)(\S.*?)\s*$")

_QUOTES = "put the whole text in double quotes"
_AT_CONTEXT = True
_AT_PROBLEM = False

# (complaint, says, mend, place of the context or of the problem, offer a quoted line)
_MEANINGS: tuple[tuple[re.Pattern[str], str, str, bool, bool], ...] = tuple(
    (re.compile(pattern, re.DOTALL), says, mend, at, offer)
    for pattern, says, mend, at, offer in (
        (
            r"character '\\t'|tab",
            "a tab stands where spaces are expected",
            "replace the tab by two spaces for each level",
            _AT_PROBLEM,
            False,
        ),
        (
            r"cannot start any token",
            "a value cannot begin with this character",
            _QUOTES,
            _AT_PROBLEM,
            True,
        ),
        (
            r"mapping values are not allowed",
            "a second colon stands in the value, or the line is indented too far",
            _QUOTES,
            _AT_PROBLEM,
            True,
        ),
        (
            r"quoted scalar.*(end of stream|document separator)",
            "the quote that opens here is never closed",
            "write the closing quote at the end of the text",
            _AT_CONTEXT,
            False,
        ),
        (
            r"unknown escape character|escape sequence",
            "a backslash stands in double quotes and the sign after it has no meaning",
            r"write the backslash twice: \\",
            _AT_PROBLEM,
            False,
        ),
        (
            r"parsing a flow sequence",
            "the list that opens here with [ is not closed, or a comma is missing",
            "write [a, b, c] with a comma between items and ] at the end; text needs quotes",
            _AT_CONTEXT,
            False,
        ),
        (
            r"parsing a flow mapping",
            "the mapping that opens here with { is not closed, or a comma is missing",
            "write {key: value, key: value} on one line; text needs quotes",
            _AT_CONTEXT,
            False,
        ),
        (
            r"could not find expected ':'",
            "this line has no colon, so it is neither a key nor part of the line above",
            "write  key: value ; for a longer text put all of it on one line in double quotes",
            _AT_CONTEXT,
            False,
        ),
        (
            r"scanning an? (alias|anchor)",
            "a value cannot begin with * or &",
            _QUOTES,
            _AT_CONTEXT,
            True,
        ),
        (r"scanning a tag|tag handle", "a value cannot begin with !", _QUOTES, _AT_CONTEXT, True),
        (
            r"scanning a block scalar",
            "a value cannot begin with | or > unless a block of text follows",
            _QUOTES,
            _AT_CONTEXT,
            True,
        ),
        (
            r"sequence entries are not allowed",
            "a list cannot begin on the line of its key",
            "put each item on its own line below the key, as  - item",
            _AT_PROBLEM,
            False,
        ),
        (
            r"parsing a block mapping",
            "this line does not fit the lines above: its indentation or a quote is off",
            "start keys that belong together in the same column, and put whole texts in quotes",
            _AT_PROBLEM,
            False,
        ),
        (
            r"parsing a block collection",
            "this line does not fit the list above",
            "start all items of a list in the same column, each with  - item",
            _AT_PROBLEM,
            False,
        ),
        (
            r"expected '?<document (start|end)>",
            "this line does not belong to the mapping above it",
            "start every key of the record in the first column, as  key: value",
            _AT_PROBLEM,
            False,
        ),
        (
            r"flow node.*stream end",
            "a bracket that was opened is never closed",
            "write ] or } at the end of the list or mapping; text needs quotes",
            _AT_PROBLEM,
            False,
        ),
        (
            r"expected the node content",
            "a value cannot begin with this sign",
            _QUOTES,
            _AT_PROBLEM,
            True,
        ),
    )
)
_SPECIAL = (
    (re.compile(r"scanning a directive|directive|YAML document with version"), "yaml-directive"),
    (re.compile(r"tag handle"), "yaml-tag"),
)


def syntax_problem(file: str, text: str, error: Any) -> Problem:
    """The problem behind a scanner or parser error; `error` carries ruamel's marks."""
    complaint = f"{error.context or ''}; {error.problem or ''}"
    lines = text.split("\n")
    if "mapping values are" in complaint and _is_own_colon(lines, error.problem_mark):
        return _misfit(_place(file, lines, error.problem_mark))
    if any(line.startswith("%") for line in lines) and "<document start>" in complaint:
        number = next(at for at, line in enumerate(lines, 1) if line.startswith("%"))
        return _special("yaml-directive", Place(file, number, 1, len(lines[number - 1]) + 1))
    for pattern, code in _SPECIAL:
        if pattern.search(complaint):
            return _special(code, _place(file, lines, error.problem_mark or error.context_mark))
    for pattern, says, mend, at_context, offer in _MEANINGS:
        if pattern.search(complaint):
            first, second = error.problem_mark, error.context_mark
            mark = (second or first) if at_context else (first or second)
            place = _place(file, lines, mark)
            ready = _quoted_line(lines, place.line) if offer else None
            if "tab stands" in says:
                ready = _untabbed_line(lines, place.line)
            return Problem(place, "yaml-syntax", says, ready or mend)
    place = _place(file, lines, error.problem_mark or error.context_mark)
    says = (
        f"the line cannot be read as YAML ({error.problem or error.context or 'no reason given'})"
    )
    mend = 'write  key: "text"  with text between double quotes'
    return Problem(place, "yaml-syntax", says, mend)


def unreadable_problem(file: str, line: int, error: Exception) -> Problem:
    """The problem when the scanner itself gave up, near the last line it had reached."""
    if isinstance(error, RecursionError):
        says = "lists and mappings stand too deep inside each other"
        return Problem(Place(file, line), "yaml-depth", says, "write it flatter")
    says = f"the text from this line on cannot be read as YAML ({type(error).__name__})"
    mend = 'write each line as  key: "text"  with text between double quotes'
    return Problem(Place(file, line), "yaml-syntax", says, mend)


def _is_own_colon(lines: list[str], mark: Any) -> bool:
    """Whether the complaint is about the first colon of a line, that of its key."""
    line = lines[mark.line] if mark.line < len(lines) else ""
    head = line[: mark.column]
    return line[mark.column : mark.column + 1] == ":" and ":" not in head and '"' not in head


def _misfit(place: Place) -> Problem:
    says = "this line does not fit the line above: indented too far, or no colon stands above"
    mend = "start it in the same column as the keys above, and give the line above its colon"
    return Problem(place, "yaml-syntax", says, mend)


def _special(code: str, place: Place) -> Problem:
    if code == "yaml-tag":
        says = "a tag stands before the value; records have no tags"
        return Problem(place, code, says, "delete the word that begins with !, or quote the text")
    says = "a line that begins with % changes how YAML is read; records do without"
    return Problem(place, code, says, "delete the line, or put the text in quotes")


def _place(file: str, lines: list[str], mark: Any) -> Place:
    """The mark's place; the end of the file is shown as its last written line."""
    if mark is None:
        return Place(file)
    line = min(mark.line, len(lines) - 1)
    column = mark.column if line == mark.line else len(lines[line])
    while line > 0 and not lines[line].strip():
        line -= 1
        column = len(lines[line])
    return Place(file, line + 1, column + 1, column + 2)


def _untabbed_line(lines: list[str], number: int) -> str | None:
    """The line with its tab replaced by what fits the line above it.

    Two spaces more than that under a key that opens something, else as many; none at the top.
    """
    line = lines[number - 1]
    if not line[: len(line) - len(line.lstrip())].count("\t"):
        return None
    written = (one for one in reversed(lines[: number - 1]) if one.strip())
    above = next((one for one in written if not one.lstrip().startswith("#")), "")
    depth = len(above) - len(above.lstrip(" "))
    in_item = above.lstrip(" ").startswith("- ") and not line.lstrip().startswith("- ")
    if above.rstrip().endswith(":") or in_item:
        depth += 2
    where = f"{depth} spaces" if depth else "nothing: it is a key of the record"
    return f"replace the tab by {where}, and write  {' ' * depth}{line.strip()[:120]}"


def _quoted_line(lines: list[str], number: int) -> str | None:
    """The written line with its value between quotes, when that is likely the mend."""
    line = lines[number - 1]
    match = _KEY_AND_REST.match(line) or _ITEM_AND_REST.match(line)
    if match is None or len(line) > 200:
        return None
    return f"{match[1].lstrip()}{render_text(match[2])}"
