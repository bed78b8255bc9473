"""Three-way merge of whole folders, given as the blob id of each path."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from msgspec import Struct

from register.merge.caution import KEPT, NO_SIDE
from register.merge.homes import Laid, lay_out
from register.merge.missing import MISSING, Missing, Value
from register.merge.questions import (
    CLASHES,
    FileClash,
    Question,
    Spot,
    is_question,
    name_clash,
    read_question,
    render_clash,
)
from register.merge.texts import merge_texts
from register.merge.values import ValueClash, clash_over, same
from register.text.placing import find_value, put_value, take_value
from register.trouble import RegisterError

__all__ = ["CLASHES", "FileClash", "Merged", "merge_trees"]

#: Bytes of a text that a clash file holds itself; of a longer one it names git's object.
LONGEST_TEXT = 64 * 1024
Load = Callable[[str], bytes]
Name = Callable[[bytes], str]
Ids = tuple[str | None, str | None, str | None]
Tree = Mapping[str, str]
#: Side 1 or 2 and a path there -> the machine that wrote it, or nothing.
Who = Callable[[int, str], str]


class Merged(Struct, frozen=True):
    """The merged folder: blob id of each path, the bytes of blobs that no side had, the clashes."""

    tree: dict[str, str]
    fresh: dict[str, bytes]
    clashes: tuple[FileClash, ...]


def merge_trees(
    base: Tree, one: Tree, two: Tree, load: Load, name: Name, who: Who | None = None
) -> Merged:
    """The merge of two folders with a common past; `name` gives the blob id of bytes.

    Only files changed on both sides are loaded. The result is the same for one and two swapped.
    `who` tells which machine wrote a file on side 1 or 2, where history tells it.
    """
    laid = lay_out((base, one, two), load, name)
    meeting = _Meeting(laid, load, name, who)
    paths = sorted({path for tree in laid.trees for path in tree})
    for path in paths:
        if not is_question(path):
            meeting.join_file(path)
    for path in paths:
        if is_question(path):
            meeting.join_question(path)
    asked = tuple(clash for clash in meeting.clashes if meeting.ask(clash))
    return Merged(meeting.tree, meeting.fresh, asked)


class _Meeting:
    """Two folders as they are joined, path by path."""

    def __init__(self, laid: Laid, load: Load, name: Name, who: Who | None):
        self.trees = laid.trees
        self.was = laid.was
        self.load_old = load
        self.name = name
        self.who = who
        self.tree: dict[str, str] = {}
        self.fresh: dict[str, bytes] = dict(laid.fresh)
        self.clashes: list[FileClash] = []
        #: Asked again, because it was answered differently.
        self.reopened: set[Spot] = set()

    def ids(self, path: str) -> Ids:
        """The blobs of a path in the past and on both sides."""
        base, one, two = (tree.get(path) for tree in self.trees)
        return base, one, two

    def keep(self, path: str, data: bytes) -> None:
        """These bytes at this path."""
        self.tree[path] = id_ = self.name(data)
        self.fresh[id_] = data

    def load(self, id_: str) -> bytes:
        """The bytes of a blob, which may be new."""
        return self.fresh[id_] if id_ in self.fresh else self.load_old(id_)

    def _take_changed(self, path: str) -> bool:
        """Take a path that only one side changed, or both alike; whether that was so."""
        base, one, two = self.ids(path)
        if one not in (two, base) and two != base:
            return False
        chosen = two if one == base else one
        if chosen is not None:
            self.tree[path] = chosen
        return True

    def join_file(self, path: str) -> None:
        """A file that is no question."""
        if self._take_changed(path):
            return
        base, one, two = self.ids(path)
        if one is None or two is None or not path.endswith(".yaml"):
            self._keep_whole(path)
            return
        sides = self.load(one), self.load(two)
        merged = merge_texts(path, None if base is None else self.load(base), *sides)
        if merged.whole and sum(map(len, sides)) > LONGEST_TEXT:
            self._keep_whole(path)
            return
        self.clashes.extend(name_clash(path, clash) for clash in merged.clashes)
        self.keep(path, merged.data)

    def _keep_whole(self, path: str) -> None:
        """Two whole files, or one and none: one of them stands."""
        clash, id_ = self._whole_clash(path)
        self.clashes.append(name_clash(path, clash))
        self.tree[path] = id_

    def _whole_clash(self, path: str) -> tuple[ValueClash, str]:
        base, one, two = self.ids(path)
        there = sorted((id_ for id_ in (one, two) if id_ is not None), key=self.load)
        if len(there) == 1:
            # Removed on one side, changed on the other: kept, and asked.
            past = MISSING if base is None else self._whole_value(path, base)
            return ValueClash((), past, MISSING, self._whole_value(path, there[0]), 2, KEPT), there[
                0
            ]
        # A picture or other file changed on both sides: the first stands, git keeps the other.
        texts = [self._whole_value(path, id_) for id_ in there]
        return ValueClash((), MISSING, texts[0], texts[1], 1, NO_SIDE), there[0]

    def _whole_value(self, path: str, id_: str) -> str:
        data = self.load(id_)
        if path.endswith(".yaml") and len(data) <= LONGEST_TEXT:
            return data.decode("utf-8", "backslashreplace")
        return f"blob {id_}"

    def join_question(self, path: str) -> None:
        """A question: answered alike it is answered; answered differently it is asked again."""
        if self._take_changed(path):
            return
        files = [self.load(id_) for id_ in self.ids(path)[1:] if id_ is not None]
        if len(files) < 2:
            # Taken away by hand on one side, which answers it.
            return
        found = [one for data in sorted(files) if (one := read_question(path, data)) is not None]
        answered = [one for one in found if one.settled is not None]
        if len(found) < 2:
            self.keep(path, found[0].data if found else min(files))
        elif len(answered) == 2:
            self._compare_answers(path, answered[0])
        elif found[0].asks_like(found[1]):
            self.keep(path, (answered or found)[0].data)
        else:
            for one in found:
                if one.settled is None:
                    # Two sides asked again, each about what it had: both stay.
                    here = path if path not in self.tree else name_clash(*_parts(one)).path
                    self.keep(here, one.data)

    def _compare_answers(self, path: str, question: Question) -> None:
        """What counts is what the answers made of the file, not how they were typed."""
        file, key = question.asked.spot
        if key:
            values = [self._value_in(side, file, key) for side in (1, 2)]
            clash = clash_over(file, key, question.asked.clash.base, *values)
            differ = not same(*values)
        else:
            one, two = self.ids(file)[1:]
            differ = one != two
            clash = self._whole_clash(file)[0] if differ else question.asked.clash
        if not differ:
            self.keep(path, question.data)
            return
        asked = FileClash(question.asked.id, file, clash)
        self.keep(path, render_clash(asked, self._writers(asked)))
        self.reopened.add(asked.spot)
        if key:
            self._put(asked, clash.one if clash.stands == 1 else clash.two)
        else:
            self.tree[file] = self._whole_clash(file)[1]

    def _value_in(self, side: int, file: str, key: tuple[str, ...]) -> Value:
        id_ = self.trees[side].get(file)
        if not key:
            return MISSING if id_ is None else self._whole_value(file, id_)
        try:
            has, value = find_value(file, self.load(id_), key) if id_ else (False, None)
        except (LookupError, RegisterError):
            return MISSING
        return value if has else MISSING

    def _put(self, asked: FileClash, value: Value) -> None:
        """Make the file hold what stands; where it went on without that place, it stays."""
        file, key = asked.spot
        id_ = self.tree.get(file)
        if id_ is None:
            return
        data = self.load(id_)
        try:
            if isinstance(value, Missing):
                data = take_value(file, data, key)
            else:
                data = put_value(file, data, key, value)
        except (LookupError, RegisterError):
            return
        self.keep(file, data)

    def _take_side(self, side: int, asked: FileClash, value: Value) -> None:
        """What one side has stands."""
        id_ = self.trees[side].get(asked.file)
        if asked.clash.path:
            self._put(asked, value)
        elif id_ is None:
            self.tree.pop(asked.file, None)
        else:
            self.tree[asked.file] = id_

    def ask(self, clash: FileClash) -> bool:
        """Ask about a new clash, unless an answer is there; whether it was asked."""
        if clash.spot in self.reopened:
            return False
        if self._is_answered(clash):
            return False
        there = self.tree.get(clash.path)
        known = None if there is None else read_question(clash.path, self.load(there))
        if known is None or known.settled is not None:
            self.keep(clash.path, render_clash(clash, self._writers(clash)))
        return True

    def _writers(self, asked: FileClash) -> tuple[str, str]:
        """The machines that wrote value one and value two; empty where it is not told."""
        if self.who is None:
            return "", ""
        found = ["", ""]
        for side in (1, 2):
            value = self._value_in(side, *asked.spot)
            writer = self.who(side, self.was[side].get(asked.file, asked.file))
            found[0 if same(value, asked.clash.one) else 1] = writer
        return found[0], found[1]

    def _is_answered(self, clash: FileClash) -> bool:
        """Whether one side holds the answer to what the other side still has in question."""
        values = [self._value_in(side, *clash.spot) for side in (1, 2)]
        for path in filter(is_question, self.tree):
            question = read_question(path, self.load(self.tree[path]))
            if question is None or question.settled is None or question.asked.spot != clash.spot:
                continue
            sides = [side for side in (1, 2) if self.trees[side].get(path) == self.tree[path]]
            if len(sides) == 1 and question.knows(values[2 - sides[0]]):
                self._take_side(sides[0], clash, values[sides[0] - 1])
                return True
        return False


def _parts(question: Question) -> tuple[str, ValueClash]:
    return question.asked.file, question.asked.clash
