"""A standing file while it is planned: a new one in its own order, an old one edited in place."""

from __future__ import annotations

from decimal import Decimal

from register.storage.writing import FileChange
from register.text.editing import edit_append, edit_set
from register.text.emitting import render_yaml
from register.text.nodes import Mapping, Node, Plain
from register.text.parsing import parse_text

Path = tuple[str | int, ...]


class Sheet:
    """Collects the changes of one file. `before` None: the file is new, and its keys stand
    in the order in which they are set; else comments and unknown keys survive.
    """

    def __init__(self, path: str, before: bytes | None, head: str = ""):
        self.path = path
        self.before = before
        self.touched: list[str] = []
        self._head = head
        self._data: dict[str, Plain] = {}
        self._bytes = before or b""

    @property
    def is_new(self) -> bool:
        """Whether the file does not exist yet."""
        return self.before is None

    def set(self, path: Path, value: Plain, said: str | None = None) -> None:
        """Give a key its value; `said` is a word for it in the commit message."""
        if self.is_new:
            _nest(self._data, path, value)
        else:
            path = self._spelled(path)
            self._bytes = edit_set(self.path, self._bytes, path, value)
        self._touch(said)

    def replace_keys(self, path: Path, pairs: dict[str, Plain], said: str | None = None) -> None:
        """Give keys of an inner mapping their values; where a bare value stands, all of it."""
        path = self._spelled(path)
        if isinstance(_find_node(self.path, self._bytes, path), Mapping):
            for key, value in pairs.items():
                self.set((*path, key), value, said)
        else:
            self.set(path, dict(pairs), said)

    def append(self, path: Path, item: Plain, said: str | None = None) -> None:
        """Add an item to a list, which is made where there is none."""
        if self.is_new:
            found = _dig(self._data, path)
            _nest(self._data, path, [*(found if isinstance(found, list) else []), item])
        else:
            self._bytes = edit_append(self.path, self._bytes, path, item)
        self._touch(said)

    @property
    def id(self) -> str:
        """The id that a new file was given, or nothing."""
        found = self._data.get("id")
        return found if isinstance(found, str) else ""

    @property
    def is_changed(self) -> bool:
        """Whether anything of the file differs from what it was."""
        return self.is_new or self._bytes != self.before

    def change(self) -> FileChange:
        """The change of the file as it stands now."""
        if self.is_new:
            return FileChange(self.path, None, (self._head + render_yaml(self._data)).encode())
        return FileChange(self.path, self.before, self._bytes)

    def _spelled(self, path: Path) -> Path:
        """The path with its keys as the file spells them: Engine_minutes for engine-minutes."""
        node: Node | None = parse_text(self.path, self._bytes).node
        found: list[str | int] = []
        for part in path:
            key: str | int = part
            if isinstance(part, str) and isinstance(node, Mapping):
                spelled = (entry.key for entry in node.entries if _folded(entry.key) == part)
                key = part if node.get(part) is not None else next(spelled, part)
                node = node.get(str(key))
            else:
                node = None
            found.append(key)
        return tuple(found)

    def _touch(self, said: str | None) -> None:
        if said and said not in self.touched:
            self.touched.append(said)


def plain_number(value: Decimal) -> int | Decimal:
    """A number as it is written: whole ones without a point."""
    return int(value) if value == value.to_integral_value() else value.normalize()


def _folded(key: str) -> str:
    return key.lower().replace("_", "-")


def _find_node(file: str, data: bytes, path: Path) -> Node | None:
    node: Node | None = parse_text(file, data).node
    for part in path:
        node = node.get(str(part)) if isinstance(node, Mapping) else None
    return node


def _dig(data: Plain, path: Path) -> Plain:
    for part in path:
        data = data.get(str(part)) if isinstance(data, dict) else None
    return data


def _nest(data: dict[str, Plain], path: Path, value: Plain) -> None:
    for part in path[:-1]:
        inner = data.setdefault(str(part), {})
        if not isinstance(inner, dict):
            inner = data[str(part)] = {}
        data = inner
    data[str(path[-1])] = value
