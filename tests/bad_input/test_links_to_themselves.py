"""A link that leads to itself, wherever a path can be typed: a refusal, never a fault of ours."""

from __future__ import annotations

from pathlib import Path

import pytest

from fleets import make_fleet, run
from register.git.apply import save_paths
from register.git.commit import init_repository

LINES = (
    "sync --add one ../loop",
    "sync --add one ../loop/x",
    "init ../loop",
    "init ../loop/x",
    "init ../new --from ../loop",
    "handover heron ../loop",
    "handover heron ../loop/x",
    "handover heron --dossier ../loop",
    "receive ../loop",
    "receive ../loop/x",
    "attach heron ../loop",
    "adopt ../loop",
    "--fleet ../loop due",
    "--fleet ../loop/x fly heron",
)


@pytest.mark.parametrize("line", LINES)
def test_it_is_refused_in_words(tmp_path: Path, line: str) -> None:
    fleet = make_fleet(tmp_path, {"aircraft/heron/aircraft.yaml": 'stage: "in-service"\n'})
    init_repository(fleet)
    save_paths(fleet, ["fleet.yaml", "aircraft/heron/aircraft.yaml"], "Begin")
    (fleet.parent / "loop").symlink_to(fleet.parent / "loop")
    result = run(*line.split(), cwd=fleet)
    assert result.exit_code in (1, 2, 3, 4), result
    assert "mend:" in result.err
