"""A part's counter is what it had, what its hosts gained while it was there, and its own."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st
from laws.sheets import Sheets, span

FIRST = date(2026, 3, 2)
PLACES = ("heron", "swift", "")
Day = tuple[str, int, int, int]


@given(
    st.lists(
        st.tuples(st.sampled_from(PLACES), st.integers(0, 4), st.integers(0, 4), st.integers(0, 5)),
        max_size=15,
    ),
    st.integers(0, 500),
)
def test_a_part_gains_what_its_hosts_gained(days: list[Day], opening: int) -> None:
    """Each day: where the turbine goes in the morning, flights of both, minutes on the bench."""
    sheets = Sheets()
    sheets.aircraft("swift")
    counters = {"flights": opening, "engine-minutes": 10 * opening}
    sheets.part("tu-07", "turbine", opening={"counters": counters})
    place = ""
    flights, minutes = opening, 10 * opening
    for n, (host, heron, swift, bench) in enumerate(days):
        day = (FIRST + timedelta(days=n)).isoformat()
        if place and host != place:
            sheets.add("remove", f"{day}T06:00Z", part="tu-07")
        if host and host != place:
            sheets.add("install", f"{day}T07:00Z", part="tu-07", aircraft=host, position="engine")
        place = host
        for aircraft, count in (("heron", heron), ("swift", swift)):
            if count:
                sheets.fly(f"{day}T10:00Z", count, aircraft=aircraft, engine_minutes=9 * count)
            if aircraft == place:
                flights += count
                minutes += 9 * count
        if bench:
            sheets.add("engine-run", day, part="tu-07", minutes=bench)
            minutes += bench
    ledger = sheets.ledger()
    assert not ledger.problems
    assert span(ledger, "tu-07") == (flights, flights)
    assert span(ledger, "tu-07", "engine-minutes") == (minutes, minutes)
