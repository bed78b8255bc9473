"""The same surroundings for every test: an empty home, one git identity, a fixed zone and width."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

pytest.register_assert_rewrite("fleets")

from fleets import Golden  # noqa: E402  (only after its asserts are set to be rewritten)

GITCONFIG = """\
[user]
\tname = Test Owner
\temail = owner@example.invalid
[init]
\tdefaultBranch = main
"""

STRIPPED = ("GIT_", "TAILSHEAF_", "XDG_", "LC_")
STRIPPED_NAMES = (
    "FORCE_COLOR",
    "CLICOLOR_FORCE",
    "PY_COLORS",
    "EDITOR",
    "VISUAL",
    "PAGER",
    "LANGUAGE",
)

# Real files are written, so a slow example says nothing about the law being tested.
settings.register_profile(
    "settled",
    derandomize=True,
    database=None,
    deadline=None,
    max_examples=60,
    suppress_health_check=[HealthCheck.too_slow],
)
# Looks for new examples: HYPOTHESIS_PROFILE=search pytest
settings.register_profile(
    "search",
    deadline=None,
    max_examples=1000,
    print_blob=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "settled"))


def pytest_addoption(parser: pytest.Parser) -> None:
    """Add `--accept`."""
    parser.addoption(
        "--accept",
        action="store_true",
        help="write the present screens to tests/golden/ instead of comparing them",
    )


def pytest_configure(config: pytest.Config) -> None:
    """Accepting is a person's decision, made after reading the difference."""
    if config.getoption("--accept") and "CI" in os.environ:
        raise pytest.UsageError("--accept is not for CI: accept at your desk and commit the files")


@pytest.fixture(scope="session")
def _home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    home = tmp_path_factory.mktemp("home")
    (home / "gitconfig").write_text(GITCONFIG, "utf-8")
    return home


@pytest.fixture(autouse=True)
def _surroundings(_home: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Nothing of the machine's own settings reaches a test."""
    for name in list(os.environ):
        if name.startswith(STRIPPED) or name in STRIPPED_NAMES:
            monkeypatch.delenv(name)
    fixed = {
        "HOME": str(_home),
        "GIT_CONFIG_GLOBAL": str(_home / "gitconfig"),
        "GIT_CONFIG_NOSYSTEM": "1",
        "LANG": "C.UTF-8",
        "TZ": "UTC",
        "COLUMNS": "80",
        "LINES": "24",
        "TERM": "dumb",
        "NO_COLOR": "1",
    }
    for name, value in fixed.items():
        monkeypatch.setenv(name, value)
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


@pytest.fixture
def golden(request: pytest.FixtureRequest) -> Golden:
    """Call it with a name and a text: the text must be that of tests/golden/<name>.txt."""
    accept = bool(request.config.getoption("--accept"))
    return Golden(Path(__file__).parent / "golden", accept=accept)
