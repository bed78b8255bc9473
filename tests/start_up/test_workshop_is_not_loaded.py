"""A fleet without notices pays nothing for them, and no everyday line loads the workshop."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from fleets import make_fleet

LOAD = """
import json, sys
from datetime import UTC, datetime
from pathlib import Path
from cli.main import run_in_process
words, where = json.loads(sys.argv[1])
code, _, err = run_in_process(words, now=datetime(2026, 5, 16, 9, tzinfo=UTC), cwd=Path(where))
assert code == 0, err
print(json.dumps(sorted(sys.modules)))
"""
NOTICE = 'title: "Kit"\nnotices:\n  rib-bond:\n    title: "Dry rib"\n'


def load(fleet: Path, *words: str) -> set[str]:
    """Modules loaded by one line."""
    done = subprocess.run(
        [sys.executable, "-c", LOAD, json.dumps([words, str(fleet)])],
        capture_output=True, text=True, check=False, timeout=60,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return set(json.loads(done.stdout))


def fleet_with(tmp_path: Path, kit: str) -> Path:
    """One aircraft of one kit."""
    heron = 'id: "hern000001"\ntitle: "Heron"\nkit: "oriel"\n'
    return make_fleet(
        tmp_path,
        {"aircraft/heron/aircraft.yaml": heron, "kits/oriel.yaml": f'id: "kit0000001"\n{kit}'},
    )


@pytest.mark.parametrize("words", [("due",), ("flyday",), ("fly", "heron", "2")])
def test_without_notices_nothing_of_them_is_loaded(tmp_path: Path, words: tuple[str, ...]) -> None:
    modules = load(fleet_with(tmp_path, 'title: "Kit"\n'), *words)
    ours = ("notices", "looks", "applying", "lots", "traps", "jobs")
    loaded = {name for name in modules if name.startswith("register.")}
    assert not [name for name in loaded if name.rpartition(".")[2] in ours]


def test_with_a_notice_it_is_there(tmp_path: Path) -> None:
    modules = load(fleet_with(tmp_path, NOTICE), "due")
    assert "register.findings.notices" in modules
    assert "register.entry.notices" not in modules
    assert "register.findings.jobs" not in modules
