"""Processor seconds of one answer that looks back, as JSON: opened, answered, estimated.

python statistics_share.py FLEET NAME
"""

from __future__ import annotations

import gc
import json
import os
import sys
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

from cli.replay import find_key_path
from register import answers
from register.faults.concluding import conclude
from register.faults.drift import Reading, estimate_drift, project_crossing
from register.fleet import Fleet, open_fleet
from register.views.faults import FaultsAsked, FaultsView
from register.views.trend import TrendView


def estimate_faults(view: FaultsView) -> None:
    """Rates, times between, both trend tests and the quiet of each group."""
    for line in view.lines:
        conclude(line.group)


def estimate_figures(fleet: Fleet, day: date, view: FaultsView) -> None:
    """The same, and growth, likeness, mean cumulative functions."""
    from register.views.fault_figures import view_figures

    estimate_faults(view)
    view_figures(fleet.ledger_at(day), view.lines)


def estimate_trend(view: TrendView) -> None:
    """Slope and test of each series, and where it meets its limit."""
    for line in view.lines:
        readings = [Reading(one.at, one.value, one.spell) for one in line.placed]
        estimate_drift(readings)
        if line.limit is not None and readings:
            project_crossing(readings, line.limit, "most")


def answer(fleet: Fleet, day: date, name: str) -> Callable[[], None]:
    """Give the answer; back comes what computes its estimators once more."""
    if name.startswith("faults"):
        figures = name.endswith("--figures")
        view, _ = answers.answer_faults(fleet, day, None, FaultsAsked(), figures=figures)
        if figures:
            return lambda: estimate_figures(fleet, day, view)
        return lambda: estimate_faults(view)
    if name == "trend":
        trend = answers.answer_trend(fleet, day, None, None, "days")
        return lambda: estimate_trend(trend)
    if name == "season":
        answers.answer_season(fleet, day, None, None, private=False)
        # Its rates are worked out where they are written: one for each season.
        return lambda: None
    report = answers.answer_report(fleet, day, None, None, private=False)

    def estimate() -> None:
        estimate_faults(report.faults)
        estimate_trend(report.trend)

    return estimate


def main(folder: str, name: str) -> None:
    """Take the times and print them."""
    gc.set_threshold(200_000, 50, 50)
    if name.endswith("--figures"):
        # Loading a library is no statistics, and no folding either.
        import scipy.special  # type: ignore[import-untyped] # noqa: F401
    begun = time.process_time()
    fleet = open_fleet(Path(folder), find_key_path(os.environ))
    day = date.today()  # noqa: DTZ011
    fleet.ledger_at(day)
    opened = time.process_time()
    again = answer(fleet, day, name)
    answered = time.process_time()
    again()
    estimated = time.process_time()
    times = {
        "opened": opened - begun,
        "answered": answered - opened,
        "estimated": estimated - answered,
    }
    sys.stdout.write(json.dumps(times) + "\n")


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2])
