"""Clash files, `clashes/<id>.yaml`: written, read, and joined where both sides touched one.

A question is about one place of one file. Answered alike on both sides it is answered. Answered
differently it is asked again, and its two values are now the two answers, so that what it says
is what the file can hold.
"""

from __future__ import annotations

from hashlib import sha256
from typing import Any

from msgspec import Struct

from register.merge.missing import MISSING, Missing, Value
from register.merge.values import ValueClash, same, sort_text
from register.text.document import open_document, read_plain
from register.text.emitting import render_yaml
from register.text.nodes import Plain
from register.trouble import RegisterError

#: Clashes that are open lie here, one file each.
CLASHES = "clashes"
Spot = tuple[str, tuple[str, ...]]


class FileClash(Struct, frozen=True):
    """A clash in one file, and the id that it has on every machine."""

    id: str
    file: str
    clash: ValueClash

    @property
    def path(self) -> str:
        """Where its file lies."""
        return f"{CLASHES}/{self.id}.yaml"

    @property
    def spot(self) -> Spot:
        """What it is about."""
        return self.file, self.clash.path


class Question(Struct, frozen=True):
    """A clash file as one side has it, and its answer, if it has one."""

    data: bytes
    asked: FileClash
    settled: str | None

    def knows(self, value: Value) -> bool:
        """Whether a value is one of the two in question."""
        return same(value, self.asked.clash.one) or same(value, self.asked.clash.two)

    def asks_like(self, other: Question) -> bool:
        """Whether both are about the same two values."""
        mine, theirs = self.asked.clash, other.asked.clash
        return same(mine.one, theirs.one) and same(mine.two, theirs.two)


def is_question(path: str) -> bool:
    """Whether a path is of a clash file."""
    return path.startswith(f"{CLASHES}/")


def name_clash(path: str, clash: ValueClash) -> FileClash:
    """The clash with the id that every machine gives it."""
    values = [sort_text(value) for value in (clash.base, clash.one, clash.two)]
    parts = [path, "/".join(clash.path), *values]
    digest = sha256("\0".join(parts).encode()).digest()
    letters = "abcdefghjkmnpqrstvwxyz"
    return FileClash("".join(letters[byte % 22] for byte in digest[:10]), path, clash)


def render_clash(clash: FileClash, writers: tuple[str, str] = ("", "")) -> bytes:
    """The file of an open clash: where, the common past, both values and the machines that wrote
    them, where that is known, and which one stands."""
    inner = clash.clash
    data: dict[str, Plain] = {
        "clash": clash.id,
        "file": clash.file,
        "key": list(inner.path),
        "stands": inner.stands,
        "why": inner.why,
    }
    for key, value in (("base", inner.base), ("one", inner.one), ("two", inner.two)):
        if not isinstance(value, Missing):
            data[key] = value
    for key, machine in zip(("by_one", "by_two"), writers, strict=True):
        if machine:
            data[key] = machine
    return render_yaml(data).encode()


def read_question(path: str, data: bytes) -> Question | None:
    """A clash file; None where it cannot be read as one."""
    try:
        plain: Any = read_plain(open_document(path, data).root)
    except RegisterError:
        return None
    if not isinstance(plain, dict) or not isinstance(plain.get("key", []), list):
        return None
    base, one, two = (plain.get(key, MISSING) for key in ("base", "one", "two"))
    key = tuple(map(str, plain.get("key", [])))
    stands = 2 if plain.get("stands") in (2, "2") else 1
    settled = plain.get("settled")
    clash = ValueClash(key, base, one, two, stands, str(plain.get("why", "")))
    name = path.rpartition("/")[2].removesuffix(".yaml")
    asked = FileClash(str(plain.get("clash", name)), str(plain.get("file", "")), clash)
    return Question(data, asked, None if settled is None else str(settled))
