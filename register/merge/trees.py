"""Three-way merge of whole folders, given as the blob id of each path."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from hashlib import sha256

from msgspec import Struct

from register.merge.texts import merge_texts
from register.merge.values import MISSING, Missing, ValueClash, sort_text
from register.text.emitting import render_yaml
from register.text.nodes import Plain

#: Clashes that are open lie here, one file each.
CLASHES = "clashes"
Load = Callable[[str], bytes]
Name = Callable[[bytes], str]


class FileClash(Struct, frozen=True):
    """A clash in one file, and the id that it has on every machine."""

    id: str
    file: str
    clash: ValueClash


class Merged(Struct, frozen=True):
    """The merged folder: blob id of each path, the bytes of blobs that no side had, the clashes."""

    tree: dict[str, str]
    fresh: dict[str, bytes]
    clashes: tuple[FileClash, ...]


def merge_trees(
    base: Mapping[str, str],
    one: Mapping[str, str],
    two: Mapping[str, str],
    load: Load,
    name: Name,
) -> Merged:
    """The merge of two folders with a common past; `name` gives the blob id of bytes.

    Only files changed on both sides are loaded. The result is the same for one and two swapped.
    """
    tree: dict[str, str] = {}
    fresh: dict[str, bytes] = {}
    clashes: list[FileClash] = []
    for path in sorted({*base, *one, *two}):
        ids = base.get(path), one.get(path), two.get(path)
        if ids[1] == ids[2] or ids[2] == ids[0]:
            chosen = ids[1]
        elif ids[1] == ids[0]:
            chosen = ids[2]
        else:
            chosen = _merge_file(path, ids, load, name, fresh, clashes)
        if chosen is not None:
            tree[path] = chosen
    for clash in clashes:
        path = f"{CLASHES}/{clash.id}.yaml"
        if path not in tree:
            # One that is there is the same question, perhaps answered already.
            data = render_clash(clash)
            tree[path] = id_ = name(data)
            fresh[id_] = data
    return Merged(tree, fresh, tuple(clashes))


def _merge_file(
    path: str,
    ids: tuple[str | None, str | None, str | None],
    load: Load,
    name: Name,
    fresh: dict[str, bytes],
    clashes: list[FileClash],
) -> str | None:
    base, one, two = (None if id_ is None else load(id_) for id_ in ids)
    if one is None or two is None:
        kept = one if one is not None else two
        if path.startswith(f"{CLASHES}/"):
            # Settled on one side: the question is answered.
            return None
        # Removed on one side, changed on the other: kept, and asked.
        text = None if kept is None else kept.decode("utf-8", "backslashreplace")
        past = MISSING if base is None else base.decode("utf-8", "backslashreplace")
        clashes.append(_name_clash(path, ValueClash((), past, MISSING, text, 2)))
        return ids[1] if one is not None else ids[2]
    if not path.endswith(".yaml"):
        return _keep_both(path, ids, (one, two), clashes)
    merged = merge_texts(path, base, one, two)
    clashes.extend(_name_clash(path, clash) for clash in merged.clashes)
    id_ = name(merged.data)
    fresh[id_] = merged.data
    return id_


def _keep_both(
    path: str,
    ids: tuple[str | None, str | None, str | None],
    sides: tuple[bytes, bytes],
    clashes: list[FileClash],
) -> str | None:
    """A picture or other file changed on both sides: the first stands, git keeps the other."""
    first = 1 if sides[0] <= sides[1] else 2
    second = 3 - first
    clash = ValueClash((), MISSING, f"blob {ids[first]}", f"blob {ids[second]}", 1)
    clashes.append(_name_clash(path, clash))
    return ids[first]


def _name_clash(path: str, clash: ValueClash) -> FileClash:
    parts = [path, "/".join(clash.path), sort_text(clash.one), sort_text(clash.two)]
    digest = sha256("\0".join(parts).encode()).digest()
    letters = "abcdefghjkmnpqrstvwxyz"
    return FileClash("".join(letters[byte % 22] for byte in digest[:10]), path, clash)


def render_clash(clash: FileClash) -> bytes:
    """The file of an open clash: where, the common past, both values, which one stands."""
    inner = clash.clash
    data: dict[str, Plain] = {
        "clash": clash.id,
        "file": clash.file,
        "key": list(inner.path),
        "stands": inner.stands,
    }
    for key, value in (("base", inner.base), ("one", inner.one), ("two", inner.two)):
        if not isinstance(value, Missing):
            data[key] = value
    return render_yaml(data).encode()
