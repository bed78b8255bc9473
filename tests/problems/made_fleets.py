"""What a folder of plain files cannot hold: links, large files, odd names, a history."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from register.git.apply import save_paths
from register.git.repository import init_repository

EVENTS = "aircraft/heron/events/2026/05"
FLIGHTS = f"{EVENTS}/2026-05-09-flights-a7k2qd0001.yaml"


def _add_link(fleet: Path) -> None:
    (fleet / EVENTS / "2026-05-10-flights-b2m8xw0002.yaml").symlink_to(fleet / FLIGHTS)


def _grow_file(fleet: Path) -> None:
    path = fleet / EVENTS / "2026-05-10-flights-b2m8xw0002.yaml"
    path.write_bytes(b'record: "flights"\n' + b"# filler\n" * 40_000)


def _fill_list(fleet: Path) -> None:
    path = fleet / FLIGHTS
    path.write_bytes(path.read_bytes() + b"each:\n" + b"- 1\n" * 20_001)


def _add_clash(fleet: Path) -> None:
    (fleet / "parts" / "pk-04").mkdir(parents=True)
    (fleet / "parts" / "PK-04").mkdir(parents=True)


def _add_odd_name(fleet: Path) -> None:
    (fleet / "kits").mkdir()
    (fleet / "kits" / "con.yaml").write_bytes(b'title: "A name of a device"\n')


def _add_copy(fleet: Path) -> None:
    path = fleet / EVENTS / "2026-05-09-flights-a7k2qd0001 (conflicted copy 2026-05-10).yaml"
    path.write_bytes((fleet / FLIGHTS).read_bytes())


def _begin_history(fleet: Path) -> None:
    init_repository(fleet)
    paths = [path.relative_to(fleet).as_posix() for path in fleet.rglob("*.yaml")]
    save_paths(fleet, sorted(paths), "Begin the fleet")


def _edit_by_hand(fleet: Path) -> None:
    _begin_history(fleet)
    path = fleet / FLIGHTS
    path.write_bytes(path.read_bytes().replace(b"count: 2", b"count: 3"))
    (fleet / "parts/pk-04/part.yaml").unlink()
    (fleet / "private.yaml").write_bytes(b"people: {}\n")


def _break_history(fleet: Path) -> None:
    _begin_history(fleet)
    for tree in (fleet / ".git" / "objects").rglob("*"):
        if tree.is_file():
            tree.unlink()


def _carry(fleet: Path) -> None:
    (fleet / ".stfolder").mkdir()


MAKERS: dict[str, Callable[[Path], None]] = {
    "file-not-read": _add_link,
    "file-too-large": _grow_file,
    "yaml-size": _fill_list,
    "name-clash": _add_clash,
    "name-odd": _add_odd_name,
    "conflict-copy": _add_copy,
    "fleet-in-synced-folder": _carry,
    "not-in-history": _edit_by_hand,
    "history-not-asked": _break_history,
}
