"""What must hold after a fault: each broken promise in words."""

from __future__ import annotations

import functools
import json
import os
import re
import tempfile
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from hashlib import sha1
from pathlib import Path

from faults.fleet_at_work import NEXT, Line, Workplace, copy_fleet
from faults.library import COUNT, Kind, Ran, quick_folder, run_faulted

SAVED = "saved on disk, not yet in history"
_EVENT = re.compile(r"/events/.*/\d{4}-\d\d-\d\d(?:-\d{4})?-([a-z-]+)-([a-z0-9]{10})\.yaml$")
_TIME = re.compile(rb"\d{4}-\d\d-\d\d(?:T[0-9:+-]+)?")


@dataclass(frozen=True, slots=True)
class State:
    """A fleet's folder and history at one moment. `said` is what git says where it cannot."""

    files: Mapping[str, bytes]
    head: str
    tree: Mapping[str, str]
    said: str = ""

    def holds(self, path: str) -> bool:
        """Whether history has the file with the bytes it has in the folder."""
        return path in self.files and self.tree.get(path) == blob(self.files[path])


@dataclass(frozen=True, slots=True)
class Outset:
    """The prepared fleet as it was: state, what git says of the owner's work, problems."""

    state: State
    status: tuple[str, ...]
    staged: str
    problems: tuple[str, ...]

    @property
    def owed(self) -> tuple[str, ...]:
        """Records an interrupted line left on the disk only: the next one brings them in."""
        return tuple(p for p in self.state.files if _EVENT.search(p) and p not in self.state.tree)


def blob(data: bytes) -> str:
    """Return git's id of these bytes."""
    return sha1(b"blob %d\0" % len(data) + data, usedforsecurity=False).hexdigest()


def read_state(place: Workplace, root: Path) -> State:
    """Read folder and history, without the program under test."""
    files = {}
    for folder, names, leaves in os.walk(root):
        names[:] = [name for name in names if name != ".git"]
        for leaf in leaves:
            path = Path(folder, leaf)
            files[path.relative_to(root).as_posix()] = path.read_bytes()
    head = place.git("rev-parse", "HEAD", root=root).strip()
    listed = place.git("ls-tree", "-r", "-z", "HEAD", root=root)
    said = "; ".join(text for text in (head, listed) if "failed" in text[:40])
    tree = {}
    for line in [] if said else listed.split("\0")[:-1]:
        meta, _, path_ = line.partition("\t")
        tree[path_] = meta.split()[2]
    return State(files, head, tree, said)


def read_problems(root: Path) -> tuple[str, ...]:
    """What any other command sees at this moment."""
    from register.desk import open_fleet

    return tuple(f"{one.place.file}: {one.code}" for one in open_fleet(root).problems)


def read_status(place: Workplace, root: Path) -> tuple[str, ...]:
    """What git says of the owner's work; to look must not mend git's index."""
    said = place.git(
        "--no-optional-locks", "status", "--porcelain", "-z", "--untracked-files=all", root=root
    )
    return tuple(sorted(line for line in said.split("\0") if line))


@functools.cache
def _outset(root: Path, env: tuple[tuple[str, str], ...]) -> Outset:
    place = Workplace(root, dict(env))
    staged = place.git("ls-files", "-s", "staged.txt", root=root)
    # Status refreshes the index: on a copy, so that the prepared fleet stays as it is.
    with tempfile.TemporaryDirectory(dir=quick_folder()) as beside:
        copy = copy_fleet(root, Path(beside) / "fleet")
        state, status = read_state(place, copy), read_status(place, copy)
        return Outset(state, status, staged, read_problems(copy))


def read_outset(place: Workplace) -> Outset:
    """The prepared fleet as it was, read once per process."""
    return _outset(place.root, tuple(sorted(place.env.items())))


def plain(path: str, data: bytes, ids: Mapping[str, str]) -> bytes:
    """A record's bytes with what differs from run to run made equal."""
    for id_, kind in ids.items():
        data = data.replace(id_.encode(), kind.encode())
    return _TIME.sub(b"TIME", data)


def new_records(before: State, after: State) -> dict[str, tuple[str, bytes]]:
    """Kind and comparable bytes of every event file that was not there before, by path."""
    found = {}
    for path in after.files:
        match = _EVENT.search(path)
        if match and path not in before.files:
            found[path] = (match[1], match[2])
    ids = {id_: kind for kind, id_ in found.values()}
    return {path: (kind, plain(path, after.files[path], ids)) for path, (kind, _) in found.items()}


