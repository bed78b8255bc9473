"""Three-way merge of whole folders, given as the blob id of each path."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from hashlib import sha256

from msgspec import Struct

from register.merge.caution import KEPT, NO_SIDE
from register.merge.missing import MISSING, Missing
from register.merge.texts import merge_texts
from register.merge.values import ValueClash, sort_text
from register.text.document import open_document, read_plain
from register.text.editing import edit_remove
from register.text.emitting import render_yaml
from register.text.nodes import Plain
from register.text.placing import put_value, take_value
from register.trouble import RegisterError

#: Clashes that are open lie here, one file each.
CLASHES = "clashes"
#: Bytes of a text that a clash file holds itself; of a longer one it names git's object.
LONGEST_TEXT = 64 * 1024
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
    reopened: list[str] = []
    for path in sorted({*base, *one, *two}):
        ids = base.get(path), one.get(path), two.get(path)
        if ids[1] == ids[2] or ids[2] == ids[0]:
            chosen = ids[1]
        elif ids[1] == ids[0]:
            chosen = ids[2]
        elif path.startswith(f"{CLASHES}/"):
            chosen, is_open = _merge_answers(path, ids, load, name, fresh)
            reopened.extend([path] if is_open else [])
        else:
            chosen = _merge_file(path, ids, load, name, fresh, clashes)
        if chosen is not None:
            tree[path] = chosen
    for path in reopened:
        _stand_again(fresh[tree[path]], path, tree, fresh, load, name)
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
        # Removed on one side, changed on the other: kept, and asked.
        past = MISSING if base is None else f"blob {ids[0]}"
        text = f"blob {ids[1] if one is not None else ids[2]}"
        if kept is not None and path.endswith(".yaml") and len(kept) <= LONGEST_TEXT:
            text = kept.decode("utf-8", "backslashreplace")
            past = MISSING if base is None else base.decode("utf-8", "backslashreplace")
        clashes.append(_name_clash(path, ValueClash((), past, MISSING, text, 2, KEPT)))
        return ids[1] if one is not None else ids[2]
    if not path.endswith(".yaml"):
        return _keep_both(path, ids, (one, two), clashes)
    merged = merge_texts(path, base, one, two)
    if merged.whole and len(one) + len(two) > LONGEST_TEXT:
        return _keep_both(path, ids, (one, two), clashes)
    clashes.extend(_name_clash(path, clash) for clash in merged.clashes)
    id_ = name(merged.data)
    fresh[id_] = merged.data
    return id_


def _merge_answers(
    path: str,
    ids: tuple[str | None, str | None, str | None],
    load: Load,
    name: Name,
    fresh: dict[str, bytes],
) -> tuple[str | None, bool]:
    """A question that both sides touched: answered alike it is answered, else it is open again."""
    files = [load(id_) for id_ in ids[1:] if id_ is not None]
    if len(files) < 2:
        # Taken away by hand on one side, which answers it.
        return None, False
    one, two = sorted(files)
    answers = [_answer_of(path, data) for data in (one, two)]
    if answers[0] == answers[1]:
        return (ids[1] if load(ids[1] or "") == one else ids[2]), False
    data = edit_remove(path, one, ("settled",)) if answers[0] else one
    id_ = name(data)
    fresh[id_] = data
    return id_, True


def _answer_of(path: str, data: bytes) -> Plain:
    try:
        plain = read_plain(open_document(path, data).root)
    except RegisterError:
        return None
    return plain.get("settled") if isinstance(plain, dict) else None


def _stand_again(
    question: bytes,
    path: str,
    tree: dict[str, str],
    fresh: dict[str, bytes],
    load: Load,
    name: Name,
) -> None:
    """Where two answers differed, the cautious value stands again until there is one answer."""
    plain = read_plain(open_document(path, question).root)
    if not isinstance(plain, dict):
        return
    file, key, stands = plain.get("file"), plain.get("key"), plain.get("stands")
    id_ = tree.get(str(file))
    if id_ is None or not isinstance(key, list) or not key:
        return
    side = "two" if stands in (2, "2") else "one"
    data = fresh[id_] if id_ in fresh else load(id_)
    where = tuple(str(part) for part in key)
    try:
        if side in plain:
            data = put_value(str(file), data, where, plain[side])
        else:
            data = take_value(str(file), data, where)
    except (LookupError, RegisterError):
        # The file went on without that place: the question says so when it is answered.
        return
    tree[str(file)] = id_ = name(data)
    fresh[id_] = data


def _keep_both(
    path: str,
    ids: tuple[str | None, str | None, str | None],
    sides: tuple[bytes, bytes],
    clashes: list[FileClash],
) -> str | None:
    """A picture or other file changed on both sides: the first stands, git keeps the other."""
    first = 1 if sides[0] <= sides[1] else 2
    second = 3 - first
    clash = ValueClash((), MISSING, f"blob {ids[first]}", f"blob {ids[second]}", 1, NO_SIDE)
    clashes.append(_name_clash(path, clash))
    return ids[first]


def _name_clash(path: str, clash: ValueClash) -> FileClash:
    values = [sort_text(value) for value in (clash.base, clash.one, clash.two)]
    parts = [path, "/".join(clash.path), *values]
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
        "why": inner.why,
    }
    for key, value in (("base", inner.base), ("one", inner.one), ("two", inner.two)):
        if not isinstance(value, Missing):
            data[key] = value
    return render_yaml(data).encode()
