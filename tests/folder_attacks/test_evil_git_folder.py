"""Row 15 (and 14 as far as remotes are only stored): a git folder that is out to run something.

No command, adopted or not, ever lets it. Hooks and programs of Windows (git.exe or bash.exe
in the current folder, `.git` by its short name) need that system and were not run here.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from event_fleet import make_event_fleet
from folder_attacks.traps import (
    COMMAND_LINES,
    MORE_FILES,
    READING,
    WRITING,
    set_redirects,
    set_traps,
    write_run,
)

from cli.commands.table import COMMANDS
from fleets import read_files, run, run_json

Traps = Callable[[Path, Path], None]


def set_both(fleet: Path, run: Path) -> None:
    set_traps(fleet, run)
    set_redirects(fleet, run)


@pytest.fixture(scope="session")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("template")


@pytest.fixture
def fleet(template: Path, tmp_path: Path) -> Path:
    """A sound fleet of this program, with every file in history."""
    if not (template / "fleet").exists():
        make_event_fleet(template, MORE_FILES)
    shutil.copytree(template / "fleet", tmp_path / "fleet", symlinks=True)
    return tmp_path / "fleet"


@pytest.fixture
def stranger(fleet: Path) -> Path:
    """The same fleet, its git folder made by somebody else."""
    shutil.rmtree(fleet / ".git/tailsheaf")
    return fleet


def test_every_command_has_a_line() -> None:
    assert set(COMMAND_LINES) == {item.name for item in COMMANDS}


@pytest.mark.parametrize("name", [*READING, *WRITING, "doctor", "adopt", "handover"])
def test_the_lines_are_answered_on_a_sound_fleet(fleet: Path, name: str) -> None:
    result = run(*COMMAND_LINES[name], fleet=fleet, input=DAY)
    assert result.exit_code == 0, result


DAY = "\nheron\n" + "\n" * 60


@pytest.mark.parametrize("traps", [set_traps, set_redirects, set_both])
@pytest.mark.parametrize("name", COMMAND_LINES)
def test_nothing_runs_in_an_adopted_folder(
    fleet: Path, tmp_path: Path, name: str, traps: Traps
) -> None:
    program, canary = write_run(tmp_path)
    traps(fleet, program)
    result = run(*COMMAND_LINES[name], fleet=fleet, input=DAY)
    assert not canary.exists()
    # A picture is no handover file, and a folder with records no place to begin.
    assert result.exit_code == (4 if name in ("init", "receive") else 0), result


def test_nothing_runs_on_the_way_to_others(fleet: Path, tmp_path: Path) -> None:
    program, canary = write_run(tmp_path)
    set_both(fleet, program)
    box, out = tmp_path / "box", tmp_path / "heron.tailsheaf"
    box.mkdir()
    for line in (
        ("sync", "--add", "stick", str(box)),
        ("sync",),
        ("handover", "heron", str(out), "--copy"),
        ("receive", str(out)),
    ):
        result = run(*line, fleet=fleet)
        assert result.exit_code == 0, result
    assert not canary.exists()


@pytest.mark.parametrize("name", COMMAND_LINES)
def test_nothing_runs_in_a_foreign_folder(stranger: Path, tmp_path: Path, name: str) -> None:
    program, canary = write_run(tmp_path)
    set_both(stranger, program)
    before = read_files(stranger)
    result = run(*COMMAND_LINES[name], fleet=stranger, input=DAY)
    assert not canary.exists()
    assert read_files(stranger) == before
    assert not (stranger / ".git/tailsheaf/fleet").exists()
    assert result.exit_code == (0 if name in READING else 4), result


@pytest.mark.parametrize("name", [*WRITING, "doctor"])
def test_a_foreign_folder_is_refused_with_the_way_out(stranger: Path, name: str) -> None:
    error = run_json(*COMMAND_LINES[name], fleet=stranger, input=DAY, exit_code=4)["error"]
    assert (error["code"], error["mend"]) == ("not-adopted", "tailsheaf adopt")


@pytest.mark.parametrize(
    "command", [("status",), ("add", "."), ("commit", "-m", "x"), ("log", "-p"), ("fetch",)]
)
def test_the_traps_are_real(fleet: Path, tmp_path: Path, command: tuple[str, ...]) -> None:
    import subprocess

    program, canary = write_run(tmp_path)
    set_traps(fleet, program)
    (fleet / "fleet.yaml").write_bytes(b"schema: 1\n")
    subprocess.run(["git", *command], cwd=fleet, capture_output=True, check=False)
    assert canary.exists()


def test_adopting_shows_everything_that_could_run(stranger: Path, tmp_path: Path) -> None:
    program, canary = write_run(tmp_path)
    set_traps(stranger, program)
    shown = run_json("adopt", fleet=stranger, exit_code=4)
    says = "\n".join(f"{item['file']}:{item['line']} {item['says']}" for item in shown["could_run"])
    for word in (
        ".git/hooks/pre-commit:0", ".git/hooks/reference-transaction:0", "core.fsmonitor",
        "core.hookspath", "core.sshcommand", "core.editor", "core.pager", "core.askpass",
        "filter.evil.clean", "filter.evil.process", "diff.external", "diff.evil.command",
        "diff.evil.textconv", "merge.evil.driver", "gpg.program", "gpg.ssh.defaultkeycommand",
        "commit.gpgsign", "alias.status", "pager.log", "include.path", "credential.helper",
        "remote.origin.url", "remote.origin.uploadpack", "protocol.ext.allow",
        ".gitattributes:1", ".git/info/attributes:1",
    ):  # fmt: skip
        assert word in says, word
    assert (shown["adopted"], shown["redirects"]) == (False, [])
    assert shown["mend"] == "tailsheaf adopt --yes"
    assert not canary.exists()


def test_adopting_once_lets_records_be_written(stranger: Path, tmp_path: Path) -> None:
    program, canary = write_run(tmp_path)
    set_traps(stranger, program)
    assert run("adopt", fleet=stranger).exit_code == 4
    assert run("fly", "heron", "1", fleet=stranger).exit_code == 4
    assert run_json("adopt", "--yes", fleet=stranger)["adopted"]
    assert run("fly", "heron", "1", fleet=stranger).exit_code == 0
    assert run("adopt", fleet=stranger).exit_code == 0
    assert (stranger / ".git/tailsheaf/machine").read_bytes().startswith(b"m-")
    assert not canary.exists()


@pytest.mark.parametrize(
    ("path", "text", "mend"),
    [
        (".git/config", "[core]\n\tworktree = /\n", "core.worktree"),
        (".git/config", '[core "x"]\n[core]\n\tWorkTree=/', "core.worktree"),
        (".git/config", "[core]\n\tbare = true\n", "core.bare"),
        (".git/config", "[extensions]\n\tnewThing = true\n", "extensions.newthing"),
        (".git/config", "[core]\n\trepositoryFormatVersion = 7\n", "core.repositoryformatversion"),
        (".git/config", "[core\n", "mend line"),
        (".git/config.worktree", "[core]\n\tworktree = /\n", "--file .git/config.worktree"),
        (".git/objects/info/alternates", "/elsewhere/objects\n", "git repack"),
    ],
)
def test_what_leads_elsewhere_is_not_adopted_even_with_yes(
    stranger: Path, path: str, text: str, mend: str
) -> None:
    (stranger / ".git/objects/info").mkdir(parents=True, exist_ok=True)
    with (stranger / path).open("a", encoding="utf-8") as file:
        file.write(text)
    shown = run_json("adopt", "--yes", fleet=stranger, exit_code=4)
    assert shown["adopted"] is False
    assert mend in shown["mend"]
    assert not (stranger / ".git/tailsheaf").exists()


@pytest.mark.parametrize("name", ["objects", "refs", "config", "index"])
def test_a_link_inside_the_git_folder_is_not_adopted(
    stranger: Path, tmp_path: Path, name: str
) -> None:
    path = stranger / ".git" / name
    path.rename(tmp_path / name)
    path.symlink_to(tmp_path / name)
    shown = run_json("adopt", "--yes", fleet=stranger, exit_code=4)
    assert [item["file"] for item in shown["redirects"]] == [f".git/{name}"]


@pytest.mark.parametrize("kind", ["link", "file"])
def test_a_git_folder_elsewhere_is_not_adopted(stranger: Path, tmp_path: Path, kind: str) -> None:
    (stranger / ".git").rename(tmp_path / "git")
    if kind == "link":
        (stranger / ".git").symlink_to(tmp_path / "git")
    else:
        (stranger / ".git").write_text(f"gitdir: {tmp_path}/git\n", "utf-8")
    for line in (("adopt", "--yes"), ("fly", "heron", "1"), ("doctor",)):
        assert run(*line, fleet=stranger).exit_code == 4, line
    assert run("due", fleet=stranger).exit_code == 0
