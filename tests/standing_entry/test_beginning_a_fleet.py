"""`init`: a fleet with its history begun, or a refusal that wrote nothing."""

from __future__ import annotations

import os
import subprocess
from pathlib import Path

import pytest

from fleets import read_files, run, run_json
from register.git.repository import init_repository


def git(folder: Path, *args: str) -> str:
    done = subprocess.run(["git", *args], cwd=folder, capture_output=True, text=True, check=True)
    return done.stdout


def test_a_new_fleet_reads_without_a_problem_and_is_wholly_in_history(tmp_path: Path) -> None:
    result = run("init", "mine", "--zone", "CET", "--season-start", "4-1", cwd=tmp_path)
    assert result.exit_code == 0, result
    assert "home zone CET, season from 04-01" in result.out
    assert result.out.count("\n  tailsheaf ") == 3
    root = tmp_path / "mine"
    assert sorted(read_files(root)) == [
        ".gitattributes",
        ".gitignore",
        "fleet.yaml",
        "private.yaml",
    ]
    assert git(root, "status", "--porcelain") == ""
    assert git(root, "log", "--format=%s|%an") == "Begin the fleet|Test Owner\n"
    assert 'name: "Test Owner"' in (root / "private.yaml").read_text("utf-8")
    shown = run_json("aircraft", fleet=root)
    assert (shown["version"], shown["complete"], shown["aircraft"]) == (1, True, [])


def test_the_machine_gets_a_random_name_that_stays_out_of_history(tmp_path: Path) -> None:
    for name in ("one", "two"):
        assert run("init", name, cwd=tmp_path).exit_code == 0
    named = [(tmp_path / n / ".git/tailsheaf/machine").read_text("utf-8") for n in ("one", "two")]
    assert named[0] != named[1]
    assert all(name.startswith("m-") and len(name.strip()) == 10 for name in named)


def test_an_empty_folder_will_do_and_the_name_can_be_given(tmp_path: Path) -> None:
    (tmp_path / "here").mkdir()
    data = run_json("init", ".", "--name", 'Low "and" loud: é', cwd=tmp_path / "here")
    assert data["fleet"] == 'Low "and" loud: é'
    assert data["next"][0] == "tailsheaf programme"
    assert run_json("aircraft", cwd=tmp_path / "here")["aircraft"] == []


def test_a_folder_with_anything_in_it_is_refused_untouched(tmp_path: Path) -> None:
    folder = tmp_path / "full"
    folder.mkdir()
    (folder / "letter.txt").write_bytes(b"mine")
    result = run("init", "full", cwd=tmp_path)
    assert result.exit_code == 4
    assert "letter.txt" in result.err
    assert "mend: " in result.err
    assert read_files(folder) == {"letter.txt": b"mine"}
    (tmp_path / "file").write_bytes(b"mine")
    assert run("init", "file", cwd=tmp_path).exit_code == 4
    assert (tmp_path / "file").read_bytes() == b"mine"


def test_an_interrupted_founding_is_gone_on_with(tmp_path: Path) -> None:
    whole = tmp_path / "whole"
    assert run("init", "whole", cwd=tmp_path).exit_code == 0
    cut = tmp_path / "cut"
    cut.mkdir()
    init_repository(cut)
    (cut / ".gitignore").write_bytes((whole / ".gitignore").read_bytes())
    (cut / ".tailsheaf-0123456789abcdef.tmp").write_bytes(b"half")
    result = run("init", "cut", cwd=tmp_path)
    assert result.exit_code == 0, result
    assert git(cut, "ls-files") == git(whole, "ls-files")
    assert git(cut, "status", "--porcelain") == ""
    assert run("init", "cut", cwd=tmp_path).exit_code == 4


def test_a_fleet_that_lost_its_first_file_is_not_begun_again(tmp_path: Path) -> None:
    assert run("init", "mine", cwd=tmp_path).exit_code == 0
    (tmp_path / "mine/fleet.yaml").unlink()
    assert run("init", "mine", cwd=tmp_path).exit_code == 4
    assert not (tmp_path / "mine/fleet.yaml").exists()


