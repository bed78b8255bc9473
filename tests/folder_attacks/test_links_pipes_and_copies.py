"""Rows 16, 24 and 25: links, pipes and devices; copies left by sync services; conflict markers.

Nothing is followed, waited for, loaded twice or changed, and each is named with its mend. Not run
here: what each service does on its own system (placeholders of iCloud, files held by OneDrive).
"""

from __future__ import annotations

import os
import shutil
import signal
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from event_fleet import make_event_fleet

from fleets import read_files, run, run_json

EVENT = "aircraft/heron/events/2026/05/2026-05-09-flights-f1rstaaaaa.yaml"
PART = "parts/sv-31/part.yaml"


@pytest.fixture(autouse=True)
def _no_hang() -> Iterator[None]:
    """A command that waits on a pipe fails the test instead of stopping it."""

    def stop(*_: object) -> None:
        raise TimeoutError("it waits")

    before = signal.signal(signal.SIGALRM, stop)
    signal.alarm(60)
    yield
    signal.alarm(0)
    signal.signal(signal.SIGALRM, before)


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    return make_event_fleet(tmp_path)


def become_link(path: Path) -> None:
    away = path.parent.parent / "away"
    path.rename(away)
    path.symlink_to(away)


def become_dead_link(path: Path) -> None:
    path.unlink()
    path.symlink_to(path.parent / "gone")


def become_loop(path: Path) -> None:
    path.unlink()
    path.symlink_to(path)


def become_device(path: Path) -> None:
    path.unlink()
    path.symlink_to("/dev/zero")


def become_pipe(path: Path) -> None:
    path.unlink()
    os.mkfifo(path)


def become_folder(path: Path) -> None:
    path.unlink()
    path.mkdir()


KINDS = (
    become_link, become_dead_link, become_loop, become_device, become_pipe, become_folder,
)  # fmt: skip


@pytest.mark.parametrize("become", KINDS, ids=lambda become: become.__name__)
@pytest.mark.parametrize("path", [EVENT, PART, "private.yaml", "programmes/jet.yaml"])
def test_what_is_no_plain_file_is_reported_and_not_followed(
    fleet: Path, become: Callable[[Path], None], path: str
) -> None:
    become(fleet / path)
    problems = run_json("check", fleet=fleet, exit_code=1)["problems"]
    assert [item["mend"] for item in problems if item["file"] == path and item["mend"]]
    due = run("due", fleet=fleet)
    assert due.exit_code == 1
    assert path in due.err
    # Nothing is written through it, and git is not told to take it in.
    run("save", fleet=fleet)
    run("doctor", fleet=fleet)
    run("fly", "heron", "1", "--minutes", "7", fleet=fleet)
    assert not (fleet / path).is_file() or (fleet / path).is_symlink()


@pytest.mark.parametrize("folder", ["aircraft", "aircraft/heron", "parts", "parts/sv-31"])
def test_a_folder_that_is_a_link_is_not_entered(fleet: Path, tmp_path: Path, folder: str) -> None:
    (fleet / folder).rename(tmp_path / "elsewhere")
    (fleet / folder).symlink_to(tmp_path / "elsewhere")
    before = read_files(tmp_path / "elsewhere")
    problems = run_json("check", fleet=fleet, exit_code=1)["problems"]
    assert any(item["file"] == folder for item in problems)
    for line in (("fly", "heron", "1"), ("condition", "sv-31", "quarantined"), ("save",)):
        run(*line, fleet=fleet)
    assert read_files(tmp_path / "elsewhere") == before


def test_fleet_yaml_as_a_link_makes_no_fleet(fleet: Path, tmp_path: Path) -> None:
    (fleet / "fleet.yaml").rename(tmp_path / "fleet.yaml.real")
    (fleet / "fleet.yaml").symlink_to(tmp_path / "fleet.yaml.real")
    assert run("due", fleet=fleet).exit_code == 3


def test_a_fleet_reached_through_a_link_works(fleet: Path, tmp_path: Path) -> None:
    (tmp_path / "by-link").symlink_to(fleet)
    assert run("--fleet", tmp_path / "by-link", "fly", "heron", "1").exit_code == 0
    assert run("due", cwd=tmp_path / "by-link").exit_code == 0
    assert run("doctor", cwd=tmp_path / "by-link").exit_code == 0


def test_a_hard_link_is_read_and_never_written_through(fleet: Path, tmp_path: Path) -> None:
    path = fleet / "aircraft/heron/aircraft.yaml"
    os.link(path, tmp_path / "other-name")
    before = (tmp_path / "other-name").read_bytes()
    line = ("aircraft", "heron", "--opening", "flights=150")
    assert run(*line, fleet=fleet).exit_code == 0
    assert (tmp_path / "other-name").read_bytes() == before
    assert path.read_bytes() != before


COPIES = (
    "{stem}.sync-conflict-20260510-101112-ABCDEFG.yaml",
    "{stem} (Jo's conflicted copy 2026-05-10).yaml",
    "{stem} (conflicted copy 2026-05-10 101112).yaml",
    "{stem} (Case Conflict).yaml",
    "{stem}-LAPTOP7.yaml",
    "{stem} (1).yaml",
    "{stem} 2.yaml",
    "{stem} (SFConflict jo@example.invalid 2026-05-10).yaml",
    "{stem}.Conflict.yaml",
)
#: Without the file they were copied from these could be anybody's names.
NEEDS_ORIGINAL = ("{stem}-LAPTOP7.yaml", "{stem} (1).yaml", "{stem} 2.yaml")
IN_FLIGHT = ("~${name}", ".~lock.{name}#", "{name}.tmp", "{name}.partial", ".{name}.icloud")


