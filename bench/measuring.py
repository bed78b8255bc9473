"""Time whole processes side by side: in turn, in one run, ratios taken round by round."""

from __future__ import annotations

import contextlib
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

YARDSTICKS = Path(__file__).parent / "yardsticks"


class BenchError(Exception):
    """Something measured did not do what it should; the figures would mean nothing."""


@dataclass(frozen=True, slots=True)
class Step:
    """One command to time; `prepare` is run before each round and is not timed.

    Exit code 0 is wanted. Its output goes nowhere while it is timed.
    """

    argv: tuple[str, ...]
    env: Mapping[str, str]
    prepare: Callable[[int], tuple[str, ...] | None] = lambda _: None


@dataclass(slots=True)
class Times:
    """Seconds of each step, round by round."""

    seconds: dict[str, list[float]] = field(default_factory=dict)

    def middle(self, name: str) -> float:
        """The median of one step, in milliseconds."""
        return 1000 * statistics.median(self.seconds[name])

    def ratio(self, name: str, other: str) -> float:
        """The median of the ratios taken round by round."""
        pairs = zip(self.seconds[name], self.seconds[other], strict=True)
        return statistics.median(one / two for one, two in pairs)


def measure(steps: Mapping[str, Step], rounds: int) -> Times:
    """Time every step once a round, beginning with another one each round."""
    times = Times({name: [] for name in steps})
    names = list(steps)
    for number in range(rounds):
        turn = number % len(names)
        for name in (*names[turn:], *names[:turn]):
            step = steps[name]
            more = step.prepare(number) or ()
            times.seconds[name].append(time_once((*step.argv, *more), step.env))
    return times


#: "wall", or "processor": the time of a process and its children, for a machine that is not quiet.
_CLOCK = {"name": "wall"}


def choose_clock(name: str) -> None:
    """Time by another clock from here on."""
    _CLOCK["name"] = name


def time_once(argv: tuple[str, ...], env: Mapping[str, str]) -> float:
    """Seconds of one whole process, by the clock chosen; BenchError unless its exit code is 0."""
    quiet = os.open(os.devnull, os.O_RDWR)
    try:
        actions = [(os.POSIX_SPAWN_DUP2, quiet, stream) for stream in (0, 1, 2)]
        begun = time.perf_counter()
        child = os.posix_spawn(argv[0], argv, env, file_actions=actions)
        _, status, used = os.wait4(child, 0)
        lasted = time.perf_counter() - begun
    finally:
        os.close(quiet)
    code = os.waitstatus_to_exitcode(status)
    if code:
        raise BenchError(f"exit code {code}: {' '.join(argv)}\n{ask_error(argv, env)}")
    return used.ru_utime + used.ru_stime if _CLOCK["name"] == "processor" else lasted


def ask(argv: tuple[str, ...], env: Mapping[str, str]) -> str:
    """What a command prints. Raises BenchError unless it ends with exit code 0."""
    done = _run(argv, env)
    if done.returncode:
        raise BenchError(f"exit code {done.returncode}: {' '.join(argv)}\n{done.stderr}")
    return done.stdout


def ask_error(argv: tuple[str, ...], env: Mapping[str, str]) -> str:
    """What a command says of its failure, when asked again."""
    return _run(argv, env).stderr


def _run(argv: tuple[str, ...], env: Mapping[str, str]) -> subprocess.CompletedProcess[str]:
    return subprocess.run(  # noqa: S603  (the arguments are this benchmark's own)
        argv, env=dict(env), capture_output=True, text=True, check=False, stdin=subprocess.DEVNULL
    )


def measure_peak(step: Step, rounds: int) -> float:
    """The median of the peak memory of a command and its children, in MiB."""
    launcher = (sys.executable, "-I", "-S", str(YARDSTICKS / "peak_memory.py"))
    return statistics.median(
        int(ask((*launcher, *step.argv), step.env)) / 1024 for _ in range(rounds)
    )


@contextlib.contextmanager
def one_processor() -> Iterator[None]:
    """Everything started inside runs on one processor, where the system allows that."""
    if not hasattr(os, "sched_setaffinity"):
        yield
        return
    before = os.sched_getaffinity(0)
    os.sched_setaffinity(0, {min(before)})
    try:
        yield
    finally:
        os.sched_setaffinity(0, before)
