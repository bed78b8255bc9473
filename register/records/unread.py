"""Things known by their name alone: their file, or its folder, stands there and cannot be read.

A name that cannot be read is not an unknown one. Whatever names it keeps its meaning, nothing
is offered in its place, and what its file would say is not known: it never becomes zero. So
each such file gets a stand-in on its shelf, and `Records.lost` holds its path.
"""

from __future__ import annotations

from collections.abc import Iterable

from register.records.bodies import Charge, Flights
from register.records.events import Event
from register.records.gathering import Records
from register.records.opening import Opening
from register.records.programmes import ProgrammeFile
from register.records.standing_files import AircraftFile, KitFile, PaperFile, PartFile
from register.records.values import COUNTERS, UNSTATED
from register.trouble import Place, Problem

#: The kind of a part whose file cannot be read.
KIND_UNREAD = "not-known"
#: Stands where a title would: wherever the thing is listed, this is said of it.
SAYS_UNREAD = "its file cannot be read"
_HOMES = {"aircraft": "aircraft.yaml", "parts": "part.yaml"}
_UNREAD = Opening(is_unread=True)


def home_of(folder: str) -> str:
    """The file that says what the aircraft or part of a folder is."""
    return f"{folder}/{_HOMES[folder.partition('/')[0]]}"


def add_stand_ins(records: Records, folders: Iterable[str] = ()) -> None:
    """Put a stand-in on the shelf for every file that cannot be read.

    `folders` are those of aircraft and parts that hold records; one without its file is an
    error at that file.
    """
    for folder in folders:
        top, _, name = folder.partition("/")
        shelf = records.aircraft if top == "aircraft" else records.parts
        path = home_of(folder)
        if name not in shelf and folder not in records.unread and path not in records.unread:
            records.unread.append(path)
            records.problems.append(_gone(path))
    used: set[str] | None = None
    for path in dict.fromkeys(records.unread):
        parts = path.removesuffix(".yaml").split("/")
        name = parts[1] if len(parts) > 1 else ""
        match parts:
            case ["aircraft", _, "aircraft"] if name not in records.aircraft:
                records.aircraft[name] = _aircraft(name, path)
            case ["parts", _, "part"] if name not in records.parts:
                used = _named_as_used(records.events) if used is None else used
                records.parts[name] = _part(name, path, "assigned" if name in used else "installed")
            case ["programmes", _] if name not in records.programmes:
                records.programmes[name] = ProgrammeFile(name, None, name, (), (), None, path)
            case ["papers", _] if name not in records.papers:
                records.papers[name] = _paper(name, path)
            case ["kits", _] if name not in records.kits:
                records.kits[name] = KitFile(name, None, name, {}, {}, path)
            case _:
                continue
        records.lost.add(path)


def _gone(path: str) -> Problem:
    return Problem(
        Place(path),
        "file-gone",
        "this file is gone, and the records beside it still stand there",
        "write it, or take its folder away",
    )


def _named_as_used(events: Iterable[Event]) -> set[str]:
    """Parts that records name as used or charged: those are assigned, not installed."""
    found: set[str] = set()
    for event in events:
        body = event.body
        refs = body.uses if isinstance(body, Flights) else ()
        refs = body.parts if isinstance(body, Charge) else refs
        found.update(ref.name for ref in refs or ())
    return found


def _aircraft(name: str, path: str) -> AircraftFile:
    return AircraftFile(name, None, SAYS_UNREAD, None, (), "in-service", _UNREAD, {}, {}, path)


def _paper(name: str, path: str) -> PaperFile:
    """It may cover any aircraft and be out of date: that cannot be told."""
    title = f"{name} ({SAYS_UNREAD})"
    return PaperFile(name, None, title, "other", (), True, (), 0, True, UNSTATED, path, Place(path))


def _part(name: str, path: str, use: str) -> PartFile:
    return PartFile(
        name,
        None,
        KIND_UNREAD,
        SAYS_UNREAD,
        None,
        None,
        None,
        use,
        "serviceable",
        _UNREAD,
        None,
        (),
        COUNTERS,
        UNSTATED,
        path,
    )
