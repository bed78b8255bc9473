"""Join what several machines put into history, alike on every machine.

The joined commit is a function of the set of tips only: tips are taken in the order of their
ids, each pair is merged three-way from its common past (where there are several, from their own
merge), and author, date and words of the commit follow from its parents.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import reduce
from pathlib import Path

from msgspec import Struct

from register.git.commit import move_crash_report, quote_path
from register.git.heads import find_bases, find_newest, read_blobs, read_date, read_tree
from register.git.wrapper import build_environment, git_failed, start_git
from register.git.writers import find_writer
from register.trouble import Exit, RegisterError

Tree = dict[str, str]
#: base, one, two, how to load a blob, which machine wrote a path of side 1 or 2 -> the merged
#: tree and the bytes of blobs that are new.
MergeTrees = Callable[
    [
        Mapping[str, str],
        Mapping[str, str],
        Mapping[str, str],
        Callable[[str], bytes],
        Callable[[int, str], str],
    ],
    tuple[Tree, dict[str, bytes]],
]
#: Where a joined commit is kept until the branch has it, so that nothing takes it for waste.
JOINED = "refs/tailsheaf/joined"
AUTHOR = b"tailsheaf sync <sync@tailsheaf.invalid>"
WORDS = b"Take in what other machines wrote\n"


class Joined(Struct, frozen=True):
    """The commit that holds everything of some tips, and its tree."""

    commit: str
    tree: Tree


def join_tips(root: Path, tips: Sequence[str], merge: MergeTrees) -> Joined:
    """One commit with everything of all tips: one of them, or a merge made here.

    The branch and the files are not touched. Raises RegisterError (REFUSED `other-fleet`) where
    two tips share no past.
    """
    newest = find_newest(root, tips)
    first = Joined(newest[0], read_tree(root, newest[0]))
    return reduce(lambda one, tip: _join(root, one, tip, merge), newest[1:], first)


def _join(root: Path, one: Joined, tip: str, merge: MergeTrees) -> Joined:
    bases = find_bases(root, one.commit, tip)
    if not bases:
        raise RegisterError(
            "the other side is the history of another fleet; nothing was changed",
            mend="tailsheaf sync --list   shows the carriers; take the wrong one off",
            exit_code=Exit.REFUSED,
            code="other-fleet",
        )
    base = _past_of(root, bases, merge)
    two = read_tree(root, tip)
    changed = _changed_on_both(base.tree, one.tree, two)
    # Those that an earlier step made are not in git yet under a name, but they are objects.
    loaded = read_blobs(root, changed)

    def load(id_: str) -> bytes:
        if id_ not in loaded:
            loaded.update(read_blobs(root, [id_]))
        return loaded[id_]

    def who(side: int, path: str) -> str:
        return find_writer(root, one.commit if side == 1 else tip, bases, path)

    tree, fresh = merge(base.tree, one.tree, two, load, who)
    parents = tuple(sorted((one.commit, tip)))
    start = one.tree if parents[0] == one.commit else two
    return Joined(commit_tree(root, parents, start, tree, fresh), tree)


def _past_of(root: Path, bases: Sequence[str], merge: MergeTrees) -> Joined:
    """The common past: one commit, or where there are several, their own merge."""
    first = Joined(bases[0], read_tree(root, bases[0]))
    return reduce(lambda one, tip: _join(root, one, tip, merge), bases[1:], first)


def _changed_on_both(base: Mapping[str, str], one: Mapping[str, str], two: Tree) -> list[str]:
    """Blobs of the files that both sides changed, or that one changed and one removed."""
    wanted: list[str] = []
    for path in {*one, *two}:
        ids = base.get(path), one.get(path), two.get(path)
        if ids[1] != ids[2] and ids[0] not in ids[1:]:
            wanted.extend(id_ for id_ in ids if id_ is not None)
    return wanted


def commit_tree(
    root: Path,
    parents: tuple[str, ...],
    start: Mapping[str, str],
    tree: Mapping[str, str],
    fresh: Mapping[str, bytes],
    words: bytes = WORDS,
) -> str:
    """Make the commit of a merged tree; the branch stays where it is.

    `start` is the tree of the first parent; `fresh` the bytes of blobs that git has not.
    """
    date = max((read_date(root, parent) for parent in parents), key=_moment)
    lines = [
        b"commit " + JOINED.encode(),
        b"mark :1",
        b"author %s %s" % (AUTHOR, date),
        b"committer %s %s" % (AUTHOR, date),
        b"data %d\n%s" % (len(words), words),
        b"from " + parents[0].encode(),
        *(b"merge " + parent.encode() for parent in parents[1:]),
    ]
    lines.extend(b"D " + quote_path(path) for path in sorted(start.keys() - tree.keys()))
    for path, id_ in sorted(tree.items()):
        if start.get(path) == id_:
            continue
        data = fresh.get(id_)
        if data is None:
            lines.append(b"M 100644 %s %s" % (id_.encode(), quote_path(path)))
        else:
            lines.append(b"M 100644 inline " + quote_path(path))
            lines.append(b"data %d\n%s" % (len(data), data))
    lines.extend((b"", b"get-mark :1", b"done", b""))
    # The ref only keeps the newest joined commit from being pruned: it may move anywhere.
    command = ["fast-import", "--quiet", "--done", "--force", "--date-format=raw"]
    result = start_git(command, build_environment(root), b"\n".join(lines))
    if result.returncode != 0:
        move_crash_report(root, result.stderr)
        raise git_failed("fast-import", result.stderr)
    return result.stdout.strip().decode("ascii")


def _moment(date: bytes) -> tuple[int, bytes]:
    return int(date.split(b" ")[0]), date