@functools.cache
def _wanted(
    root: Path, env: tuple[tuple[str, str], ...], line: Line
) -> tuple[Ran, frozenset[tuple[str, bytes]]]:
    place = Workplace(root, dict(env))
    with tempfile.TemporaryDirectory(dir=quick_folder()) as beside:
        copy = copy_fleet(root, Path(beside) / "fleet")
        ran = run_faulted(copy, line.words, COUNT, 0, place.env)
        assert ran.code == 0, ran
        made = new_records(read_outset(place).state, read_state(place, copy))
    assert tuple(sorted(kind for kind, _ in made.values())) == line.writes, made
    return ran, frozenset(made.values())


def run_clean(place: Workplace, line: Line) -> tuple[Ran, frozenset[tuple[str, bytes]]]:
    """What the line does when nothing goes wrong: its calls, and the records it writes."""
    return _wanted(place.root, tuple(sorted(place.env.items())), line)


@dataclass(slots=True)
class Trial:
    """One run under one fault, and what was found broken."""

    place: Workplace
    line: Line
    root: Path
    ran: Ran
    broken: list[str]

    def promise(self, kept: bool, says: str) -> None:
        """Note a broken promise."""
        if not kept:
            self.broken.append(says)

    @property
    def acknowledged(self) -> bool:
        """Whether the owner was told that it is recorded."""
        return any(line.startswith(("recorded: ", "saved: ")) for line in self.ran.out.splitlines())


@dataclass(frozen=True, slots=True)
class Everyday:
    """One everyday line in the prepared fleet: a scene for `many.Trials`."""

    place: Workplace
    line: Line

    @property
    def name(self) -> str:
        """The line's own."""
        return self.line.name

    @property
    def env(self) -> Mapping[str, str]:
        """The fleet's own."""
        return self.place.env

    def count_calls(self) -> str:
        """The calls of a clean run."""
        return run_clean(self.place, self.line)[0].ops

    def try_point(self, kind: Kind, at: int) -> tuple[str, ...]:
        """Run the line on a copy with the fault at call `at`; return the broken promises."""
        return _try_point(self.place, self.line, kind, at)


def _try_point(place: Workplace, line: Line, kind: Kind, at: int) -> tuple[str, ...]:
    _, wanted = run_clean(place, line)
    with tempfile.TemporaryDirectory(dir=quick_folder()) as beside:
        root = copy_fleet(place.root, Path(beside) / "fleet")
        ran = run_faulted(root, line.words, kind, at, place.env)
        broken = judge(place, line, root, ran, wanted)
    said = (ran.out + ran.err).strip().replace("\n", " | ")
    return tuple(
        f"{line.name}, {kind.name} at {at}: {says} [{ran.code}: {said}]" for says in broken
    )


def judge(
    place: Workplace, line: Line, root: Path, ran: Ran, wanted: frozenset[tuple[str, bytes]]
) -> list[str]:
    """Look at what a run left, type the next line, look again; what broke, in words."""
    trial = Trial(place, line, root, ran, [])
    _check_now(trial, wanted)
    written = _type_next(trial)
    _check_after(trial, wanted, written)
    return trial.broken


def _check_now(trial: Trial, wanted: frozenset[tuple[str, bytes]]) -> None:
    """What holds already while the fault's traces lie about."""
    outset = read_outset(trial.place)
    now = read_state(trial.place, trial.root)
    made = new_records(outset.state, now)
    trial.promise(not now.said, f"history cannot be read: {now.said}")
    trial.promise(set(made.values()) <= wanted, f"a record is not whole: {made}")
    trial.promise(
        read_problems(trial.root) == outset.problems, f"a reader sees {read_problems(trial.root)}"
    )
    paths = (*made, *trial.line.saves)
    complete = set(made.values()) == wanted and all(path in now.files for path in paths)
    known = [path for path in paths if now.holds(path)]
    # A file that is kept stands before its note, which the next command then brings.
    new = now.files.keys() - outset.state.files.keys()
    kept = any("/attachments/" in path and "/." not in path for path in new)
    _check_words(trial, complete, bool(made) or kept, len(known) == len(paths), bool(known))


