"""One prepared fleet for all fault tests, in memory where there is a folder for it."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from faults.crossings import make_crossings
from faults.fleet_at_work import Workplace, make_interrupted, prepare
from faults.library import quick_folder
from faults.many import Scene, Trials
from faults.promises import Everyday
from faults.worlds import Crossing

AFTER_INTERRUPTED = "fly, after one cut short"


@pytest.fixture(scope="session")
def fault_folder() -> Iterator[Path]:
    """A folder that is gone at the end of the session."""
    made = Path(tempfile.mkdtemp(prefix="tailsheaf-faults-", dir=quick_folder()))
    yield made
    shutil.rmtree(made)


@pytest.fixture(scope="session")
def prepared(fault_folder: Path) -> Workplace:
    """A fleet with the owner's own work lying in it. Never written to again."""
    return prepare(fault_folder)


@pytest.fixture(scope="session")
def places(prepared: Workplace, fault_folder: Path) -> dict[str, Workplace]:
    """The prepared fleet of each line under test."""
    later = make_interrupted(prepared, fault_folder, AFTER_INTERRUPTED)
    return {**dict.fromkeys(prepared.lines, prepared), AFTER_INTERRUPTED: later}


@pytest.fixture(scope="session")
def everyday(places: dict[str, Workplace]) -> dict[str, Scene]:
    """The everyday lines, each in its prepared fleet."""
    return {name: Everyday(place, place.lines[name]) for name, place in places.items()}


@pytest.fixture(scope="session")
def trials(everyday: dict[str, Scene]) -> Iterator[Trials]:
    """Workers whose runs are forks."""
    made = Trials(everyday, forks=True)
    yield made
    made.close()


@pytest.fixture(scope="session")
def crossings(prepared: Workplace, fault_folder: Path, trials: Trials) -> dict[str, Crossing]:
    """The lines that reach beyond one folder, each in its world, known to the workers."""
    made = make_crossings(prepared, fault_folder / "worlds")
    trials.scenes.update(made)
    return made
