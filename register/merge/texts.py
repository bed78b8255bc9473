"""Three-way merge of one file: its data per field, its comments and lines kept.

Line by line where that gives the data wanted; else the side that sorts first is edited, key by
key, until its data is that, and comments which only the other side had are put at its end.
"""

from __future__ import annotations

from merge3 import Merge3
from msgspec import Struct

from register.merge.caution import NO_SIDE
from register.merge.missing import MISSING, Missing, Value
from register.merge.values import ValueClash, merge_values, same
from register.text.document import Path, open_document, read_plain
from register.text.editing import edit_append, edit_remove, edit_set
from register.text.items import find_teller
from register.text.nodes import Plain
from register.trouble import RegisterError


class TextMerge(Struct, frozen=True):
    """One file merged. `whole` is true where the sides could only be kept as wholes."""

    data: bytes
    clashes: tuple[ValueClash, ...]
    whole: bool = False


def merge_texts(file: str, base: bytes | None, one: bytes, two: bytes) -> TextMerge:
    """The merge of two versions of a YAML file with the common past `base`, if there is one."""
    one, two = sorted((one, two))
    if one == two or two == base:
        return TextMerge(one, ())
    if one == base:
        return TextMerge(two, ())
    try:
        past = _read(file, base) if base is not None else MISSING
        sides = _read(file, one), _read(file, two)
    except RegisterError:
        # A side that cannot be read cannot be merged by its fields.
        return _keep_whole(base, one, two)
    wanted, clashes = merge_values(past, *sides, file=file)
    if not isinstance(wanted, dict):
        return _keep_whole(base, one, two)
    lines = _merge_lines(base or b"", one, two)
    if lines is not None and _holds(file, lines, wanted):
        return TextMerge(lines, clashes)
    try:
        edited = _edit_towards(file, one, sides[0], wanted)
    except RegisterError:
        return _keep_whole(base, one, two)
    if not _holds(file, edited, wanted):
        return _keep_whole(base, one, two)
    return TextMerge(_keep_comments(file, edited, base, two), clashes)


def _keep_whole(base: bytes | None, one: bytes, two: bytes) -> TextMerge:
    """Both texts as one clash; the first stands."""
    texts = [_decode(data) for data in (base, one, two)]
    return TextMerge(one, (ValueClash((), texts[0], texts[1], texts[2], 1, NO_SIDE),), whole=True)


def _decode(data: bytes | None) -> str | Missing:
    return MISSING if data is None else data.decode("utf-8", "backslashreplace")


def _read(file: str, data: bytes) -> dict[str, Plain]:
    plain = read_plain(open_document(file, data).root)
    return plain if isinstance(plain, dict) else {}


def _holds(file: str, data: bytes, wanted: Value) -> bool:
    try:
        return same(_read(file, data), wanted)
    except RegisterError:
        return False


def _merge_lines(base: bytes, one: bytes, two: bytes) -> bytes | None:
    """The plain line merge, or None where it meets a conflict or depends on whose turn it is."""
    found = [_merge_once(base, *pair) for pair in ((one, two), (two, one))]
    return found[0] if found[0] == found[1] else None


def _merge_once(base: bytes, one: bytes, two: bytes) -> bytes | None:
    old, mine, theirs = (data.splitlines(keepends=True) for data in (base, one, two))
    lines: list[bytes] = []
    for region in Merge3(old, mine, theirs).merge_regions():
        if region[0] == "conflict":
            return None
        source = {"unchanged": old, "a": mine, "same": mine, "b": theirs}[region[0]]
        lines.extend(source[region[1] : region[2]])
    return b"".join(lines)


def _edit_towards(file: str, data: bytes, now: Value, wanted: Value, path: Path = ()) -> bytes:
    """Edit the file until the data at `path` is what is wanted."""
    if same(now, wanted):
        return data
    if isinstance(now, dict) and isinstance(wanted, dict):
        for key in [key for key in now if key not in wanted]:
            data = edit_remove(file, data, (*path, key))
        for key, value in wanted.items():
            data = _edit_towards(file, data, now.get(key, MISSING), value, (*path, key))
        return data
    if isinstance(now, list) and isinstance(wanted, list):
        edited = _edit_list(file, data, now, wanted, path)
        if edited is not None:
            return edited
    if isinstance(wanted, Missing):
        return edit_remove(file, data, path)
    return edit_set(file, data, path, wanted)


def _edit_list(
    file: str, data: bytes, now: list[Plain], wanted: list[Plain], path: Path
) -> bytes | None:
    """Item by item, or by adding at the end; None where the list must be written anew."""
    tell = find_teller(now, wanted)
    if tell and [tell(item) for item in now] == [tell(item) for item in wanted]:
        for index, (item, other) in enumerate(zip(now, wanted, strict=True)):
            data = _edit_towards(file, data, item, other, (*path, index))
        return data
    kept = len(now)
    if not kept or not same(now, wanted[:kept]):
        return None
    for item in wanted[kept:]:
        data = edit_append(file, data, path, item)
    return data


def _keep_comments(file: str, data: bytes, base: bytes | None, other: bytes) -> bytes:
    """Comments that the other side wrote are not lost: those missing go to the end."""
    here = {text for _, text in open_document(file, data).comments()}
    past = set() if base is None else {text for _, text in _comments_of(file, base)}
    new = [text for _, text in open_document(file, other).comments()]
    lost = [text for text in dict.fromkeys(new) if text not in here and text not in past]
    if not lost:
        return data
    end = b"" if data.endswith(b"\n") or not data else b"\n"
    return data + end + b"".join(text.encode() + b"\n" for text in lost)


def _comments_of(file: str, data: bytes) -> list[tuple[int, str]]:
    try:
        return open_document(file, data).comments()
    except RegisterError:
        return []
