"""Written as one event or as two, the same flights give the same totals."""

from __future__ import annotations

from typing import Any

from hypothesis import given
from hypothesis import strategies as st
from laws.sheets import Sheets, span

MINUTES = st.lists(st.integers(1, 20), min_size=2, max_size=6)
COUNTERS = ("flights", "minutes", "landings", "gear-cycles", "engine-minutes")


def write(groups: list[list[int]], install: dict[str, Any] | None) -> Sheets:
    """Flights of one day in one event or several; a turbine went in the day before, or then."""
    sheets = Sheets()
    sheets.aircraft("heron", per_flight={"engine-minutes": 9, "landings": 2})
    sheets.part("leg-1", "gear-leg")
    sheets.part("tu-07", "turbine")
    for part in ("leg-1", "tu-07"):
        where = install or {"when": "2026-05-15"}
        sheets.add("install", where["when"], part=part, position=part)
    previous: dict[str, str] = {}
    for n, each in enumerate(groups):
        id = sheets.fly("2026-05-16", len(each), f"part{n}", each=each, **previous)
        previous = {"after": id}
    return sheets


@given(MINUTES, st.integers(1, 5), st.booleans())
def test_splitting_an_event_changes_no_total(minutes: list[int], at: int, same_day: bool) -> None:
    at = min(at, len(minutes) - 1)
    install = {"when": "2026-05-16"} if same_day else None
    whole = write([minutes], install).ledger()
    split = write([minutes[:at], minutes[at:]], install).ledger()
    for name in ("heron", "leg-1", "tu-07"):
        for counter in COUNTERS:
            assert span(whole, name, counter) == span(split, name, counter), (name, counter)
    assert span(whole, "heron", "minutes") == (sum(minutes), sum(minutes))
