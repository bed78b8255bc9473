"""clashes/<id>.yaml: one value that two machines changed, and not alike."""

from __future__ import annotations

from msgspec import Struct

from register.records.fields import Fields
from register.text.document import read_plain
from register.text.nodes import Mapping, Plain
from register.trouble import Place, Problem


class ClashFile(Struct, frozen=True):
    """An open question: both values, and which of them stands until it is answered.

    `key` leads to the value inside the file; a part of it that names an item of a list is the
    item's own name. An empty key means the whole file. A side without the value has None, and
    `has_one` and `has_two` tell that from a value that is nothing.
    """

    id: str
    file: str
    key: tuple[str, ...]
    stands: int
    one: Plain
    two: Plain
    has_one: bool
    has_two: bool
    settled: str | None
    path: str
    place: Place
    #: Why the one that stands was chosen, in few words.
    why: str = ""
    #: The machines that wrote either value, where history told it.
    writers: tuple[str, str] = ("", "")

    @property
    def what(self) -> str:
        """The place of the value in one phrase."""
        return f"{self.file}: {' / '.join(self.key)}" if self.key else self.file


def build_clash(path: str, name: str, node: Mapping) -> tuple[ClashFile, tuple[Problem, ...]]:
    """One clash file; the program writes them and `sync --settle` answers them."""
    problems: list[Problem] = []
    fields = Fields(node, problems)
    stands = fields.count("stands", least=1)
    one, two = node.get("one"), node.get("two")
    clash = ClashFile(
        fields.text("clash") or name,
        fields.text("file", required='"aircraft/NAME/aircraft.yaml"') or "",
        fields.texts("key"),
        2 if stands == 2 else 1,
        None if one is None else read_plain(one),
        None if two is None else read_plain(two),
        one is not None,
        two is not None,
        fields.text("settled"),
        path,
        node.place,
        fields.text("why") or "",
        (fields.text("by_one") or "", fields.text("by_two") or ""),
    )
    return clash, tuple(problems)
