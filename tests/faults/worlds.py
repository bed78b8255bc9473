"""A line that reaches beyond one folder, in a small world of its own: one fault, and what holds.

A world is a folder with a fleet in it and what lies beside the fleet: a mailbox, a handover file.
After the fault the line is typed again, at every second call with another line before it; then
the world must look as after a run in which nothing went wrong.
"""

from __future__ import annotations

import os
import pickle
import re
import tempfile
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from faults.fleet_at_work import Workplace, copy_fleet
from faults.library import COUNT, Kind, Ran, quick_folder, run_faulted
from faults.promises import (
    State,
    new_records,
    read_problems,
    read_state,
    read_status,
)

FLEET = "fleet"
PASSING = "tmp"
CARRIERS = ".git/tailsheaf/carriers.json"
_SEQ = re.compile(rb"seq: \d+")
#: What the program keeps for speed or for the owner, by the folder or file it lies in.
_KEPT = (".git/objects/", ".git/logs/", ".git/tailsheaf/rescue", ".git/tailsheaf/answers")
#: Folders that are empty but for what a run left behind.
_PASSING = ("pending", "mail", "handing", "quarantine", "mending")


@dataclass(frozen=True, slots=True)
class World:
    """A folder with a fleet and what lies beside it."""

    folder: Path
    env: Mapping[str, str]

    @property
    def place(self) -> Workplace:
        """The fleet."""
        return Workplace(self.folder / FLEET, self.env)

    def types(self, words: tuple[str, ...]) -> tuple[int, str, str]:
        """Type a line in the fleet, with nothing going wrong: code, output, errors."""
        from cli.main import run_in_process

        tempfile.tempdir = str(self.folder / PASSING)
        try:
            return run_in_process(list(words), now=datetime.now(UTC), cwd=self.folder / FLEET)
        finally:
            tempfile.tempdir = None

    @property
    def surroundings(self) -> dict[str, str]:
        """With the system's folder for what passes: what is left there is counted as well."""
        return {**self.env, "TMPDIR": str(self.folder / PASSING)}


def copy_world(world: World, to: Path) -> World:
    """A copy in which the carriers of the fleet lead to the copy's own mailbox."""
    copy = World(copy_fleet(world.folder, to), world.env)
    (copy.folder / PASSING).mkdir()
    carriers = copy.folder / FLEET / CARRIERS
    if carriers.is_file():
        text = carriers.read_text("utf-8")
        carriers.write_text(text.replace(str(world.folder), str(to)), "utf-8")
    return copy


@dataclass(frozen=True, slots=True)
class Sight:
    """Everything of a world that is compared: the fleet, the names git has, what lies beside."""

    state: State
    refs: frozenset[str]
    status: tuple[str, ...]
    beside: Mapping[str, bytes]
    inside: frozenset[str]
    problems: tuple[str, ...]


def see(world: World) -> Sight:
    """Look at a world, with git and by reading files."""
    place = world.place
    root = place.root
    said = place.git("for-each-ref", "--format=%(refname)")
    files = (path for path in (root / ".git").rglob("*") if path.is_file())
    inside = (path.relative_to(root).as_posix() for path in files)
    beside = {
        path.relative_to(world.folder).as_posix(): path.read_bytes()
        for path in sorted(world.folder.rglob("*"))
        if root not in path.parents and path.is_file()
    }
    return Sight(
        read_state(place, root),
        frozenset(said.split()),
        read_status(place, root),
        beside,
        frozenset(path for path in inside if not path.startswith(_KEPT)),
        read_problems(root),
    )


@dataclass(frozen=True, slots=True)
class Moment:
    """What can be asked at one moment: the line's run, the world then, before, and as wished.

    `origin` is the folder of the world as it was prepared.
    """

    origin: Path
    world: World
    ran: Ran
    before: Sight
    wanted: Sight
    now: Sight

    @property
    def refused(self) -> bool:
        """Whether it had the chance to say why it did not do what was asked."""
        return self.ran.code > 0

    @property
    def fleet_as_wanted(self) -> bool:
        """Whether the fleet's records and history are those of a clean run."""
        return not difference(self.before.state, self.wanted.state, self.now.state)


