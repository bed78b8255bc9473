"""An everyday writer that opened only the circles it needs writes and says what it ever did."""

from __future__ import annotations

import io
import random
import shutil
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest
from kept.scattered import draw_files
from kept.test_kept_answers import listening, write

from cli.running import run_session
from cli.session import make_session
from fleets import read_files
from register.desk import read_records
from register.git.repository import init_repository
from register.records.kept import name_of
from register.storage.answers import RACY_NS

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


@pytest.mark.parametrize("seed", range(4))
def test_with_and_without_what_is_kept(
    tmp_path: Path, seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    chance = random.Random(seed)
    cut, whole = tmp_path / "cut", tmp_path / "whole"
    for path, data in draw_files(chance, 45).items():
        target = cut / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(data)
    # Files that cannot be read, near and far: whether they are told of depends on neither.
    homes = sorted(path.parent for path in cut.glob("*/*/*.yaml"))
    for number, home in enumerate(chance.sample(homes, 3)):
        target = home / f"events/2026/03/2026-03-0{number + 1}-note-b{number}k3n7q9zz.yaml"
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(b'record: "note\n')
    init_repository(cut)
    shutil.copytree(cut, whole)
    snag, flown = chance.choice(ids_of(cut, "snag")), chance.choice(ids_of(cut, "flights"))
    done, noted = 0, 0
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
        noted += "what it changes is told without" in expected[1]
    assert done > len(LINES) // 3
    assert noted
    assert read_files(cut) == read_files(whole)


def test_an_entry_opens_one_circle(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """All that is said of it, what could not be read too, comes from there."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    fleet = tmp_path / "fleet"
    for path, data in draw_files(random.Random(16), 40).items():
        write(fleet, path, data)
    init_repository(fleet)
    time.sleep(RACY_NS / 1e9 + 0.1)
    assert say(fleet, "due")[0] in (0, 1)
    circles = read_records(fleet).circles
    smallest = min((c for c in circles.all if c[0].startswith("aircraft/")), key=len)
    assert len(smallest) < len(circles.members) // 2
    name = smallest[0].partition("/")[2]
    with listening() as opened:
        assert "recorded: 1 flight" in say(fleet, f"fly {name} 1")[1]
    assert opened
    assert opened <= {name_of("sheaf", folder) for folder in smallest}
