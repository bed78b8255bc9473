"""An opened fleet: its files, sheaf by sheaf; records and ledger are made when asked for."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from functools import cached_property
from pathlib import Path
from zoneinfo import ZoneInfo

from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.ledger.places import HANDOVER
from register.records.circles import Circles
from register.records.gathering import Records, compose_records
from register.records.kept import open_kept
from register.records.received import machines_elsewhere
from register.records.sheaves import REST, Entries, Sheaves, Tell, open_sheaves
from register.records.traces import Wrote, add_written
from register.records.unread import add_stand_ins
from register.storage.answers import SHEAVES, Walk, walk_files
from register.storage.folder import find_fleet
from register.trouble import Exit, Problem, RegisterError


class Fleet:
    """A fleet, or with `folders` the cut of it that lies in these sheaves.

    With `narrow`, the standing files of other aircraft and parts are left out too.
    """

    def __init__(
        self,
        sheaves: Sheaves,
        folders: tuple[str, ...] | None = None,
        *,
        narrow: bool = False,
        circles: Circles | None = None,
    ):
        self.sheaves = sheaves
        self.folders = sheaves.folders if folders is None else folders
        self.narrow = narrow
        self.is_whole = folders is None
        self._circles = circles
        self._cuts: dict[tuple[tuple[str, ...], bool], Fleet] = {}

    @property
    def root(self) -> Path:
        """The folder of the fleet."""
        return self.sheaves.root

    @property
    def zone(self) -> ZoneInfo:
        """The home time zone."""
        return self.sheaves.zone

    @cached_property
    def _entries(self) -> Entries:
        """What is read, in path order."""
        found = dict(self.sheaves.standing(REST))
        for folder in self.folders if self.narrow else self.sheaves.folders:
            found.update(self.sheaves.standing(folder))
        for folder in self.folders:
            found.update(self.sheaves.events(folder))
        return dict(sorted(found.items()))

    @property
    def disk_problems(self) -> tuple[Problem, ...]:
        """What could not be read, or was odd on the disk."""
        listed = (REST, *self.folders)
        found = (p for one in listed for p in self.sheaves.catalogue[one].problems)
        return tuple(sorted(found, key=lambda problem: problem.order))

    @cached_property
    def sources(self) -> dict[str, bytes]:
        """The bytes of every file, by path."""
        return {path: file.data for path, (file, _) in self._entries.items()}

    @cached_property
    def _composed(self) -> tuple[Records, tuple[Problem, ...]]:
        read = [read for _, read in self._entries.values()]
        records = compose_records(item.built for item in read)
        gathered = [*self.disk_problems, *(problem for item in read for problem in item.problems)]
        # A file that parses with an error (a key that stands twice) is not a whole one.
        records.unread.extend(item.place.file for item in gathered if item.level == "error")
        folders = self.folders if self.narrow else self.sheaves.folders
        add_stand_ins(records, self.sheaves.with_events(folders))
        gathered.extend(records.problems)
        return records, tuple(gathered)

    @property
    def records(self) -> Records:
        """All records, those of the events too."""
        return self._composed[0]

    @property
    def problems(self) -> tuple[Problem, ...]:
        """Every problem met while reading."""
        return self._composed[1]

    @cached_property
    def standing(self) -> Records:
        """The records that are no events: names, programmes, papers."""
        if "_composed" in self.__dict__:
            return self.records
        found = (
            read.built
            for folder in (REST, *self.sheaves.folders)
            for _, read in self.sheaves.standing(folder).values()
        )
        records = compose_records(found)
        on_disk = (p for sheaf in self.sheaves.catalogue.values() for p in sheaf.problems)
        records.unread.extend(p.place.file for p in on_disk if p.level == "error")
        add_stand_ins(records, self.sheaves.with_events(self.sheaves.folders))
        return records

    @cached_property
    def ledger(self) -> Ledger:
        """Everything as known now."""
        return Ledger(self.records)

    def ledger_at(self, day: date) -> Ledger:
        """Facts dated up to a day, as known now; the whole ledger when nothing is later."""
        last = max((event.moment.day for event in self.ledger.events), default=day)
        return self.ledger if last <= day else Ledger(self.records, day)

    @property
    def unread(self) -> tuple[str, ...]:
        """Files that gave no record: every answer over them is incomplete, and says so."""
        return self.ledger.uncounted

    # --- cuts ---------------------------------------------------------------

    @property
    def is_cut_well(self) -> bool:
        """Is anything kept, so that opening a part of the fleet costs less than all of it?"""
        return self.sheaves.kept.key is not None and not self.sheaves.torn

    @property
    def circles(self) -> Circles:
        """Which sheaves hang together."""
        if self._circles is None:
            catalogue = self.sheaves.catalogue
            self._circles = Circles(
                {folder: catalogue[folder].trace for folder in self.sheaves.folders},
                {
                    folder: catalogue[folder].goes_by or (folder.partition("/")[2],)
                    for folder in self.sheaves.folders
                },
            )
        return self._circles

    def cut(self, folders: tuple[str, ...], *, narrow: bool = True) -> Fleet:
        """The fleet as far as it lies in these sheaves."""
        found = self._cuts.get((folders, narrow))
        if found is None:
            found = Fleet(self.sheaves, folders, narrow=narrow, circles=self.circles)
            self._cuts[folders, narrow] = found
        return found

    def find_circles(self, folders: Iterable[str]) -> tuple[str, ...]:
        """The sheaves of the circles that some lie in; all where cutting gains nothing."""
        return self.circles.around(folders) if self.is_cut_well else self.sheaves.folders

    def around(self, subjects: Iterable[Subject]) -> Fleet:
        """The circles of some aircraft and parts; the whole fleet where cutting gains nothing."""
        if not self.is_cut_well:
            return self
        return self.cut(self.find_circles(sheaf_of(subject) for subject in subjects))

    def find_sheaves(self, words: Iterable[str]) -> tuple[str, ...]:
        """The sheaves of the circles of all that words as typed could mean; none: not known."""
        if not self.is_cut_well:
            return ()
        found: set[str] = set()
        for word in (word.strip().lower().partition(":")[0] for word in words):
            for top in SHEAVES if word else ():
                # A name in full is meant before any that it begins.
                named = f"{top}/{word}"
                found.update(
                    [named]
                    if named in self.sheaves.catalogue
                    else (one for one in self.sheaves.folders if one.startswith(named))
                )
            if len(word) > 2:
                found.update(
                    folder
                    for folder in self.sheaves.folders
                    if f" {word}" in f" {self.sheaves.catalogue[folder].trace.ids}"
                )
        return self.circles.around(found)

    def find_ids(self) -> frozenset[str]:
        """The ids of all events."""
        catalogue = self.sheaves.catalogue
        return frozenset(
            id_ for one in self.sheaves.folders for id_ in catalogue[one].trace.ids.split()
        )

    def last_seq(self, machine: str) -> int:
        """The highest number that a machine has given a record."""
        traces = (self.sheaves.catalogue[one].trace for one in self.sheaves.folders)
        return max((trace.seqs.get(machine, 0) for trace in traces), default=0)

    def find_paths(self, id_: str) -> tuple[str, ...]:
        """Files of the events with this id, sorted."""
        return tuple(path for path in sorted(self.sources) if path.endswith(f"-{id_}.yaml"))

    def find_writers(self) -> dict[str, Wrote]:
        """How many records each machine of this fleet wrote, and when the last ones.

        Those of an owner before, and what a handover makes itself, are not of this fleet.
        """
        wrote: dict[str, Wrote] = {}
        apart = {*machines_elsewhere(self.standing), HANDOVER}
        for one in self.sheaves.folders:
            for machine, (count, moments) in self.sheaves.catalogue[one].trace.wrote.items():
                if machine not in apart:
                    add_written(wrote, machine, count, moments)
        return wrote

    def with_files(self, changed: Mapping[str, bytes]) -> Fleet:
        """The fleet with these files as they are now."""
        return Fleet(self.sheaves.with_files(changed))


def sheaf_of(subject: Subject) -> str:
    """The folder of an aircraft or part."""
    kind, name = subject
    return f"aircraft/{name}" if kind == "aircraft" else f"parts/{name}"


def open_fleet(
    start: Path, key_path: str | None = None, tell: Tell | None = None, walk: Walk | None = None
) -> Fleet:
    """Find and read the fleet a folder lies in. Bad files become problems, never hide the rest.

    With `key_path`, what the files gave is kept for the next command under that key's seal.
    A `walk` is one just made over the fleet's files.
    """
    root = find_fleet(start)
    if root is None:
        raise RegisterError(
            f"there is no fleet in {start} or any folder above it",
            mend="tailsheaf init DIR   makes one; or name it:  tailsheaf --fleet DIR …",
            exit_code=Exit.CANNOT_RUN,
            code="no-fleet",
        )
    return read_records(root, key_path, tell, walk)


def read_records(
    root: Path, key_path: str | None = None, tell: Tell | None = None, walk: Walk | None = None
) -> Fleet:
    """bytes → nodes → records, every problem gathered."""
    kept = open_kept(root, key_path, (str(Path(__file__).parent),))
    if walk is None or walk.root != str(root):
        walk = walk_files(str(root))
    return Fleet(open_sheaves(root, kept, walk, tell))