Tell = Callable[[Moment], Iterable[str]]


@dataclass(frozen=True, slots=True)
class Crossing:
    """A line typed in a world: a scene for `many.Trials`.

    `tip` must stay in history; `between` is what is typed before the line is typed again, at
    every second call; `said` and `beside` give what is broken at once, and at the end.
    """

    name: str
    world: World
    words: tuple[str, ...]
    tip: str
    said: Tell
    beside: Tell
    between: tuple[str, ...] = ()
    refusals: tuple[int, ...] = (3, 4)
    is_whole: bool = True

    @property
    def env(self) -> Mapping[str, str]:
        """The world's own."""
        return self.world.env

    def count_calls(self) -> str:
        """The calls of a clean run."""
        return self.run_clean(()).ran.ops

    def run_clean(self, between: tuple[str, ...]) -> Moment:
        """A run in which nothing goes wrong: made once, and kept beside its world for others."""
        kept = self.world.folder.with_suffix(".between" if between else ".clean")
        if kept not in _CLEAN:
            if not kept.is_file():
                fresh = kept.with_suffix(f".{os.getpid()}")
                fresh.write_bytes(pickle.dumps(self._run_clean(between)))
                fresh.replace(kept)
            _CLEAN[kept] = pickle.loads(kept.read_bytes())  # noqa: S301 - our own, just written
        return _CLEAN[kept]

    def _run_clean(self, between: tuple[str, ...]) -> Moment:
        with tempfile.TemporaryDirectory(dir=quick_folder()) as beside:
            world = copy_world(self.world, Path(beside) / "world")
            before = see(world)
            ran = run_faulted(world.folder, self.words, COUNT, 0, world.surroundings, FLEET)
            assert ran.code == 0, ran
            # As typed twice: the second time changes nothing but may leave its traces.
            for words in (between, self.words) if between else ():
                code, out, err = world.types(words)
                assert code == 0, (words, out, err)
            seen = see(world)
        return Moment(self.world.folder, world, ran, before, seen, seen)

    def try_point(self, kind: Kind, at: int) -> tuple[str, ...]:
        """Type the line with the fault at call `at`, then again; the broken promises."""
        with tempfile.TemporaryDirectory(dir=quick_folder()) as beside:
            world = copy_world(self.world, Path(beside) / "world")
            ran = run_faulted(world.folder, self.words, kind, at, world.surroundings, FLEET)
            broken = self.judge(world, ran, at)
        said = (ran.out + ran.err).strip().replace("\n", " | ")
        return tuple(
            f"{self.name}, {kind.name} at {at}: {says} [{ran.code}: {said}]" for says in broken
        )

    def judge(self, world: World, ran: Ran, at: int) -> list[str]:
        """Look at what a run left, type the line again, look again; what broke, in words."""
        return [*self._judge_now(world, ran), *self._judge_again(world, ran, at)]

    def _judge_now(self, world: World, ran: Ran) -> Iterable[str]:
        """What holds already while the fault's traces lie about."""
        clean = self.run_clean(())
        now = see(world)
        moment = Moment(self.world.folder, world, ran, clean.before, clean.wanted, now)
        if "Traceback" in ran.err or ran.code == 70:
            yield "it failed as a program"
        if not (ran.killed or ran.code in (0, *self.refusals)):
            yield "it neither did it nor refused"
        if self.is_whole and now.state.said:
            yield f"history cannot be read: {now.state.said}"
        if odd := {*now.problems} - {*clean.before.problems, *clean.wanted.problems}:
            yield f"a reader sees {sorted(odd)}"
        if ran.code == 0:
            for says in difference(clean.before.state, clean.wanted.state, now.state):
                yield f"it said done and it is not: {says}"
        yield from self.said(moment)

    def _judge_again(self, world: World, ran: Ran, at: int) -> Iterable[str]:
        """What holds once the line was typed again."""
        between = self.between if at % 2 else ()
        for words in (between, self.words) if between else (self.words,):
            code, out, err = world.types(words)
            if code != 0:
                yield f"{words[0]} fails then: {code}: {out}{err}".strip()
                return
        clean = self.run_clean(between)
        got = see(world)
        yield from difference(clean.before.state, clean.wanted.state, got.state)
        if got.status != clean.wanted.status:
            yield f"git status says {got.status}"
        if got.refs != clean.wanted.refs:
            yield f"git has the names {sorted(got.refs ^ clean.wanted.refs)}"
        checks = ("--full", "--strict", "--no-dangling", "--no-progress")
        if fsck := world.place.git("fsck", *checks):
            yield f"fsck: {fsck}"
        if moved := world.place.git("merge-base", "--is-ancestor", self.tip, "HEAD"):
            yield f"history was rewritten {moved}"
        yield from left_over(world, clean.wanted, got)
        yield from self.beside(
            Moment(self.world.folder, world, ran, clean.before, clean.wanted, got)
        )


