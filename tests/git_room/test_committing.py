"""A commit takes its own paths and leaves everything else as it was."""

from __future__ import annotations

import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from register.git.commit import (
    adopt_marker,
    check_identity,
    commit_files,
    commit_paths,
    init_repository,
    paths_not_in_history,
    read_history,
)
from register.git.wrapper import is_ours, plain_words, run_git
from register.trouble import Exit, RegisterError

Git = Callable[..., str]
HERON = "aircraft/heron/aircraft.yaml"


def put(root: Path, path: str, data: bytes) -> None:
    (root / path).parent.mkdir(parents=True, exist_ok=True)
    (root / path).write_bytes(data)


def test_init_makes_a_marked_repository_and_nothing_else(tmp_path: Path, git: Git) -> None:
    init_repository(tmp_path, "records")
    assert is_ours(tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == [".git"]
    assert git(tmp_path, "symbolic-ref", "HEAD") == "refs/heads/records\n"
    assert git(tmp_path, "config", "core.untrackedCache") == "true\n"
    assert not (tmp_path / ".git/hooks").exists()


def test_init_is_refused_in_and_below_a_repository(tmp_path: Path, git: Git) -> None:
    git(tmp_path, "init", "-q")
    (tmp_path / "below").mkdir()
    for folder, code in ((tmp_path, "already-a-repository"), (tmp_path / "below", "inside-other")):
        with pytest.raises(RegisterError) as refused:
            init_repository(folder)
        assert refused.value.exit_code is Exit.REFUSED
        assert refused.value.code.startswith(code)
    assert not (tmp_path / "below/.git").exists()


@pytest.mark.parametrize("branch", ["", "-x", "a..b", "a b", "a.lock", "a/", "HEAD^", "--bare"])
def test_init_refuses_what_is_no_branch(tmp_path: Path, branch: str) -> None:
    with pytest.raises(RegisterError):
        init_repository(tmp_path, branch)
    assert list(tmp_path.iterdir()) == []


def test_the_first_commit_of_an_empty_branch(tmp_path: Path, git: Git) -> None:
    init_repository(tmp_path)
    assert commit_paths(tmp_path, [], "Nothing") == ""
    put(tmp_path, HERON, b"id: heron\n")
    commit = commit_paths(tmp_path, [HERON], "Add heron")
    assert git(tmp_path, "rev-parse", "main").strip() == commit
    assert git(tmp_path, "show", f"main:{HERON}") == "id: heron\n"
    assert git(tmp_path, "status", "--porcelain") == ""
    assert git(tmp_path, "fsck", "--strict", "--full") == ""


def test_author_message_and_parent(fleet: Path, git: Git) -> None:
    old = git(fleet, "rev-parse", "main").strip()
    put(fleet, HERON, b"id: heron\ntitle: Heron\n")
    commit_paths(fleet, [HERON], "Häng «x»\n\ndone\nM 100644 inline evil")
    said = git(fleet, "log", "-1", "--format=%an|%ae|%cn|%P|%B")
    assert said == (
        f"Test Owner|owner@example.invalid|Test Owner|{old}|"
        "Häng «x»\n\ndone\nM 100644 inline evil\n\n"
    )


def test_what_history_has_is_not_committed_again(fleet: Path, git: Git) -> None:
    tip = git(fleet, "rev-parse", "main").strip()
    assert commit_paths(fleet, [HERON, "fleet.yaml"], "Again") == tip
    assert git(fleet, "rev-parse", "main").strip() == tip


def test_bytes_are_committed_as_they_are(fleet: Path, git: Git) -> None:
    data = bytes(range(256)) + b"\r\nlast"
    put(fleet, ".gitattributes", b"* text=auto eol=lf\n")
    put(fleet, "kits/a.yaml", data)
    commit_paths(fleet, ["kits/a.yaml"], "Add")
    shown = subprocess.run(
        ["git", "cat-file", "blob", "main:kits/a.yaml"],
        cwd=fleet, capture_output=True, check=True,
    )  # fmt: skip
    assert shown.stdout == data


@pytest.mark.parametrize(
    "path",
    [
        'kits/"quoted".yaml', '"first/a.yaml', "kits/two words.yaml", "kits/häher.yaml",
        "kits/--output=x.yaml", "kits/:(top)a.yaml", "kits/a*[b]?.yaml", "kits/a missing.yaml",
    ],
)  # fmt: skip
def test_any_name_on_the_disk_can_be_committed(fleet: Path, git: Git, path: str) -> None:
    put(fleet, path, b"id: a\n")
    put(fleet, "kits/a9b.yaml", b"id: not-asked-for\n")
    commit_paths(fleet, [path], "Save")
    assert git(fleet, "show", "--format=", "--name-only", "-z", "main") == f"{path}\0"
    assert git(fleet, "ls-files", "-z", "--", f":(literal){path}") == f"{path}\0"
    assert commit_paths(fleet, [path], "Again") == git(fleet, "rev-parse", "main").strip()
    assert len(read_history(fleet, path, 9)) == 1


def test_a_missing_file_is_removed_only_when_that_is_meant(fleet: Path, git: Git) -> None:
    (fleet / HERON).unlink()
    with pytest.raises(RegisterError) as refused:
        commit_paths(fleet, [HERON], "Save")
    assert refused.value.code == "file-missing"
    commit_paths(fleet, [HERON], "Remove", allow_missing=True)
    assert git(fleet, "ls-tree", "-r", "--name-only", "main") == "fleet.yaml\n"
    assert git(fleet, "status", "--porcelain") == ""


@pytest.mark.parametrize("path", ["../out.yaml", "/etc/passwd", ".git/config", "a\nb"])
def test_a_path_out_of_the_fleet_is_not_committed(fleet: Path, path: str) -> None:
    with pytest.raises(RegisterError) as refused:
        commit_paths(fleet, [path], "Steal")
    assert refused.value.exit_code is Exit.USAGE


def test_staged_and_unstaged_work_stays_byte_for_byte(fleet: Path, git: Git) -> None:
    put(fleet, "kits/staged.yaml", b"staged: 1\n")
    put(fleet, "fleet.yaml", b"schema: 1\nname: staged\n")
    git(fleet, "add", "kits/staged.yaml", "fleet.yaml")
    put(fleet, "fleet.yaml", b"schema: 1\nname: unstaged\n")
    put(fleet, "kits/untracked.yaml", b"untracked: 1\n")
    git(fleet, "rm", "-q", "--cached", HERON)
    status = git(fleet, "status", "--porcelain")
    staged = git(fleet, "diff", "--cached", "--binary")
    unstaged = git(fleet, "diff", "--binary")
    put(fleet, "kits/ours.yaml", b"ours: 1\n")
    commit_paths(fleet, ["kits/ours.yaml"], "Ours")
    assert git(fleet, "show", "--format=", "--name-only", "main") == "kits/ours.yaml\n"
    assert git(fleet, "status", "--porcelain") == status
    assert git(fleet, "diff", "--cached", "--binary") == staged
    assert git(fleet, "diff", "--binary") == unstaged


def test_an_unfinished_merge_stays_unfinished(fleet: Path, git: Git) -> None:
    git(fleet, "switch", "-q", "-c", "other")
    put(fleet, "fleet.yaml", b"schema: 1\nname: theirs\n")
    git(fleet, "commit", "-qam", "Theirs")
    git(fleet, "switch", "-q", "main")
    put(fleet, "fleet.yaml", b"schema: 1\nname: ours\n")
    git(fleet, "commit", "-qam", "Ours")
    git(fleet, "merge", "other", check=False)
    unmerged = git(fleet, "ls-files", "-u")
    conflicted = (fleet / "fleet.yaml").read_bytes()
    assert len(unmerged.splitlines()) == 3
    put(fleet, "kits/ours.yaml", b"ours: 1\n")
    commit_paths(fleet, ["kits/ours.yaml"], "Log in between")
    assert git(fleet, "ls-files", "-u") == unmerged
    assert (fleet / "fleet.yaml").read_bytes() == conflicted
    assert (fleet / ".git/MERGE_HEAD").is_file()
    put(fleet, "fleet.yaml", b"schema: 1\nname: both\n")
    git(fleet, "commit", "-qam", "Merge")
    assert git(fleet, "log", "-1", "--format=%P").count(" ") == 1
    assert git(fleet, "show", "main:kits/ours.yaml") == "ours: 1\n"


def test_on_a_detached_head_only_the_branch_moves(fleet: Path, git: Git) -> None:
    git(fleet, "switch", "-q", "--detach")
    head = git(fleet, "rev-parse", "HEAD")
    index = (fleet / ".git/index").read_bytes()
    put(fleet, "kits/a.yaml", b"id: a\n")
    done = commit_files(fleet, {"kits/a.yaml": b"id: a\n"}, "Add")
    assert done.note is not None
    assert "branch main" in done.note
    assert "no branch" in done.note
    assert git(fleet, "rev-parse", "HEAD") == head
    assert git(fleet, "rev-parse", "main").strip() == done.commit
    assert (fleet / ".git/index").read_bytes() == index


def test_on_another_branch_that_branch_is_left_alone(fleet: Path, git: Git) -> None:
    git(fleet, "switch", "-q", "-c", "trial")
    put(fleet, "kits/a.yaml", b"id: a\n")
    done = commit_files(fleet, {"kits/a.yaml": b"id: a\n"}, "Add")
    assert done.note is not None
    assert "branch trial" in done.note
    assert git(fleet, "log", "--format=%s", "trial") == "Begin the fleet\n"
    assert git(fleet, "log", "--format=%s", "main") == "Add\nBegin the fleet\n"


def test_a_renamed_branch_is_asked_about_not_begun_anew(fleet: Path, git: Git) -> None:
    git(fleet, "branch", "-m", "main", "trunk")
    put(fleet, "kits/a.yaml", b"id: a\n")
    with pytest.raises(RegisterError) as refused:
        commit_paths(fleet, ["kits/a.yaml"], "Add")
    assert (refused.value.exit_code, refused.value.code) == (Exit.REFUSED, "branch-missing")
    adopt_marker(fleet)
    commit_paths(fleet, ["kits/a.yaml"], "Add")
    assert git(fleet, "log", "--format=%s", "trunk") == "Add\nBegin the fleet\n"


def test_refs_packed_by_gc_are_found(fleet: Path, git: Git) -> None:
    git(fleet, "gc", "-q")
    assert not (fleet / ".git/refs/heads/main").exists()
    put(fleet, "kits/a.yaml", b"id: a\n")
    commit_paths(fleet, ["kits/a.yaml"], "Add")
    assert git(fleet, "log", "--format=%s") == "Add\nBegin the fleet\n"


def test_a_sha256_repository(tmp_path: Path, git: Git) -> None:
    git(tmp_path, "init", "-q", "-b", "main", "--object-format=sha256")
    adopt_marker(tmp_path)
    put(tmp_path, "fleet.yaml", b"schema: 1\n")
    commit = commit_paths(tmp_path, ["fleet.yaml"], "Begin")
    assert len(commit) == 64
    assert commit_paths(tmp_path, ["fleet.yaml"], "Again") == commit
    assert paths_not_in_history(tmp_path) == ()
    assert git(tmp_path, "status", "--porcelain") == ""


def test_adopting_needs_a_repository_of_its_own_on_a_branch(tmp_path: Path, git: Git) -> None:
    with pytest.raises(RegisterError) as refused:
        adopt_marker(tmp_path)
    assert refused.value.code == "not-a-repository"
    git(tmp_path, "init", "-q")
    git(tmp_path, "commit", "-q", "--allow-empty", "-m", "x")
    assert not is_ours(tmp_path)
    git(tmp_path, "switch", "-q", "--detach")
    with pytest.raises(RegisterError) as refused:
        adopt_marker(tmp_path)
    assert refused.value.code == "no-branch"
    assert not is_ours(tmp_path)
    git(tmp_path, "switch", "-q", "main")
    adopt_marker(tmp_path)
    assert is_ours(tmp_path)
    assert not is_ours(tmp_path / ".git")


@pytest.mark.parametrize("marker", ["", "{}", "[1]", '{"branch": 1}', '{"branch": "--all"}'])
def test_a_broken_marker_marks_nothing(fleet: Path, marker: str) -> None:
    (fleet / ".git/tailsheaf/fleet").write_text(marker, "utf-8")
    assert not is_ours(fleet)
    with pytest.raises(RegisterError) as refused:
        run_git(fleet, ["status"])
    assert refused.value.code == "not-adopted"


def test_git_is_never_run_in_an_unmarked_repository(tmp_path: Path, git: Git) -> None:
    git(tmp_path, "init", "-q")
    put(tmp_path, "fleet.yaml", b"schema: 1\n")
    with pytest.raises(RegisterError):
        commit_paths(tmp_path, ["fleet.yaml"], "Add")
    with pytest.raises(RegisterError):
        read_history(tmp_path, "fleet.yaml", 1)
    assert paths_not_in_history(tmp_path) == ()


def test_identity_comes_from_configuration_or_environment(
    fleet: Path, git: Git, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert check_identity(fleet) == ("Test Owner", "owner@example.invalid")
    git(fleet, "config", "user.name", "Jo Ann <van> Örn")
    assert check_identity(fleet) == ("Jo Ann van Örn", "owner@example.invalid")
    monkeypatch.setenv("GIT_AUTHOR_NAME", "Env")
    monkeypatch.setenv("GIT_AUTHOR_EMAIL", "env@example.invalid")
    assert check_identity(fleet) == ("Env", "env@example.invalid")


def test_identity_is_known_before_there_is_a_repository(tmp_path: Path) -> None:
    assert check_identity(tmp_path) == ("Test Owner", "owner@example.invalid")


@pytest.mark.parametrize(
    "config", ["", "[user]\nname = Jo\n", "[user]\nemail = a@example.invalid\n", "[user]\nname =\n"]
)
def test_a_missing_identity_is_never_guessed(
    fleet: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, config: str
) -> None:
    (tmp_path / "own").write_text(config, "utf-8")
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", str(tmp_path / "own"))
    for root in (fleet, tmp_path):
        with pytest.raises(RegisterError) as refused:
            check_identity(root)
        assert (refused.value.exit_code, refused.value.code) == (Exit.CANNOT_RUN, "no-identity")
        assert refused.value.mend.count("git config --global user.") == 2


def test_a_broken_repository_is_said_without_a_traceback(fleet: Path) -> None:
    (fleet / ".git/config").write_text("[core\n\x1b[31m", "utf-8")
    with pytest.raises(RegisterError) as refused:
        check_identity(fleet)
    assert (refused.value.exit_code, refused.value.code) == (Exit.CANNOT_RUN, "git-failed")
    assert refused.value.says.isprintable()


def test_gits_words_are_made_plain() -> None:
    assert plain_words(b"fatal: \x1b]0;x\x07\n\n hint\xff\n") == "fatal: \\x1b]0;x\\x07; hint\ufffd"
    assert len(plain_words(b"x" * 9999)) < 600


def test_what_is_not_in_history(fleet: Path, git: Git) -> None:
    assert paths_not_in_history(fleet) == ()
    put(fleet, ".gitignore", b"parts/\n*.yaml\n")
    (fleet / ".git/info").mkdir(exist_ok=True)
    put(fleet, ".git/info/exclude", b"*\n")
    put(fleet, "parts/sv-22/part.yaml", b"id: sv-22\n")
    put(fleet, "aircraft/heron/attachments/photo.yaml", b"not a record")
    put(fleet, "notes.txt", b"not a record")
    assert paths_not_in_history(fleet) == ("parts/sv-22/part.yaml",)
    git(fleet, "update-index", "--assume-unchanged", HERON)
    put(fleet, HERON, b"id: heron\r\n")
    put(fleet, ".gitattributes", b"*.yaml text eol=lf\n")
    (fleet / "fleet.yaml").unlink()
    found = (HERON, "fleet.yaml", "parts/sv-22/part.yaml")
    assert paths_not_in_history(fleet) == found
    for path in found:
        commit_paths(fleet, [path], "Save", allow_missing=True)
    assert paths_not_in_history(fleet) == ()


def test_before_the_first_commit_nothing_is_in_history(tmp_path: Path) -> None:
    init_repository(tmp_path)
    put(tmp_path, "fleet.yaml", b"schema: 1\n")
    assert paths_not_in_history(tmp_path) == ("fleet.yaml",)
    assert read_history(tmp_path, "fleet.yaml", 5) == ()


def test_a_file_too_large_to_read_is_still_compared(fleet: Path) -> None:
    put(fleet, "kits/large.yaml", b"#" * 300_000)
    commit_paths(fleet, ["kits/large.yaml"], "Add")
    assert paths_not_in_history(fleet) == ()
    put(fleet, "kits/large.yaml", b"#" * 300_001)
    assert paths_not_in_history(fleet) == ("kits/large.yaml",)


def test_history_of_one_path(fleet: Path, git: Git, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("GIT_AUTHOR_DATE", "2026-05-16T14:20:00+0530")
    for number in range(3):
        put(fleet, HERON, b"title: %d\n" % number)
        commit_paths(fleet, [HERON], f"Change {number}\n\nmore")
        put(fleet, "kits/a.yaml", b"%d" % number)
        commit_paths(fleet, ["kits/a.yaml"], "Other")
    newest = read_history(fleet, HERON, 2)
    assert [revision.subject for revision in newest] == ["Change 2", "Change 1"]
    assert newest[0].author == "Test Owner"
    assert newest[0].when.isoformat() == "2026-05-16T14:20:00+05:30"
    assert git(fleet, "rev-parse", "main~1").strip() == newest[0].commit
    assert len(read_history(fleet, HERON, 99)) == 4
    assert read_history(fleet, HERON, 0) == ()
    assert read_history(fleet, "aircraft/heron/a*.yaml", 9) == ()
