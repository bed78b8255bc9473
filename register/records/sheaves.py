"""The files of a fleet, sheaf by sheaf: only what changed is read, only what is asked for opened.

A sheaf is the folder of one aircraft or part; what lies outside all of them is the rest.
A catalogue holds for every sheaf the stamps it was read under, a digest of what it held and
the trace of its records; the records themselves are kept one file a sheaf.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from hashlib import blake2b
from pathlib import Path
from zoneinfo import ZoneInfo

from msgspec import Struct

from register.records.events import Event
from register.records.gathering import Built, Read, build_file, find_zone
from register.records.kept import Kept, name_of
from register.records.standing_files import AircraftFile, PartFile
from register.records.traces import Trace, trace_events
from register.storage.answers import RACY_NS, SHEAVES, Walk
from register.storage.folder import read_rest, read_sheaf
from register.storage.gathered import NO_STAMP, SourceFile, Stamp
from register.text.parsing import parse_text
from register.trouble import Problem

#: What lies outside every sheaf: fleet.yaml, kits, programmes, papers.
REST = ""
CATALOGUE, STANDING = "catalogue", "standing"
#: So many files are read between two tellings.
TELL_EVERY = 100
#: Told how many files of how many are read.
Tell = Callable[[int, int], None]

Entry = tuple[SourceFile, Read]
Entries = dict[str, Entry]
_Line = tuple[
    str,
    bytes,
    tuple[int, int, int, int],
    int,
    tuple[str, str, object, tuple[Problem, ...]],
    tuple[Problem, ...],
]
"""An entry as it is stored: plain tuples load in a quarter of the time."""


class Sheaf(Struct, frozen=True):
    """One sheaf in the catalogue.

    `stamp`, `newest` and `taken` are the look under which it was read; `events` and
    `standing` are digests of its events and of its other files; `goes_by` are the name and
    id of its aircraft or part. `problems` are those of the disk.
    """

    stamp: bytes
    newest: int
    taken: int
    events: bytes
    standing: bytes
    goes_by: tuple[str, ...]
    trace: Trace
    problems: tuple[Problem, ...]

    @property
    def has_events(self) -> bool:
        """Does it hold files of events, be they readable or not?"""
        return self.events != _digest({})

    @property
    def digest(self) -> bytes:
        """Stands for all that it held."""
        return blake2b(
            self.events + self.standing + repr(self.problems).encode(), digest_size=32
        ).digest()

    def holds(self, stamp: tuple[bytes, int]) -> bool:
        """Is it still what was read? A stamp too young when taken may hide a second change."""
        return (self.stamp, self.newest) == stamp and self.newest + RACY_NS < self.taken


@dataclass
class Sheaves:
    """Every sheaf of a fleet. `torn` turns true if a file changed while it was being read.

    `on_disk` is false for a fleet as it is after a change just written, of which nothing is
    kept: the next command reads it with its stamps.
    """

    root: Path
    kept: Kept
    zone: ZoneInfo
    catalogue: dict[str, Sheaf]
    torn: bool = False
    on_disk: bool = True
    _standing: dict[str, Entries] = field(default_factory=dict)
    _events: dict[str, Entries] = field(default_factory=dict)

    @property
    def folders(self) -> tuple[str, ...]:
        """Every sheaf but the rest, sorted."""
        return tuple(sorted(folder for folder in self.catalogue if folder != REST))

    def with_events(self, folders: Iterable[str]) -> tuple[str, ...]:
        """Those of some sheaves that hold events."""
        return tuple(folder for folder in folders if self.catalogue[folder].has_events)

    def standing(self, folder: str) -> Entries:
        """The files of a sheaf, or of the rest, that are no events."""
        if folder not in self._standing:
            self._load_standing()
        if folder not in self._standing:
            self._read_again(folder)
        return self._standing[folder]

    def events(self, folder: str) -> Entries:
        """The files of the events of a sheaf."""
        if folder not in self._events:
            self._load_events(folder)
        if folder not in self._events:
            self._read_again(folder)
        return self._events[folder]

    def entries(self, folder: str) -> Entries:
        """All files of a sheaf, or of the rest."""
        return {**self.standing(folder), **self.events(folder)}

    def _load_standing(self) -> None:
        lines = self.kept.load(STANDING)
        for folder, entries in _group(_entries_of(lines)).items():
            sheaf = self.catalogue.get(folder)
            if folder not in self._standing and sheaf and _digest(entries) == sheaf.standing:
                self._standing[folder] = entries

    def _load_events(self, folder: str) -> None:
        sheaf = self.catalogue[folder]
        if sheaf.events == _digest({}):
            self._events[folder] = {}
            return
        entries = _entries_of(self.kept.load(name_of("sheaf", folder)))
        if _digest(entries) == sheaf.events:
            self._events[folder] = entries

    def _read_again(self, folder: str) -> None:
        """What was kept is gone: read the folder once more."""
        sheaf = self.catalogue[folder]
        files, problems = _read_folder(self.root, folder, {})[:2]
        entries = {file.path: (file, _read(file, self.zone)) for file in files}
        fresh = self.put(folder, entries, problems, (sheaf.stamp, sheaf.newest), 0)
        self.torn = self.torn or fresh.digest != sheaf.digest

    def put(
        self,
        folder: str,
        entries: Entries,
        problems: tuple[Problem, ...],
        stamp: tuple[bytes, int] = (b"", 0),
        taken: int = 0,
    ) -> Sheaf:
        """Take up a sheaf as it was read, and note it in the catalogue."""
        events = {path: entry for path, entry in entries.items() if is_event(path)}
        standing = {path: entry for path, entry in entries.items() if path not in events}
        self._events[folder], self._standing[folder] = events, standing
        found = (entry[1].built.record for entry in events.values())
        trace = trace_events(record for record in found if isinstance(record, Event))
        goes_by = _goes_by(entry[1].built for entry in standing.values())
        sheaf = Sheaf(*stamp, taken, _digest(events), _digest(standing), goes_by, trace, problems)
        self.catalogue[folder] = sheaf
        return sheaf

    def store(self, changed: Iterable[str], before: Mapping[str, Sheaf]) -> None:
        """Keep the catalogue, and the sheaves that were read anew."""
        restanding = False
        for folder in changed:
            old, new = before.get(folder), self.catalogue.get(folder)
            restanding = restanding or not old or not new or old.standing != new.standing
            entries = self._events.get(folder) if new else None
            lines = [_line_of(*entry) for entry in entries.values()] if entries else None
            self.kept.store(name_of("sheaf", folder), lines)
        if restanding:
            standing = (
                e for folder in sorted(self.catalogue) for e in self.standing(folder).values()
            )
            self.kept.store(STANDING, [_line_of(*entry) for entry in standing])
        self.kept.store(CATALOGUE, (self.zone.key, self.catalogue))

    def with_files(self, changed: Mapping[str, bytes]) -> Sheaves:
        """The same fleet with these files as they are now."""
        after = replace(
            self,
            on_disk=False,
            catalogue=dict(self.catalogue),
            _standing=dict(self._standing),
            _events=dict(self._events),
        )
        folders = {folder_of(path) for path in changed}
        rezoned = "fleet.yaml" in changed
        if rezoned:
            # A new home zone changes how every time without an offset is read.
            after.zone = find_zone(parse_text("fleet.yaml", changed["fleet.yaml"]).node)
            folders |= {REST, *self.catalogue}
        for folder in folders:
            known = self.entries(folder) if folder in self.catalogue else {}
            entries = {} if rezoned else dict(known)
            if rezoned:
                files = [file for file, _ in known.values()]
                entries = {file.path: (file, _read(file, after.zone)) for file in files}
            for path in (path for path in changed if folder_of(path) == folder):
                file = SourceFile(path, changed[path], NO_STAMP)
                entries[path] = (file, _read(file, after.zone))
            problems = self.catalogue[folder].problems if folder in self.catalogue else ()
            after.put(folder, dict(sorted(entries.items())), problems)
        return after


def open_sheaves(root: Path, kept: Kept, walk: Walk, tell: Tell | None = None) -> Sheaves:
    """Read what changed since it was last read, by the stamps of a walk; keep it for the next."""
    zone, catalogue = _load_catalogue(kept)
    sheaves = Sheaves(root, kept, zone, dict(catalogue))
    found: dict[str, _Found] = {}
    if REST not in catalogue or not catalogue[REST].holds(walk.stamps[REST]):
        found[REST] = _look_again(sheaves, REST)
        now = _zone_of(found[REST].files)
        if now != zone:
            # Times without an offset were read by another home zone.
            sheaves = Sheaves(root, kept, now, {})
            rest = found[REST]
            found[REST] = _Found(rest.files, rest.problems, rest.sheaves, {})
        folders = found[REST].sheaves
    else:
        folders = sheaves.folders
    gone = set(sheaves.catalogue) - {REST, *folders}
    for folder in folders:
        stamp = walk.stamps.get(folder, (b"", walk.taken))
        sheaf = sheaves.catalogue.get(folder)
        if sheaf is None or not sheaf.holds(stamp):
            found[folder] = _look_again(sheaves, folder)
    _build(sheaves, walk, found, tell)
    for folder in gone:
        del sheaves.catalogue[folder]
    if kept.key is not None and (found or gone):
        sheaves.store((*found, *gone), catalogue)
    return sheaves


class _Found(Struct, frozen=True):
    """A folder as it lies on the disk, and what is known of it from before."""

    files: tuple[SourceFile, ...]
    problems: tuple[Problem, ...]
    sheaves: tuple[str, ...]
    known: Entries


def _look_again(sheaves: Sheaves, folder: str) -> _Found:
    known: Entries = {}
    if folder in sheaves.catalogue:
        sheaves._load_standing()
        sheaves._load_events(folder)
        known = {**sheaves._standing.get(folder, {}), **sheaves._events.get(folder, {})}
    files = {path: entry[0] for path, entry in known.items()}
    return _Found(*_read_folder(sheaves.root, folder, files), known)


def _read_folder(
    root: Path, folder: str, known: Mapping[str, SourceFile]
) -> tuple[tuple[SourceFile, ...], tuple[Problem, ...], tuple[str, ...]]:
    if folder == REST:
        return read_rest(root, known)
    return *read_sheaf(root, folder, known), ()


def _build(sheaves: Sheaves, walk: Walk, found: Mapping[str, _Found], tell: Tell | None) -> None:
    """Parse and build every file whose bytes are not those known."""
    count = sum(len(one.files) for one in found.values())
    number = 0
    for folder, one in found.items():
        entries: Entries = {}
        for file in one.files:
            if tell is not None and number % TELL_EVERY == 0:
                tell(number, count)
            number += 1
            before = one.known.get(file.path)
            if before is not None and before[0].data == file.data:
                entries[file.path] = (file, before[1])
            else:
                entries[file.path] = (file, _read(file, sheaves.zone))
        stamp = walk.stamps.get(folder, (b"", walk.taken))
        sheaves.put(folder, entries, one.problems, stamp, walk.taken)


def _load_catalogue(kept: Kept) -> tuple[ZoneInfo, dict[str, Sheaf]]:
    match kept.load(CATALOGUE):
        case (str(zone), dict(catalogue)):
            return ZoneInfo(zone), catalogue
    return ZoneInfo("UTC"), {}


def _zone_of(files: Iterable[SourceFile]) -> ZoneInfo:
    data = next((file.data for file in files if file.path == "fleet.yaml"), b"")
    return find_zone(parse_text("fleet.yaml", data).node)


def _read(file: SourceFile, zone: ZoneInfo) -> Read:
    parsed = parse_text(file.path, file.data)
    return Read(build_file(file.path, parsed.node, zone, file.data), parsed.problems)


def folder_of(path: str) -> str:
    """The sheaf that a file lies in, or the rest."""
    parts = path.split("/", 2)
    return f"{parts[0]}/{parts[1]}" if len(parts) > 2 and parts[0] in SHEAVES else REST


def is_event(path: str) -> bool:
    """Does a file lie where the events of a sheaf are?"""
    parts = path.split("/", 3)
    return len(parts) > 3 and parts[0] in SHEAVES and parts[2] == "events"


def _goes_by(built: Iterable[Built]) -> tuple[str, ...]:
    """The name and id of the aircraft or part whose sheaf this is, and its older names."""
    for one in built:
        record = one.record
        if isinstance(record, AircraftFile | PartFile):
            own = (one.name, record.id) if record.id else (one.name,)
            return (*own, *record.aliases)
    return ()


def _digest(entries: Entries) -> bytes:
    mixed = blake2b(digest_size=32)
    for path, (file, _) in entries.items():
        mixed.update(f"{path}\0{len(file.data)}\0".encode("utf-8", "surrogatepass"))
        mixed.update(file.data)
    return mixed.digest()


def _group(entries: Entries) -> dict[str, Entries]:
    found: dict[str, Entries] = {}
    for path, entry in entries.items():
        found.setdefault(folder_of(path), {})[path] = entry
    return found


def _line_of(file: SourceFile, read: Read) -> _Line:
    built = read.built
    return (
        file.path,
        file.data,
        (*file.stamp,),
        file.taken,
        (built.kind, built.name, built.record, built.problems),
        read.problems,
    )


def _entries_of(lines: object) -> Entries:
    found: Entries = {}
    for path, data, stamp, taken, built, problems in lines if isinstance(lines, list) else ():
        file = SourceFile(path, data, Stamp(*stamp), taken)
        found[path] = (file, Read(Built(path, *built), problems))
    return found
