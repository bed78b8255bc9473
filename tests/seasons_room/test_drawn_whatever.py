"""Whatever was read, and whenever: series are judged, drawn and plotted, and never raise."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import given, settings
from hypothesis import strategies as st
from seasons_room.season_fleet import FILES, HERON, Diary, reading

from cli.render.layout import width_of
from fleets import make_fleet, run
from register.desk import open_fleet
from register.pages.series_text import draw_series
from register.views.trend import VERDICTS, view_trend

LAST = date(2026, 5, 16)
values = st.decimals(
    min_value=Decimal("-1e9"), max_value=Decimal("1e9"), places=3, allow_nan=False
) | st.sampled_from([Decimal(0), Decimal("1.6"), Decimal("1.5")])
reads = st.lists(st.tuples(st.integers(0, 25000), values), min_size=1, max_size=14)


@settings(max_examples=25)
@given(taken=reads, steps=st.lists(st.integers(0, 25000), max_size=3))
def test_every_series_is_judged_and_drawn(
    taken: list[tuple[int, Decimal]], steps: list[int]
) -> None:
    diary = Diary()
    for number, value in taken:
        when = (LAST - timedelta(days=number)).isoformat()
        diary.done(when, "surface-play", HERON, reading("play", f"{value:f}", "mm"))
    for number in steps:
        diary.install(
            (LAST - timedelta(days=number)).isoformat(), "sv-1", HERON, "aileron-servo-left"
        )
    with TemporaryDirectory() as folder:
        ledger = open_fleet(make_fleet(Path(folder), {**FILES, **diary.files})).ledger
        for per in ("days", "flights"):
            view = view_trend(ledger, LAST, (), None, None, per)
            (line,) = view.lines
            assert line.verdict in VERDICTS
            assert len(line.placed) == len(taken)
            for width in (40, 80, 120):
                for ascii_only in (False, True):
                    rows = draw_series(line, width, ascii_only=ascii_only)
                    assert all(width_of(row) <= width for row in rows)
                    assert not ascii_only or all(row.isascii() for row in rows)


def test_the_end_of_the_calendar_is_no_crash(tmp_path: Path) -> None:
    diary = Diary()
    for n in range(12):
        value = 1 + n * 1e-7
        diary.done(
            f"2025-{n % 12 + 1:02d}-01",
            "surface-play",
            HERON,
            reading("play", f"{value:.8f}", "mm"),
        )
    fleet = make_fleet(tmp_path, {**FILES, **diary.files})
    out = run("trend", "heron", "play", "--on", LAST.isoformat(), fleet=fleet)
    assert out.exit_code == 0, out
    assert "beyond the calendar" in out.out
    page = run("report", "--html", str(tmp_path / "r.html"), "--on", LAST.isoformat(), fleet=fleet)
    assert page.exit_code == 0, page
