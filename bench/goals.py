"""The goals of speed, each measured against its yardstick on fleets of one size."""

from __future__ import annotations

import re
import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from bench import grounds
from bench.grounds import Ground
from bench.looking_back import measure_looking_back
from bench.measuring import (
    YARDSTICKS,
    Step,
    ask,
    measure,
    measure_peak,
    one_processor,
    time_once,
)
from bench.rows import Row, Trial, limit_of, row_of


def measure_warm(trial: Trial) -> list[Row]:
    """Goals 1 and 2: `due` when nothing changed, drawn and plain."""
    ground = trial.ground
    due = grounds.tailsheaf(ground, trial.fleet, "due")
    plain = grounds.tailsheaf(ground, trial.fleet, "due", "--plain", drawn=False)
    steps = {"Y": grounds.typer_app(ground), "due": due, "plain": plain}
    grounds.warm_up(*steps.values())
    lines = ask(due.argv, due.env).count("\n")
    times = measure(steps, trial.rounds)
    first = row_of(trial, 1, "warm `due`, drawn", times, "due", "Y")
    return [
        replace(first, note=f"{lines} lines"),
        row_of(trial, 2, "warm `due --plain`", times, "plain", "Y"),
    ]


def measure_edited(trial: Trial) -> list[Row]:
    """Goal 3: `due` after one record was edited by hand, and whether a cold load agrees."""
    ground = trial.ground
    copy = grounds.copy_fleet(ground, trial.fleet, "edited")
    record = grounds.list_flights(copy)[-1]
    edited = replace(grounds.tailsheaf(ground, copy, "due"), prepare=_Edit(record, ground, copy))
    steps = {"due": grounds.tailsheaf(ground, trial.fleet, "due"), "edited": edited}
    grounds.warm_up(steps["due"])
    times = measure(steps, trial.rounds)
    question = grounds.tailsheaf(ground, copy, "due", "--json", drawn=False)
    warm = ask(question.argv, question.env)
    grounds.forget(copy)
    same = warm == ask(question.argv, question.env)
    row = row_of(trial, 3, "`due`, one record just edited", times, "edited", "due")
    note = "equal to a cold load" if same else "DIFFERS FROM A COLD LOAD"
    return [replace(row, against="goal 1's own", note=note)]


@dataclass(frozen=True, slots=True)
class _Edit:
    """Gives a flights record other minutes, in a fleet that was warm until then."""

    record: Path
    ground: Ground
    fleet: Path

    def __call__(self, number: int) -> None:
        grounds.warm_up(grounds.tailsheaf(self.ground, self.fleet, "due"))
        text = self.record.read_text("utf-8")
        changed = re.sub(r"\nminutes: \d+\n", f"\nminutes: {20 + number}\n", text)
        self.record.write_text(changed, "utf-8")


def measure_cold(trial: Trial) -> list[Row]:
    """Goal 4: reading, parsing and building every record, on one processor, against C; and
    the whole `due --plain` with nothing kept."""
    copy = grounds.copy_fleet(trial.ground, trial.fleet, "cold")
    cold = replace(
        grounds.tailsheaf(trial.ground, copy, "due", "--plain", drawn=False),
        prepare=lambda _: grounds.forget(copy),
    )
    steps = {
        "C": grounds.yaml_load(trial.ground, copy),
        "load": grounds.own_load(trial.ground, copy),
        "cold": cold,
    }
    with one_processor():
        times = measure(steps, trial.cold_rounds)
    load = row_of(trial, 4, "the load alone: read, parse, build", times, "load", "C")
    whole = row_of(trial, 4, "cold `due --plain`, whole command", times, "cold", "C")
    return [load, replace(whole, limit=None, note="load, answer, and what is kept for next time")]


def measure_logging(trial: Trial) -> list[Row]:
    """Goal 5: one event logged by `fly`, against git add and git commit."""
    ground = trial.ground
    ours = grounds.copy_fleet(ground, trial.fleet, "ours")
    theirs = grounds.copy_fleet(ground, trial.fleet, "theirs")
    names = grounds.list_aircraft(ours)
    fly = grounds.tailsheaf(ground, ours, "fly")
    grounds.warm_up(grounds.tailsheaf(ground, ours, "due"))

    def choose(number: int) -> tuple[str, ...]:
        return (names[number % len(names)], "2", "--minutes", "14")

    def write_event(number: int) -> tuple[str, ...]:
        pattern = grounds.list_flights(theirs)[0]
        path = pattern.with_name(f"{pattern.name[:10]}-flights-bench{number + 1:05d}.yaml")
        path.write_bytes(pattern.read_bytes())
        return (path.relative_to(theirs).as_posix(),)

    script = ("/bin/sh", str(YARDSTICKS / "add_and_commit.sh"), str(theirs))
    time_once((*fly.argv, *choose(0)), fly.env)
    time_once((*script, *write_event(-1)), ground.env)
    steps = {
        "G": Step(script, ground.env, write_event),
        "fly": replace(fly, prepare=choose),
    }
    times = measure(steps, trial.rounds)
    return [row_of(trial, 5, "`fly`, the whole command", times, "fly", "G")]


