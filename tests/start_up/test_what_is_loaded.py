"""Each command pays only for what it uses: counts, not times."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from register.example.scenario import build_example
from register.git.repository import init_repository
from register.storage import answers

PROGRAM = str(Path(sys.executable).with_name("tailsheaf"))
#: Loaded for one line of typing they would cost more than the line.
HEAVY = ("git", "pydantic", "dateutil", "numpy", "scipy", "hypothesis", "asyncio", "email", "PIL")
RUN = """
import json, sys
sys.argv = ["tailsheaf", *json.loads(sys.argv[1])]
started = []
def listen(event, arguments):
    if event == "subprocess.Popen":
        started.append(str(arguments[0]))
sys.addaudithook(listen)
from cli.main import run
try:
    run()
except SystemExit as ended:
    code = ended.code
sys.stderr.write("\\n@" + json.dumps([sorted(sys.modules), len(started), code]))
"""


@pytest.fixture(scope="module")
def fleet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The example as a fleet of our own."""
    made = tmp_path_factory.mktemp("start-up") / "fleet"
    for path, data in build_example().items():
        target = made / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(data)
    init_repository(made)
    return made


def load(fleet: Path, *words: str, **surroundings: str) -> tuple[set[str], int]:
    """Modules loaded and processes started by one command line."""
    done = subprocess.run(
        [sys.executable, "-c", RUN, json.dumps(["--fleet", str(fleet), *words])],
        capture_output=True,
        text=True,
        check=True,
        timeout=60,
        env={**os.environ, **surroundings},
    )
    modules, processes, code = json.loads(done.stderr.rpartition("@")[2])
    assert code == 0, done.stderr
    return set(modules), processes


def heavy(modules: set[str]) -> set[str]:
    """What of the heavy ones was loaded."""
    return {name for name in HEAVY if name in modules}


def test_help_loads_no_record_and_no_git(fleet: Path) -> None:
    modules, processes = load(fleet, "--help")
    assert heavy(modules) == set()
    assert not any(name.startswith(("register.ledger.", "ruamel")) for name in modules)
    assert processes == 0


def test_due_loads_neither_git_nor_yaml_and_plain_no_rich(fleet: Path) -> None:
    modules, processes = load(fleet, "due", "petrel", "--plain")
    assert heavy(modules) == set()
    assert not any(name.split(".")[0] in ("ruamel", "rich") for name in modules)
    assert not any(name.startswith("register.entry.day") for name in modules)
    assert processes == 0


def test_a_kept_answer_loads_next_to_nothing(fleet: Path) -> None:
    time.sleep(answers.RACY_NS / 1e9 + 0.1)
    load(fleet, "due", "petrel")
    modules, processes = load(fleet, "due", "petrel")
    ours = {name for name in modules if name.split(".")[0] in ("register", "cli")}
    assert ours <= {
        "cli", "cli.main", "cli.replay", "register", "register.storage",
        "register.storage.answers",
    }  # fmt: skip
    assert not any(name.split(".")[0] in ("typer", "rich", "ruamel") for name in modules)
    assert processes == 0


def test_fly_loads_no_git_library_and_starts_git_four_times_at_most(fleet: Path) -> None:
    modules, processes = load(fleet, "fly", "petrel", "2", "--each", "5,6")
    assert heavy(modules) == set()
    assert not any(name.split(".")[0] in ("ruamel", "rich") for name in modules)
    # The first write of a machine also asks git for its version.
    assert processes <= 5
    _, again = load(fleet, "fly", "petrel", "1", "--minutes", "5")
    assert again <= 4