_CLEAN: dict[Path, Moment] = {}


def difference(before: State, wanted: State, got: State) -> list[str]:
    """How two fleets differ; records that each run gives an id of its own are compared by words."""
    if got.said:
        return [f"history cannot be read: {got.said}"]
    found = [
        f"{path} is different"
        for path in sorted(wanted.files.keys() & got.files.keys())
        if wanted.files[path] != got.files[path] or wanted.holds(path) != got.holds(path)
    ]
    lone = [_only_here(before, one, other) for one, other in ((wanted, got), (got, wanted))]
    missing, more = lone[0] - lone[1], lone[1] - lone[0]
    if missing or more:
        found.append(f"lacks {_tell(missing)}; has {_tell(more)} more")
    odd = {*wanted.tree, *got.tree} - wanted.files.keys() - got.files.keys()
    found.extend(
        f"history differs at {path}"
        for path in sorted(odd)
        if wanted.tree.get(path) != got.tree.get(path)
    )
    return found


def _only_here(before: State, one: State, other: State) -> Counter[tuple[str, bytes, bool]]:
    """What only one of two fleets has: a record by its kind and words, else by its path."""
    records = new_records(before, one)
    return Counter(
        (*_by_words(path, one, records), one.holds(path))
        for path in one.files.keys() - other.files.keys()
    )


def _by_words(path: str, one: State, records: Mapping[str, tuple[str, bytes]]) -> tuple[str, bytes]:
    """Which of two lines was typed first differs as well, where one of them was cut short."""
    if path not in records:
        return path, one.files[path]
    kind, data = records[path]
    return kind, _SEQ.sub(b"seq: N", data)


def _tell(what: Counter[tuple[str, bytes, bool]]) -> list[str]:
    return [
        f"{count} {name}{'' if held else ' (not in history)'}"
        for (name, _, held), count in what.items()
    ]


def left_over(world: World, wanted: Sight, got: Sight) -> Iterable[str]:
    """Files of a dead run that nobody needs any more, anywhere in the world."""
    names = [path.relative_to(world.folder).as_posix() for path in world.folder.rglob("*")]
    rest = [name for name in names if "/.git/tailsheaf/rescue/" not in name]
    left = [name for name in rest if "/.tailsheaf-" in name or name.endswith(".lock")]
    for folder in _PASSING:
        left.extend(name for name in rest if f"/.git/tailsheaf/{folder}/" in name)
    left.extend(name for name in rest if name.startswith(f"{PASSING}/"))
    if left:
        yield f"left lying: {left}"
    # git's own, which it makes without asking: its housekeeping, or the doctor, takes them away.
    more = got.inside - wanted.inside - {name.partition("/")[2] for name in left}
    if more:
        yield f"more in git's folder: {sorted(more)}"