def measure_row(trial: Trial) -> list[Row]:
    """Goal 6: many events in a row, the last ones against the first ones."""
    copy = grounds.copy_fleet(trial.ground, trial.fleet, "row")
    names = grounds.list_aircraft(copy)
    step = grounds.tailsheaf(trial.ground, copy, "fly")
    bare = grounds.bare_python(trial.ground)
    few = min(50, max(1, trial.row // 3))
    lasted: list[float] = []
    drift: list[float] = []
    for number in range(trial.row):
        words = (names[number % len(names)], "2", "--minutes", "14")
        lasted.append(time_once((*step.argv, *words), step.env))
        if number < few or number >= trial.row - few:
            drift.append(time_once(bare.argv, bare.env))
    first, last = statistics.median(lasted[:few]), statistics.median(lasted[-few:])
    moved = statistics.median(drift[-few:]) / statistics.median(drift[:few])
    loose = sum(1 for _ in (copy / ".git" / "objects").glob("??/*"))
    return [
        Row(
            6,
            f"{trial.row} x `fly` in a row, last {few}",
            trial.size,
            1000 * last,
            f"first {few}",
            1000 * first,
            last / first,
            limit_of(6, trial.events),
            note=f"{loose} loose objects; bare python drifted by {moved:.2f}",
        )
    ]


def measure_memory(trial: Trial) -> list[Row]:
    """Goal 8: peak memory of a warm `due`, against Y."""
    due = grounds.tailsheaf(trial.ground, trial.fleet, "due")
    grounds.warm_up(due)
    rounds = min(5, trial.rounds)
    ours = measure_peak(due, rounds)
    other = measure_peak(grounds.typer_app(trial.ground), rounds)
    limit = limit_of(8, trial.events)
    what = "peak memory of warm `due`"
    return [Row(8, what, trial.size, ours, "Y + 8 MiB", other, ours / other, limit, "MiB")]


def measure_views(trial: Trial) -> list[Row]:
    """Goal 9: flyday, history and parts, warm and cold, against Y."""
    copy = grounds.copy_fleet(trial.ground, trial.fleet, "views")
    name = grounds.list_aircraft(copy)[0]
    asked = {"flyday": ("flyday",), "history": ("history", name), "parts": ("parts",)}
    warm = {key: grounds.tailsheaf(trial.ground, copy, *words) for key, words in asked.items()}
    cold = {key: replace(s, prepare=lambda _: grounds.forget(copy)) for key, s in warm.items()}
    rows: list[Row] = []
    yardstick = {"Y": grounds.typer_app(trial.ground)}
    for state, steps, rounds in (("cold", cold, trial.cold_rounds), ("warm", warm, trial.rounds)):
        if state == "warm":
            grounds.warm_up(*steps.values())
        times = measure({**yardstick, **steps}, rounds)
        rows.extend(row_of(trial, 9, f"{state} `{key}`", times, key, "Y") for key in steps)
    return rows


def measure_start(ground: Ground, rounds: int) -> list[Row]:
    """Goal 7: Y against bare Python, and `due` of a fleet without records against Y."""
    empty = grounds.make_empty_fleet(ground)
    steps = {
        "python": grounds.bare_python(ground),
        "Y": grounds.typer_app(ground),
        "empty": grounds.tailsheaf(ground, empty, "due"),
        "fresh": replace(
            grounds.tailsheaf(ground, empty, "due"), prepare=lambda _: grounds.forget(empty)
        ),
    }
    grounds.warm_up(*steps.values())
    times = measure(steps, rounds)
    found = []
    for what, name, other, limit in (
        ("Y itself", "Y", "python", 10.0),
        ("`due` of an empty fleet, asked again", "empty", "Y", 1.2),
        ("`due` of an empty fleet, nothing kept", "fresh", "Y", 1.2),
    ):
        middle = times.middle(name), times.middle(other)
        ratio = times.ratio(name, other)
        found.append(Row(7, what, "-", middle[0], other, middle[1], ratio, limit))
    return found


def growth_of(rows: list[Row]) -> list[Row]:
    """How much longer each view of goal 9 takes in the biggest fleet than in the smallest."""
    found = []
    seen: dict[str, list[Row]] = {}
    for row in rows:
        if row.goal == 9:
            seen.setdefault(row.what, []).append(row)
    for what, same in seen.items():
        if len(same) > 1:
            first, last = same[0], same[-1]
            sizes = f"{first.size} to {last.size}"
            ratio = last.ratio / first.ratio
            found.append(
                Row(9, f"growth of {what}", sizes, last.ours, first.size, first.ours, ratio)
            )
    return found


MEASURES: dict[tuple[int, ...], Callable[[Trial], list[Row]]] = {
    (1, 2): measure_warm,
    (3,): measure_edited,
    (4,): measure_cold,
    (5,): measure_logging,
    (6,): measure_row,
    (8,): measure_memory,
    (9,): measure_views,
    (10,): measure_looking_back,
}


def measure_size(trial: Trial, goals: frozenset[int]) -> list[Row]:
    """Every goal that was asked for, on fleets of one size."""
    rows: list[Row] = []
    for numbers, function in MEASURES.items():
        if goals.intersection(numbers):
            begun = time.perf_counter()
            found = [row for row in function(trial) if row.goal in goals]
            rows.extend(found)
            lasted = time.perf_counter() - begun
            words = "and".join(f" {number} " for number in numbers)
            grounds.tell(f"{trial.size}: goal{words}measured in {lasted:.0f} s")
            for row in found:
                # Told at once: a long run that is broken off has not been for nothing.
                grounds.tell(f"  {row.what}: {row.ours:.0f}, {row.against} {row.other:.0f}")
    return rows
