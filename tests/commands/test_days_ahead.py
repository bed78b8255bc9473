"""A bare weekday: the coming one for what looks ahead, the last one for what looks back."""

from __future__ import annotations

from pathlib import Path

import pytest
from event_fleet import make_event_fleet

from fleets import run_json

#: The tests take place on Saturday 2026-05-16.


@pytest.mark.parametrize(
    ("line", "day"),
    [
        (("due", "--on", "sun"), "2026-05-17"),
        (("due", "--on", "12 june"), "2026-06-12"),
        (("worklist", "heron", "--on", "sun"), "2026-05-17"),
        (("flyday", "sun"), "2026-05-17"),
        (("flyday", "--on", "sun"), "2026-05-17"),
        (("due", "--on", "sat"), "2026-05-16"),
        (("due", "--on", "yesterday"), "2026-05-15"),
        (("history", "heron", "--on", "sun"), "2026-05-10"),
        (("fleet", "--on", "sun"), "2026-05-10"),
    ],
)
def test_a_bare_weekday(line: tuple[str, ...], day: str, tmp_path: Path) -> None:
    assert run_json(*line, fleet=make_event_fleet(tmp_path))["on"] == day
