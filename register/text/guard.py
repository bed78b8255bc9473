"""The first look at a file's bytes: size, encoding, and characters that may not stand there.

Nothing is parsed here. What passes is text with LF line ends and no byte order mark.
"""

from __future__ import annotations

import re

from register.text.limits import MAX_BYTES
from register.trouble import Place, Problem

_MAX_SHOWN = 20

# What YAML 1.2 calls printable, less the three extra line separators and the inner
# byte order mark: those look like nothing on the screen and move the line numbers.
_FORBIDDEN = (
    "[^\t\n\x20-\x7e\xa0-\u2027\u202a-\ud7ff\ue000-\ufefe\uff00-\ufffd\U00010000-\U0010ffff]"
)
_CONFLICT = re.compile(r"^(?:<{7}(?: .*)?|={7}|>{7}(?: .*)?)$", re.MULTILINE)
_SEPARATORS = "\x85\u2028\u2029"


def is_clean(text: str) -> bool:
    """Whether no character stands in the text that may not.

    Hardly any text needs the pattern, which takes ten milliseconds to compile: what
    Python calls printable is all allowed.
    """
    if text.replace("\n", "").replace("\t", "").isprintable():
        return True
    return re.search(_FORBIDDEN, text) is None


def normalise(text: str) -> str:
    """Drop the byte order mark and turn CRLF into LF."""
    if text.startswith("\ufeff"):
        text = text[1:]
    return text.replace("\r\n", "\n") if "\r" in text else text


def split_lines(data: bytes) -> list[str]:
    """The lines of a file for showing an excerpt; bytes that are not UTF-8 become marks."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        text = data.decode("utf-16", "replace")
    else:
        text = data.decode("utf-8", "replace")
    return normalise(text).split("\n")


def check_bytes(file: str, data: bytes) -> tuple[str | None, tuple[Problem, ...]]:
    """Text of the file, or None with the reasons it cannot be read."""
    if len(data) > MAX_BYTES:
        says = f"the file has {len(data):,} bytes; a record has at most {MAX_BYTES:,}"
        mend = "move long text or data into an attachment, and name the attachment in the record"
        return None, (Problem(Place(file), "file-too-large", says, mend),)
    if b"\0" in data or data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return None, (_nul_or_utf16(file, data),)
    try:
        text = normalise(data.decode("utf-8"))
    except UnicodeDecodeError as error:
        return None, (_not_utf8(file, data, error.start),)
    problems = _check_characters(file, text) + _check_conflicts(file, text)
    return (None if problems else text), tuple(sorted(problems, key=lambda p: p.order))


def _spot(file: str, text: str, index: int, length: int = 1) -> Place:
    """The place of a character offset."""
    line = text.count("\n", 0, index) + 1
    column = index - (text.rfind("\n", 0, index) + 1) + 1
    return Place(file, line, column, column + length)


def _nul_or_utf16(file: str, data: bytes) -> Problem:
    marked = data.startswith((b"\xff\xfe", b"\xfe\xff"))
    if marked or data.count(b"\0") * 4 > len(data):
        return Problem(
            Place(file),
            "not-utf8",
            "the file looks like UTF-16; records are UTF-8 text",
            "open it in a text editor and save it again with the encoding UTF-8",
        )
    at = data.index(b"\0")
    before = normalise(data[:at].decode("utf-8", "replace"))
    return Problem(
        _spot(file, before, len(before)),
        "nul-byte",
        "a NUL byte stands in the file: it is not text, or a write was cut short",
        "take the file back from the history: git checkout -- the-file, or type it again",
    )


def _not_utf8(file: str, data: bytes, at: int) -> Problem:
    before = normalise(data[:at].decode("utf-8", "replace"))
    return Problem(
        _spot(file, before, len(before)),
        "not-utf8",
        f"the byte {data[at]:#04x} is not UTF-8; the file may be Latin-1 or Windows-1252",
        "open it in a text editor and save it again with the encoding UTF-8",
    )


def _check_characters(file: str, text: str) -> tuple[Problem, ...]:
    if is_clean(text):
        return ()
    found: list[Problem] = []
    for match in re.finditer(_FORBIDDEN, text):
        found.append(_character_problem(_spot(file, text, match.start()), match.group()))
        if len(found) == _MAX_SHOWN:
            break
    return tuple(found)


def _character_problem(place: Place, character: str) -> Problem:
    name = f"U+{ord(character):04X}"
    if character in _SEPARATORS:
        says = f"the hidden line separator {name} stands in the text"
        mend = "delete it; for a new line inside a text write \\n between double quotes"
        return Problem(place, "line-separator", says, mend)
    if character == "\r":
        says = "a carriage return stands alone: old line ends, or a stray character"
        mend = "save the file with LF line ends"
        return Problem(place, "control-character", says, mend)
    says = f"the control character {name} stands in the text and cannot be seen"
    return Problem(place, "control-character", says, "delete the character and type the word again")


def _check_conflicts(file: str, text: str) -> tuple[Problem, ...]:
    if "<<<<<<<" not in text:
        return ()
    groups: list[list[Place]] = []
    for match in _CONFLICT.finditer(text):
        place = _spot(file, text, match.start(), len(match.group()))
        if match.group().startswith("<"):
            groups.append([place])
        elif groups:
            groups[-1].append(place)
        if len(groups) > _MAX_SHOWN:
            break
    return tuple(_conflict_problem(group) for group in groups[:_MAX_SHOWN])


def _conflict_problem(places: list[Place]) -> Problem:
    return Problem(
        places[0],
        "conflict-markers",
        "two versions of these lines stand in the file, left by a merge",
        "keep the right lines; delete those that begin with <<<<<<<, ======= and >>>>>>>",
        related=tuple(places[1:]),
    )
