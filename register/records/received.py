"""What the file of an aircraft keeps of the handover it came by: which, by whom, from where."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import Struct

from register.records.gathering import Records
from register.text.nodes import Sequence

#: The commit the last file ended in, its day, and the key it was signed with.
KEY = "received"
#: Machines that wrote records of it and are not of this fleet.
MACHINES = "machines_elsewhere"
UNSIGNED = "unsigned"


class Mark(Struct, frozen=True):
    """The mark as it stands in a file; `text` is empty where nothing was received.

    `signer` is a key's fingerprint, `unsigned`, or empty where that was not kept.
    """

    text: str = ""
    machines: tuple[str, ...] = ()

    @property
    def tip(self) -> str | None:
        """The commit; None where there is no mark, or none that can be read."""
        tip = self.text.partition(" ")[0]
        usable = len(tip) == 40 and all(char in "0123456789abcdef" for char in tip)
        return tip if usable else None

    @property
    def day(self) -> str:
        """The day of the file, as written."""
        return [*self.text.split(" "), "", ""][1]

    @property
    def signer(self) -> str:
        """By whom it was signed."""
        return [*self.text.split(" "), "", ""][2]


def make_mark(tip: str, day: str, signer: str | None, machines: Iterable[str]) -> Mark:
    """The mark of a file that is taken in; `signer` is None where it is not signed."""
    return Mark(f"{tip} {day} {signer or UNSIGNED}", tuple(sorted({*machines})))


def read_mark(records: Records, aircraft: str) -> Mark:
    """The mark in the file of an aircraft of this fleet."""
    file = records.aircraft.get(aircraft)
    node = None if file is None else file.node
    if node is None:
        return Mark()
    listed = node.get(MACHINES)
    items = listed.items if isinstance(listed, Sequence) else ()
    machines = tuple(str(getattr(item, "text", "")) for item in items)
    return Mark(str(getattr(node.get(KEY), "text", "")), machines)


def put_mark(path: str, data: bytes, mark: Mark) -> bytes:
    """A file with the mark in it."""
    from register.text.editing import edit_set

    data = edit_set(path, data, (KEY,), mark.text)
    return edit_set(path, data, (MACHINES,), [*mark.machines]) if mark.machines else data


def machines_elsewhere(records: Records) -> frozenset[str]:
    """Machines that wrote records here and are not of this fleet, but for those it names."""
    found = {one for name in records.aircraft for one in read_mark(records, name).machines}
    return frozenset(found - records.fleet.machines.keys())
