"""Read git's configuration files without git, to see what they could run or redirect.

Pure: text in, entries out (git-config's syntax). Nothing is expanded, no other
file is opened, and what cannot be read is an entry of its own.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from msgspec import Struct

_SECTION = re.compile(r'\[([A-Za-z0-9.-]+)(?:[ \t]+"((?:[^"\\\n]|\\.)*)")?[ \t]*\]')
_KEY = re.compile(r"[A-Za-z][A-Za-z0-9-]*")


class Entry(Struct, frozen=True):
    """One setting: file, line from 1, section and key in lower case, value.

    `sub` is the part in quotes, as written. A line that cannot be read has the
    section `?` and the line as its value.
    """

    file: str
    line: int
    section: str
    sub: str
    key: str
    value: str

    @property
    def name(self) -> str:
        """The setting's full name, as `git config` takes it."""
        return ".".join(part for part in (self.section, self.sub, self.key) if part)


def parse_config(file: str, data: bytes) -> tuple[Entry, ...]:
    """Return every setting of a configuration file, in order."""
    return tuple(_parse(file, data.decode("utf-8-sig", "replace")))


def _parse(file: str, text: str) -> Iterator[Entry]:
    section = sub = ""
    at, line = 0, 1
    while at < len(text):
        char = text[at]
        if char in " \t\r\n":
            line += char == "\n"
            at += 1
        elif char in "#;":
            at = _end_of_line(text, at)
        elif char == "[" and (found := _SECTION.match(text, at)):
            section, _, dotted = found[1].lower().partition(".")
            sub = re.sub(r"\\(.)", r"\1", found[2]) if found[2] is not None else dotted
            at = found.end()
        elif section and (found := _KEY.match(text, at)):
            start = line
            value, at, lines = _read_value(text, found.end())
            line += lines
            yield Entry(file, start, section, sub, found[0].lower(), value)
        else:
            end = _end_of_line(text, at)
            yield Entry(file, line, "?", "", "", text[at:end].strip())
            at = end


def _end_of_line(text: str, at: int) -> int:
    end = text.find("\n", at)
    return len(text) if end < 0 else end


def _read_value(text: str, at: int) -> tuple[str, int, int]:
    """Return the value after a key, where it ends, and how many lines it went on over."""
    while at < len(text) and text[at] in " \t":
        at += 1
    if at >= len(text) or text[at] != "=":
        # A key alone means true.
        return "true", at, 0
    at += 1
    out: list[str] = []
    lines = 0
    quoted = False
    while at < len(text) and text[at] != "\n":
        char = text[at]
        if char == "\\" and at + 1 < len(text):
            after = text[at + 1]
            lines += after == "\n"
            out.append({"n": "\n", "t": "\t", "b": "\b", "\n": ""}.get(after, after))
            at += 2
            continue
        if char == '"':
            quoted = not quoted
        elif char in "#;" and not quoted:
            at = _end_of_line(text, at)
            break
        else:
            out.append(char)
        at += 1
    return "".join(out).strip(), at, lines
