"""An everyday writer that opened only the circles it needs writes and says what it ever did."""

from __future__ import annotations

import io
import random
import shutil
from datetime import UTC, datetime
from pathlib import Path

import pytest
from kept.scattered import draw_files

from cli.running import run_session
from cli.session import make_session
from fleets import read_files
from register.git.repository import init_repository

NOW = datetime(2026, 3, 14, 18, 0, tzinfo=UTC)
LINES = (
    "fly heron 2 --minutes 14",
    "fly swift 1 --pack pk-2",
    "fly sw --pack pk-1,pk-2 --each 7",
    "fly he 1 --after {flown}:1",
    "fly nobody",
    "fly knot 1 --at 2026-03-05",
    "charge pk-1 pk-2",
    "snag heron wing chipped -s cosmetic --position sv-1",
    "snag sv-2 loose horn",
    "snag {snag} -s g",
    "snag zzzz -s g",
    "fix {snag} glued",
    "fix {short} glued",
    "fix zzzz glued",
    "done look heron",
    "done hinge sv-1",
    "done swift look --fail",
    "done strip tern",
    "swap tu-1 tu-2",
    "swap sv-3 sv-1 --after {flown}",
)


def say(fleet: Path, line: str) -> tuple[int, str, str]:
    """Run one line as at one hour, with ids that chance always draws alike."""
    session = make_session(NOW, fleet)
    session.out, session.err, session.source = io.StringIO(), io.StringIO(), io.StringIO()
    session.chance = random.Random(line)
    code = run_session(line.split(), session)
    return code, session.out.getvalue(), session.err.getvalue()


def ids_of(fleet: Path, kind: str) -> list[str]:
    """Ids of the events of a kind, by file name."""
    return sorted(path.stem.split("-")[-2] for path in fleet.rglob(f"*-{kind}-*.yaml")) or ["none"]


@pytest.mark.parametrize("seed", range(3))
def test_with_and_without_what_is_kept(
    tmp_path: Path, seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    chance = random.Random(seed)
    cut, whole = tmp_path / "cut", tmp_path / "whole"
    for path, data in draw_files(chance, 45).items():
        target = cut / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(data)
    init_repository(cut)
    shutil.copytree(cut, whole)
    snag, flown = chance.choice(ids_of(cut, "snag")), chance.choice(ids_of(cut, "flights"))
    done = 0
    for typed in LINES:
        line = typed.format(snag=snag, short=snag[:4], flown=flown)
        monkeypatch.delenv("XDG_STATE_HOME", raising=False)
        # Without a home nothing is kept, and every fold is that of the whole fleet.
        with monkeypatch.context() as homeless:
            homeless.setenv("XDG_STATE_HOME", "/nonexistent/state")
            expected = say(whole, line)
        monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
        assert say(cut, line) == expected, line
        done += expected[0] in (0, 1)
    assert done > len(LINES) // 3
    assert read_files(cut) == read_files(whole)
