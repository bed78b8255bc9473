"""Put a value where a path of keys and items' names leads, or take it away."""

from __future__ import annotations

from register.text.document import open_document, read_plain
from register.text.editing import edit_append, edit_remove, edit_set
from register.text.items import locate
from register.text.nodes import Plain


def put_value(file: str, data: bytes, key: tuple[str, ...], value: Plain) -> bytes:
    """The file with the value at `key`; an item that its list has not is appended.

    Raises LookupError where the way there is gone.
    """
    path, holder = _find(file, data, key)
    if isinstance(holder, list) and isinstance(path[-1], str):
        return edit_append(file, data, path[:-1], value)
    return edit_set(file, data, path, value)


def take_value(file: str, data: bytes, key: tuple[str, ...]) -> bytes:
    """The file without the value at `key`; unchanged where it has none.

    Raises LookupError where the way there is gone.
    """
    path, holder = _find(file, data, key)
    there = isinstance(path[-1], int) or (isinstance(holder, dict) and path[-1] in holder)
    return edit_remove(file, data, path) if there else data


def find_value(file: str, data: bytes, key: tuple[str, ...]) -> tuple[bool, Plain]:
    """Whether there is a value at `key`, and the value.

    Raises LookupError where the way there is gone.
    """
    path, holder = _find(file, data, key)
    last = path[-1]
    if isinstance(holder, list) and isinstance(last, int):
        return True, holder[last]
    if isinstance(holder, dict) and isinstance(last, str) and last in holder:
        return True, holder[last]
    return False, None


def _find(file: str, data: bytes, key: tuple[str, ...]) -> tuple[tuple[str | int, ...], Plain]:
    plain = read_plain(open_document(file, data).root)
    path = locate(plain, key)
    holder: Plain = plain
    for part in path[:-1]:
        if isinstance(holder, list) and isinstance(part, int):
            holder = holder[part]
        elif isinstance(holder, dict) and isinstance(part, str):
            holder = holder.get(part)
    return path, holder