def _check_words(
    trial: Trial, complete: bool, some: bool, all_known: bool, some_known: bool
) -> None:
    """Exit code and message against folder and history."""
    ran = trial.ran
    trial.promise("Traceback" not in ran.err and ran.code != 70, "it failed as a program")
    if trial.acknowledged:
        trial.promise(complete and all_known, "it said recorded and it is not")
        trial.promise(ran.killed or ran.code == 0, "it said recorded and failed")
    elif ran.killed:
        return
    elif SAVED in ran.err:
        trial.promise(some or bool(trial.line.saves), "it said saved on disk and nothing is")
        trial.promise(not (complete and all_known), "it said not yet in history and it is")
        trial.promise(ran.code == 3, "saved on disk only must exit with 3")
    else:
        trial.promise(ran.code in (3, 4), "it neither recorded nor refused")
        trial.promise(not some, "it refused and a record stands in the folder")
        trial.promise(not some_known, "it refused and a record stands in history")


def _type_next(trial: Trial) -> str | None:
    """The next line, typed with no other step before it; the path it wrote."""
    from cli.main import run_in_process

    code, out, err = run_in_process([*NEXT, "--json"], now=datetime.now(UTC), cwd=trial.root)
    trial.promise(code == 0, f"the next command fails: {code}: {out}{err}".strip())
    return str(json.loads(out)["written"][0]["path"]) if code == 0 else None


def _check_after(trial: Trial, wanted: frozenset[tuple[str, bytes]], written: str | None) -> None:
    """What holds once the next command has been typed."""
    outset, place, root = read_outset(trial.place), trial.place, trial.root
    after = read_state(place, root)
    made = new_records(outset.state, after)
    if written is not None:
        trial.promise(written in made and after.holds(written), "the next record is not there")
        made.pop(written, None)
    count = Counter(made.values())
    trial.promise(not made or count == Counter(wanted), f"neither whole nor absent: {made}")
    trial.promise(all(after.holds(path) for path in made), "a record is not in history")
    if trial.acknowledged:
        trial.promise(bool(made) or not wanted, "an acknowledged record is gone")
    elif SAVED in trial.ran.err:
        trial.promise(bool(made) or not wanted, "a record said to be saved is gone")
    elif not trial.ran.killed:
        trial.promise(not made, "a refused record came back")
    _check_old(trial, outset, after)
    fsck = place.git("fsck", "--full", "--strict", "--no-dangling", "--no-progress", root=root)
    trial.promise(not fsck, f"fsck: {fsck}")
    moved = place.git("merge-base", "--is-ancestor", outset.state.head, "HEAD", root=root)
    trial.promise(not moved, "history was rewritten")
    left = _left_over(root)
    trial.promise(not left, f"left lying: {left}")


def _check_old(trial: Trial, outset: Outset, after: State) -> None:
    """Nothing that was there before, the owner's own work least of all, is any different."""
    old = outset.state
    changed = [path for path, data in old.files.items() if after.files.get(path) != data]
    trial.promise(not changed, f"changed: {changed}")
    trial.promise(all(after.holds(path) for path in outset.owed), "what was owed is not in history")
    free = (*trial.line.saves, *outset.owed)
    lost = [path for path, id_ in old.tree.items() if after.tree.get(path) != id_]
    trial.promise(not set(lost) - set(free), f"history lost {lost}")
    for path in trial.line.saves:
        saved = after.holds(path)
        trial.promise(saved or not trial.acknowledged, "an acknowledged edit is not in history")
        trial.promise(saved or SAVED not in trial.ran.err, "the edit was not brought into history")
    status = read_status(trial.place, trial.root)
    open_ = [line for line in outset.status if not (line[3:] in free and after.holds(line[3:]))]
    trial.promise(status == tuple(open_), f"git status says {status}")
    staged = trial.place.git("ls-files", "-s", "staged.txt", root=trial.root)
    trial.promise(staged == outset.staged, "the owner's staged work changed")


def _left_over(root: Path) -> Sequence[str]:
    """Files of a dead writer that stand in somebody's way."""
    left = [*root.rglob(".tailsheaf-*"), *(root / ".git").rglob("*.lock")]
    left.extend((root / ".git/tailsheaf/pending").iterdir())
    return sorted(
        path.relative_to(root).as_posix() for path in left if path.parent.name != "rescue"
    )