def test_inside_another_work_tree_it_is_refused_with_the_way_out(tmp_path: Path) -> None:
    git(tmp_path, "init", "--quiet")
    result = run("init", "deep/er", cwd=tmp_path)
    assert result.exit_code == 4
    assert "inside another git work tree" in result.err
    assert "tailsheaf init ~/er" in result.err
    assert not (tmp_path / "deep").exists()


def test_without_git_nothing_is_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from register.git.wrapper import find_git

    find_git.cache_clear()
    monkeypatch.setenv("PATH", str(tmp_path))
    try:
        result = run("init", "mine", cwd=tmp_path)
    finally:
        find_git.cache_clear()
    assert result.exit_code == 3
    assert "install git" in result.err
    assert list(tmp_path.iterdir()) == []


def test_without_an_identity_nothing_is_made(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", os.devnull)
    result = run("init", "mine", cwd=tmp_path)
    assert result.exit_code == 3
    assert "git config --global user.name" in result.err
    assert "git config --global user.email" in result.err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--zone", "Middle/Earth"], "--zone CET"),
        (["--season-start", "13-40"], "--season-start 03-01"),
        (["--name", "a\nb\x1b[31m"], "--name"),
    ],
)
def test_wrong_words_write_nothing(tmp_path: Path, options: list[str], says: str) -> None:
    result = run("init", "mine", *options, cwd=tmp_path)
    assert result.exit_code == 2
    assert says in result.err
    assert list(tmp_path.iterdir()) == []


def test_a_global_ignore_hides_no_record(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    ignore = tmp_path / "ignore"
    ignore.write_text("parts/\nevents\n*.yaml\naircraft\n", "utf-8")
    config = Path(os.environ["GIT_CONFIG_GLOBAL"]).read_text("utf-8")
    (tmp_path / "config").write_text(f"{config}[core]\n\texcludesFile = {ignore}\n", "utf-8")
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", str(tmp_path / "config"))
    assert run("init", "mine", cwd=tmp_path).exit_code == 0
    root = tmp_path / "mine"
    hidden = (
        "parts/tb-1/part.yaml",
        "aircraft/heron/events/2026/05/2026-05-16-flights-a7k2qd3x9m.yaml",
        "aircraft/heron/attachments/2026.jpg",
    )
    for path in (*hidden, "aircraft/heron/.tailsheaf-0123.tmp"):
        (root / path).parent.mkdir(parents=True, exist_ok=True)
        (root / path).write_bytes(b"x")
    seen = git(root, "status", "--porcelain", "--untracked-files=all").splitlines()
    assert sorted(line[3:] for line in seen) == sorted(hidden)


def test_bytes_stay_as_written_whatever_git_is_told(tmp_path: Path) -> None:
    assert run("init", "mine", cwd=tmp_path).exit_code == 0
    root = tmp_path / "mine"
    (root / "stock.yaml").write_bytes(b"screws: 12\r\n")
    git(root, "-c", "core.autocrlf=true", "add", "stock.yaml")
    done = subprocess.run(
        ["git", "cat-file", "blob", ":stock.yaml"], cwd=root, capture_output=True, check=True
    )
    assert done.stdout == b"screws: 12\r\n"


def test_the_example_is_copied_with_a_history_by_season(tmp_path: Path) -> None:
    result = run("init", "ex", "--example", cwd=tmp_path)
    assert result.exit_code == 0, result
    root = tmp_path / "ex"
    assert "5 aircraft" in result.out
    assert "tailsheaf due heron" in result.out
    subjects = git(root, "log", "--reverse", "--format=%s").splitlines()
    assert subjects[0] == "Copy the example fleet"
    assert len(subjects) > 2
    assert git(root, "status", "--porcelain") == ""
    assert run("check", fleet=root).exit_code == 0
    for args in (
        ["aircraft"],
        ["aircraft", "heron"],
        ["parts"],
        ["parts", "te-114"],
        ["kit"],
        ["kit", "longreach-90"],
        ["programme"],
        ["programme", "turbine-jet"],
        ["papers"],
    ):
        shown = run(*args, fleet=root)
        assert shown.exit_code == 0, shown
        assert max(len(line) for line in shown.out.splitlines()) <= 80, args
