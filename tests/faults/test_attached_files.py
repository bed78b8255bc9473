"""A file and the note that it is kept come together or not at all, whatever is cut short."""

from __future__ import annotations

from faults.fleet_at_work import Workplace
from faults.library import KINDS
from faults.many import Point, Trials
from faults.promises import run_clean

#: Faults that pass, and those that stay until there is room again.
TRIED = ("kill before", "kill after", "power cut", "ENOSPC once", "ENOSPC from then on")


def test_a_file_and_its_note_come_or_stay_away_together(
    places: dict[str, Workplace], trials: Trials
) -> None:
    """At the calls round both names, and at a few of the rest."""
    ops = run_clean(places["attach"], places["attach"].lines["attach"])[0].ops
    links = [number for number, found in enumerate(ops, 1) if found == "l"][:2]
    near = {number + by for number in links for by in (-1, 0, 1)}
    kinds = [kind for kind in KINDS if kind.name in TRIED]
    assert len(kinds) == len(TRIED)
    points = [
        Point("attach", kind, number)
        for kind in kinds
        for number in sorted({*near, *range(5, len(ops), 40)})
    ]
    assert trials.run(points).all_broken == []
