"""What every file gave, kept between commands: disposable, and never needed for an answer.

Two sealed files: `records` with nearly everything, `recent` with what was read since.
An entry holds only for a file whose stamp is the same; the rest is read again. All of it
is thrown away with another program, another home zone, a broken seal or no key.
"""

from __future__ import annotations

import gc
import pickle
import sys
from dataclasses import dataclass, field
from pathlib import Path

from register.records.gathering import Built, Read
from register.storage import answers
from register.storage.folder import SourceFile, Stamp
from register.trouble import Problem

MAIN, RECENT = "records", "recent"
#: So many recent entries are few enough to be written after each command.
MOST_RECENT = 400

Entries = dict[str, tuple[SourceFile, Read]]
_Line = tuple[
    str,
    bytes,
    tuple[int, int, int, int],
    int,
    tuple[str, str, object, tuple[Problem, ...]],
    tuple[Problem, ...],
]
"""An entry as it is stored: plain tuples load in a quarter of the time."""


@dataclass
class Kept:
    """The kept entries of one fleet, and where and under which program they hold."""

    root: Path
    key: bytes | None
    program: bytes
    main: Entries = field(default_factory=dict)
    recent: Entries = field(default_factory=dict)

    @property
    def files(self) -> dict[str, SourceFile]:
        """Files read before, by path."""
        return {path: entry[0] for path, entry in (*self.main.items(), *self.recent.items())}

    def find(self, file: SourceFile) -> Read | None:
        """What a file gave, if these are the bytes that gave it."""
        entry = self.recent.get(file.path) or self.main.get(file.path)
        return entry[1] if entry is not None and entry[0].data == file.data else None


def open_kept(root: Path, key_path: str | None, packages: tuple[str, ...]) -> Kept:
    """The kept entries, empty where there are none that hold."""
    key = answers.read_key(key_path) if key_path else None
    if key_path is None or not answers.is_ours(str(root)):
        return Kept(root, None, b"")
    if key is None:
        key = answers.make_key(key_path)
    program = answers.stamp_program(packages) + sys.version.encode()
    kept = Kept(root, key, program)
    if key is not None:
        kept.main = _load(root, MAIN, key, program)
        kept.recent = _load(root, RECENT, key, program)
    return kept


def _load(root: Path, name: str, key: bytes, program: bytes) -> Entries:
    body = answers.read_sealed(str(root), name, key)
    if body is None or not body.startswith(program):
        return {}
    collecting = gc.isenabled()
    gc.disable()
    try:
        lines: list[_Line] = pickle.loads(memoryview(body)[len(program) :])
        entries = {line[0]: _entry_of(*line) for line in lines}
        # All of it lives as long as the command: it is not searched for rings again and again.
        gc.freeze()
        return entries
    except Exception:
        # Whatever is wrong with it, it can be made again.
        return {}
    finally:
        if collecting:
            gc.enable()


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


def _entry_of(
    path: str,
    data: bytes,
    stamp: tuple[int, int, int, int],
    taken: int,
    built: tuple[str, str, object, tuple[Problem, ...]],
    problems: tuple[Problem, ...],
) -> tuple[SourceFile, Read]:
    return SourceFile(path, data, Stamp(*stamp), taken), Read(Built(path, *built), problems)


def keep_read(kept: Kept, files: tuple[SourceFile, ...], read: dict[str, Read]) -> None:
    """Keep what was read anew. Failing to is no harm."""
    if kept.key is None:
        return
    before = kept.files
    fresh = {
        file.path: (file, read[file.path])
        for file in files
        if file.path in read and before.get(file.path) is not file
    }
    if not fresh:
        return
    recent = {**kept.recent, **fresh}
    if kept.main and len(recent) <= MOST_RECENT:
        _store(kept, RECENT, kept.key, recent)
        return
    everything = {file.path: (file, read[file.path]) for file in files if file.path in read}
    _store(kept, MAIN, kept.key, everything)
    answers.write_sealed(str(kept.root), RECENT, kept.key, None)


def _store(kept: Kept, name: str, key: bytes, entries: Entries) -> None:
    lines = [_line_of(*entry) for entry in entries.values()]
    body = kept.program + pickle.dumps(lines, pickle.HIGHEST_PROTOCOL)
    answers.write_sealed(str(kept.root), name, key, body)
