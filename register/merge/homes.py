"""Which aircraft and parts are the same thing on several sides: their ids say, not their names.

One name may have been given on two machines to two things, and one thing may have got another
name on one side. So before folders are joined path by path, every side is laid out by the same
names. Of two things with one name the one whose id sorts first keeps it, and the other gets its
own id behind its name: alike on every machine and in any order of merging.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping

from msgspec import Struct

from register.merge.questions import is_question, read_question
from register.records.names import SHORTEST, name_before
from register.text.document import open_document, read_plain
from register.text.editing import edit_set
from register.trouble import RegisterError

Tree = Mapping[str, str]
Load = Callable[[str], bytes]
Home = tuple[str, str]
#: The main file of a home, by the folder that it is in.
MAIN = {"aircraft": "aircraft.yaml", "parts": "part.yaml"}


class Laid(Struct, frozen=True):
    """The folders laid out by common names: where each path of a side was, and new blobs."""

    trees: tuple[dict[str, str], ...]
    was: tuple[dict[str, str], ...]
    fresh: dict[str, bytes]


def lay_out(trees: tuple[Tree, ...], load: Load, name: Callable[[bytes], str]) -> Laid:
    """The past and both sides with every thing under one name."""
    plain = tuple(dict(tree) for tree in trees)
    wanted = _find_homes(trees)
    if not wanted:
        return Laid(plain, ({}, {}, {}), {})
    ids = [{home: _read_id(tree, home, load) for home in wanted} for tree in trees]
    settled = _taken(trees) - set(wanted)
    names = _choose_names(ids, settled)
    fresh: dict[str, bytes] = {}
    laid = []
    was = []
    for tree, known in zip(trees, ids, strict=True):
        moves = {
            home: names[home[0], id_]
            for home, id_ in known.items()
            if id_ and (home[0], id_) in names and names[home[0], id_] != home[1]
        }
        moved = {path: _move(path, moves) for path in tree} if moves else {}
        was.append({target: path for path, target in moved.items() if target != path})
        new = {moved[path]: id_ for path, id_ in tree.items()} if moves else dict(tree)
        for home, target in moves.items():
            _mark(new, home, (target, known[home] or ""), load, name, fresh)
        _lead_questions(new, moves, load, name, fresh)
        laid.append(new)
    return Laid(tuple(laid), tuple(was), fresh)


def _home_of(path: str) -> Home | None:
    parts = path.split("/", 2)
    return (parts[0], parts[1]) if len(parts) == 3 and parts[0] in MAIN else None


def _main_of(home: Home) -> str:
    return f"{home[0]}/{home[1]}/{MAIN[home[0]]}"


def _find_homes(trees: tuple[Tree, ...]) -> list[Home]:
    """Homes whose main file is not the same everywhere; most merges have hardly any."""
    found = set()
    for tree in trees:
        for path in tree:
            home = _home_of(path)
            if home is not None and path == _main_of(home):
                found.add(home)
    return sorted(home for home in found if len({tree.get(_main_of(home)) for tree in trees}) > 1)


def _taken(trees: tuple[Tree, ...]) -> frozenset[Home]:
    return frozenset(home for tree in trees for path in tree if (home := _home_of(path)))


def _read_id(tree: Tree, home: Home, load: Load) -> str | None:
    """The id that a side's main file gives; empty where it gives none, None without a file."""
    blob = tree.get(_main_of(home))
    if blob is None:
        return None
    try:
        plain = read_plain(open_document(_main_of(home), load(blob)).root)
    except RegisterError:
        return ""
    return str(plain.get("id", "")) if isinstance(plain, dict) else ""


Known = dict[Home, "str | None"]


def _choose_names(ids: list[Known], settled: frozenset[Home]) -> dict[tuple[str, str], str]:
    """The one name of each thing, by folder and id. `settled` are homes alike on all sides."""
    borne: dict[tuple[str, str], list[str | None]] = defaultdict(lambda: [None, None, None])
    for side, known in enumerate(ids):
        for home, id_ in known.items():
            # An id that was given to what had none in the past is no sign of another thing.
            if id_ and ids[0][home] != "":
                borne[home[0], id_][side] = home[1]
    claims: dict[Home, list[str]] = defaultdict(list)
    for (folder, id_), names in borne.items():
        claims[folder, _join_name(*names)].append(id_)
    found: dict[tuple[str, str], str] = {}
    for (folder, name), claimants in sorted(claims.items()):
        first, *others = sorted(claimants)
        found[folder, first] = name
        for id_ in others:
            found[folder, id_] = _with_id((folder, name), id_, ids, settled)
    return found


def _join_name(base: str | None, one: str | None, two: str | None) -> str:
    """What a thing is called: as on the side that renamed it, else what sorts first."""
    if one is None or two is None or one == two:
        return one or two or base or ""
    if one == base:
        return two
    return one if two == base else min(one, two)


def _with_id(home: Home, id_: str, ids: list[Known], settled: frozenset[Home]) -> str:
    folder, name = home
    for length in range(SHORTEST, len(id_)):
        longer = f"{name}-{id_[:length]}"
        holders = {known.get((folder, longer)) for known in ids}
        if (folder, longer) not in settled and holders <= {None, id_}:
            return longer
    return f"{name}-{id_}"


def _move(path: str, moves: Mapping[Home, str]) -> str:
    home = _home_of(path)
    target = None if home is None else moves.get(home)
    if home is None or target is None:
        return path
    return f"{home[0]}/{target}/{path.split('/', 2)[2]}"


def _mark(
    tree: dict[str, str],
    home: Home,
    became: tuple[str, str],
    load: Load,
    name: Callable[[bytes], str],
    fresh: dict[str, bytes],
) -> None:
    """What got its id behind its name keeps the old one as an alias, as what is received does."""
    path = _main_of((home[0], became[0]))
    if name_before(*became, (home[1],)) is None:
        return
    try:
        data = load(tree[path])
        plain = read_plain(open_document(path, data).root)
        known = plain.get("aliases") if isinstance(plain, dict) else None
        aliases = known if isinstance(known, list) else []
        if home[1] in aliases:
            return
        data = edit_set(path, data, ("aliases",), [*aliases, home[1]])
    except RegisterError:
        return
    tree[path] = id_ = name(data)
    fresh[id_] = data


def _lead_questions(
    tree: dict[str, str],
    moves: Mapping[Home, str],
    load: Load,
    name: Callable[[bytes], str],
    fresh: dict[str, bytes],
) -> None:
    """Open questions about what got another name go with it."""
    for path in [path for path in tree if moves and is_question(path)]:
        question = read_question(path, load(tree[path]))
        if question is None or _move(question.asked.file, moves) == question.asked.file:
            continue
        target = _move(question.asked.file, moves)
        data = edit_set(path, question.data, ("file",), target)
        tree[path] = id_ = name(data)
        fresh[id_] = data
