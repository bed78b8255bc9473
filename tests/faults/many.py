"""Try many points of failure, a few at a time, and count broken promises in a table."""

from __future__ import annotations

import multiprocessing
import os
import time
from collections.abc import Mapping, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from typing import Protocol

from faults.library import FORKS, LIBRARY, Kind, build_library

_SPARE = 6
"""Calls beyond those of a clean run that are tried: runs differ by the folders git makes."""


class Scene(Protocol):
    """A line typed where all is prepared for it, and what must hold whatever goes wrong.

    It is sent to the workers, so it has to be made of plain values.
    """

    @property
    def name(self) -> str:
        """By which its points and its column are known."""

    @property
    def env(self) -> Mapping[str, str]:
        """What the line is typed in."""

    def count_calls(self) -> str:
        """The calls of a run in which nothing goes wrong, one letter each."""

    def try_point(self, kind: Kind, at: int) -> tuple[str, ...]:
        """Type it with the fault at that call; the promises broken, in words."""


@dataclass(frozen=True, slots=True)
class Point:
    """One run to make."""

    line: str
    kind: Kind
    at: int


@dataclass(slots=True)
class Table:
    """Runs made and promises broken, by line and kind of fault."""

    runs: dict[tuple[str, str], int] = field(default_factory=dict)
    broken: dict[tuple[str, str], list[str]] = field(default_factory=dict)

    def add(self, line: str, kind: str, broken: Sequence[str]) -> None:
        """Count one run."""
        self.runs[line, kind] = self.runs.get((line, kind), 0) + 1
        self.broken.setdefault((line, kind), []).extend(broken)

    @property
    def all_broken(self) -> list[str]:
        """Every broken promise in words."""
        return [says for found in self.broken.values() for says in found]

    def render(self) -> str:
        """Rows of runs/broken promises, one for each kind of fault."""
        lines = list(dict.fromkeys(line for line, _ in self.runs))
        kinds = list(dict.fromkeys(kind for _, kind in self.runs))
        wide = max(12, *(len(line) + 2 for line in lines))
        rows = [f"{'':28}" + "".join(f"{line:>{wide}}" for line in lines)]
        for kind in kinds:
            cells = [
                f"{self.runs.get((line, kind), 0)}/{len(self.broken.get((line, kind), []))}"
                for line in lines
            ]
            rows.append(f"{kind:28}" + "".join(f"{cell:>{wide}}" for cell in cells))
        return "\n".join(rows)


def points_of(scene: Scene, kind: Kind) -> tuple[Point, ...]:
    """Every call of a clean run that the fault makes sense at, and a few beyond."""
    ops = scene.count_calls()
    numbers = [n for n, op in enumerate(ops, 1) if not kind.ops or op in kind.ops]
    numbers.extend(range(len(ops) + 1, len(ops) + _SPARE + 1))
    return tuple(Point(scene.name, kind, n) for n in numbers)


class Trials:
    """Worker processes that try points, as many as there are processors.

    `scenes` are known by their names; more may be put there later. With `forks` the
    workers carry the library, asleep, from their start, and fork their runs.
    """

    def __init__(self, scenes: Mapping[str, Scene], *, forks: bool):
        self.scenes = dict(scenes)
        built = str(build_library())
        library = {"LD_PRELOAD": built} if forks else {}
        os.environ.update(library)
        try:
            self._workers = ProcessPoolExecutor(
                os.cpu_count() or 1,
                multiprocessing.get_context("spawn"),
                initializer=_begin_worker,
                initargs=(dict(next(iter(scenes.values())).env), built, forks),
            )
            # The workers start with the first jobs, and must do so under the library.
            self._wake()
        finally:
            for name in library:
                del os.environ[name]

    def _wake(self) -> None:
        waits = [self._workers.submit(time.sleep, 0.2) for _ in range(os.cpu_count() or 1)]
        for wait in waits:
            wait.result()

    def close(self) -> None:
        """End the workers."""
        self._workers.shutdown()

    def run(self, points: Sequence[Point], tell: Path | None = None) -> Table:
        """Try all points. Into the file `tell` goes the table so far."""
        table = Table()
        jobs = [(point, self._submit(point)) for point in points]
        for number, (point, job) in enumerate(jobs, 1):
            table.add(point.line, point.kind.name, job.result())
            if tell is not None and number % 100 == 0:
                tell.write_text(f"{table.render()}\n{number} of {len(jobs)}\n", "utf-8")
        return table

    def _submit(self, point: Point) -> Future[tuple[str, ...]]:
        return self._workers.submit(_try_point, self.scenes[point.line], point.kind, point.at)


def _try_point(scene: Scene, kind: Kind, at: int) -> tuple[str, ...]:
    return scene.try_point(kind, at)


def _begin_worker(env: dict[str, str], library: str, forks: bool) -> None:
    os.environ.clear()
    os.environ.update(env)
    os.environ[LIBRARY] = library
    if forks:
        os.environ[FORKS] = "1"
    time.tzset()
