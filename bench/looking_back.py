"""The four commands that look back: whole processes, and what of them is statistics.

Their share is taken in one process, in its own processor time: opening the fleet with its ledger,
then the answer, then the estimators of that answer alone, computed once more. What an answer does
besides is folding: use by day, dones, snags. What is drawn and the numeric libraries' own loading
are in the whole processes only.
"""

from __future__ import annotations

import json
import statistics
import sys
from dataclasses import replace
from pathlib import Path

from bench import grounds
from bench.measuring import YARDSTICKS, ask, measure
from bench.rows import Row, Trial, row_of

GOAL = 10
#: name -> the words typed.
ASKED: dict[str, tuple[str, ...]] = {
    "faults": ("faults",),
    "faults --figures": ("faults", "--figures"),
    "trend": ("trend",),
    "season": ("season",),
    "report": ("report",),
}
#: Estimators may take so much of opening and folding, and no more, from so many events on: in a
#: small fleet the exact comparison of its aircraft takes a tenth of a second whatever its size.
SHARE, FROM = 0.25, 10_000


def measure_looking_back(trial: Trial) -> list[Row]:
    """Goal 10: each against C with nothing kept, and against warm `due` with records kept.

    "edited" is after one record was changed by hand: its whole answer is not kept any more, the
    other records are. "again" is the same question once more.
    """
    copy = grounds.copy_fleet(trial.ground, trial.fleet, "back")
    steps = {name: grounds.tailsheaf(trial.ground, copy, *words) for name, words in ASKED.items()}
    due = grounds.tailsheaf(trial.ground, copy, "due")
    cold = {
        name: replace(one, prepare=lambda _: grounds.forget(copy)) for name, one in steps.items()
    }
    times = measure({"C": grounds.yaml_load(trial.ground, copy), **cold}, trial.cold_rounds)
    rows = [row_of(trial, GOAL, f"cold `{name}`", times, name, "C") for name in ASKED]
    grounds.warm_up(due, *steps.values())
    answered = {
        name: replace(one, prepare=lambda _: _forget_answers(copy)) for name, one in steps.items()
    }
    times = measure({"due": due, **answered}, trial.rounds)
    rows += [row_of(trial, GOAL, f"`{name}`, records kept", times, name, "due") for name in ASKED]
    grounds.warm_up(due, *steps.values())
    times = measure({"due": due, **steps}, trial.rounds)
    rows += [row_of(trial, GOAL, f"`{name}` again", times, name, "due") for name in ASKED]
    return [*rows, *_measure_shares(trial, copy)]


def _forget_answers(fleet: Path) -> None:
    """Throw away whole answers; the records that were read stay kept."""
    for entry in (fleet / ".git" / "tailsheaf" / "answers").iterdir():
        if len(entry.name) == grounds.ANSWER_NAME:
            entry.unlink()


def _measure_shares(trial: Trial, copy: Path) -> list[Row]:
    """The estimators' own time against all that comes before them."""
    root = trial.ground.env.get("PYTHONPATH", str(Path(__file__).parents[1]))
    env = {**trial.ground.env, "PYTHONPATH": root}
    limit = SHARE if trial.events >= FROM else None
    found = []
    for name in ASKED:
        argv = (sys.executable, str(YARDSTICKS / "statistics_share.py"), str(copy), name)
        told = [json.loads(ask(argv, env)) for _ in range(trial.rounds)]
        middle = {key: statistics.median(one[key] for one in told) for key in told[0]}
        before = middle["opened"] + middle["answered"] - middle["estimated"]
        ratio = statistics.median(
            one["estimated"] / (one["opened"] + one["answered"] - one["estimated"]) for one in told
        )
        note = f"opened {1000 * middle['opened']:.0f}, answered {1000 * middle['answered']:.0f}"
        found.append(
            Row(GOAL, f"statistics of `{name}`", trial.size, 1000 * middle["estimated"],
                "opening and folding", 1000 * before, ratio, limit, note=note)
        )  # fmt: skip
    return found