@pytest.mark.parametrize("original", [True, False])
@pytest.mark.parametrize("form", COPIES)
@pytest.mark.parametrize("path", [EVENT, PART])
def test_a_copy_is_never_loaded_as_a_second_record(
    fleet: Path, path: str, form: str, original: bool
) -> None:
    folder, _, name = path.rpartition("/")
    copy = f"{folder}/{form.format(stem=name.removesuffix('.yaml'))}"
    shutil.copy(fleet / path, fleet / copy)
    if not original:
        (fleet / path).unlink()
    before = read_files(fleet)
    alone = not original and form not in NEEDS_ORIGINAL
    answer = run_json("check", fleet=fleet, exit_code=1 if alone else 0)
    found = [item for item in answer["problems"] if item["file"] == copy]
    assert found
    assert all(item["mend"] for item in found)
    if original or form not in NEEDS_ORIGINAL:
        assert {item["code"] for item in found} == {"conflict-copy"}
        # The only text of a record left out of every answer is an error.
        assert {item["level"] for item in found} == {"error" if alone else "warning"}
        assert run("save", fleet=fleet).exit_code in (0, 1)
    else:
        assert "name-odd" in {item["code"] for item in found}
    assert read_files(fleet) == before
    if original:
        assert "2 flights" in " ".join(run("why", "heron", "flights", fleet=fleet).out.split())


@pytest.mark.parametrize("form", IN_FLIGHT)
def test_what_a_service_is_still_writing_is_reported(fleet: Path, form: str) -> None:
    folder, _, name = EVENT.rpartition("/")
    path = f"{folder}/{form.format(name=name)}"
    (fleet / path).write_bytes(b'record: "fli')
    problems = run_json("check", fleet=fleet)["problems"]
    assert {item["code"] for item in problems if item["file"] == path} == {"not-loaded"}
    assert (fleet / path).is_file()


@pytest.mark.parametrize("name", ["desktop.ini", ".stfolder", ".DS_Store", "Thumbs.db"])
def test_the_services_own_files_are_left_alone(fleet: Path, name: str) -> None:
    (fleet / "aircraft/heron" / name).write_bytes(b"")
    assert run("check", fleet=fleet).exit_code == 0
    assert run("save", fleet=fleet).exit_code == 0
    assert (fleet / "aircraft/heron" / name).is_file()


def test_copies_inside_the_git_folder_do_no_harm(fleet: Path) -> None:
    git = fleet / ".git"
    for path in ("index", "HEAD", "refs/heads/main", "config"):
        for end in ("-LAPTOP7", " 2", " (conflicted copy 2026-05-10)", ".sync-conflict-20260510-1"):
            shutil.copy(git / path, f"{git / path}{end}")
    assert run("fly", "heron", "1", "--minutes", "7", fleet=fleet).exit_code == 0
    found = run_json("doctor", fleet=fleet)
    assert {item["code"] for item in found["findings"]} == {"ref-odd"}
    assert run("fly", "heron", "1", "--minutes", "7", fleet=fleet).exit_code == 0


def test_conflict_markers_show_both_and_hide_nothing_else(fleet: Path) -> None:
    path = fleet / PART
    path.write_bytes(
        b'id: psv0000031\n<<<<<<< HEAD\nkind: "servo"\n=======\nkind: "gyro"\n>>>>>>> trial\n'
    )
    result = run("check", fleet=fleet)
    assert result.exit_code == 1
    assert f"{PART}:2:" in result.out
    assert "[conflict-markers]" in result.out
    due = run("due", "heron", fleet=fleet)
    assert due.exit_code == 1
    assert "could not be read" in due.err


def test_in_an_unfinished_merge_the_rest_works_and_the_merge_stays(fleet: Path) -> None:
    import subprocess

    def git(*args: str, check: bool = True) -> str:
        done = subprocess.run(
            ["git", *args], cwd=fleet, capture_output=True, text=True, check=check
        )
        return done.stdout

    for branch, kind in (("trial", "gyro"), ("main", "tail-servo")):
        git("switch", "-q", *(("-c",) if branch == "trial" else ()), branch)
        (fleet / PART).write_text(f'id: psv0000031\nkind: "{kind}"\n', "utf-8")
        git("commit", "-q", "-a", "-m", kind)
    git("merge", "-q", "trial", check=False)
    before = git("ls-files", "-u")
    assert before.count("\n") == 3
    text = (fleet / PART).read_bytes()
    assert run("check", fleet=fleet).exit_code == 1
    assert run("fly", "heron", "1", "--minutes", "7", fleet=fleet).exit_code in (0, 1)
    assert run("doctor", fleet=fleet).exit_code == 0
    assert git("ls-files", "-u") == before
    assert (fleet / PART).read_bytes() == text
    assert (fleet / ".git/MERGE_HEAD").is_file()
