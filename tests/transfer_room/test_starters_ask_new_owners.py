"""What receive says of the starter programmes is so."""

from __future__ import annotations

from pathlib import Path

import cli.render.receive
from register.desk import read_starters
from register.records.programmes import build_programme
from register.text.parsing import parse_text


def test_every_starter_has_tasks_for_a_new_owner_under_the_name_that_receive_gives() -> None:
    said = Path(cli.render.receive.__file__).read_text("utf-8")
    assert "the starter programmes have tasks for" in said
    assert "named new-owner-…" in said
    starters = read_starters()
    assert starters
    for name, data in starters.items():
        node = parse_text(f"programmes/{name}.yaml", data).node
        assert node is not None
        asked = [
            task for task in build_programme("x", name, node)[0].tasks if "new-owner" in task.id
        ]
        assert len(asked) > 1
        for task in asked:
            assert task.id.startswith("new-owner-")
            assert any("new-owner" in start.what for start in task.starts)
