"""A file is wholly written or not at all, and nobody's work is overwritten."""

from __future__ import annotations

import os
import resource
import signal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from register.storage.writing import FileChange, check_inside, check_path, write_changes
from register.trouble import Exit, RegisterError


def read_all(root: Path) -> dict[str, bytes]:
    return {
        path.relative_to(root).as_posix(): path.read_bytes()
        for path in root.rglob("*")
        if path.is_file() and not path.is_symlink()
    }


def refuse(root: Path, *changes: FileChange) -> RegisterError:
    with pytest.raises(RegisterError) as refused:
        write_changes(root, changes)
    return refused.value


def test_writes_new_files_and_changes_old_ones(tmp_path: Path) -> None:
    (tmp_path / "old.yaml").write_bytes(b"one\n")
    (tmp_path / "old.yaml").chmod(0o640)
    write_changes(
        tmp_path,
        [
            FileChange("old.yaml", b"one\n", b"two\n"),
            FileChange("aircraft/heron/events/2026/05/a.yaml", None, b"new\n"),
        ],
    )
    assert read_all(tmp_path) == {
        "old.yaml": b"two\n",
        "aircraft/heron/events/2026/05/a.yaml": b"new\n",
    }
    assert (tmp_path / "old.yaml").stat().st_mode & 0o777 == 0o640


def test_bytes_stay_as_they_are(tmp_path: Path) -> None:
    data = bytes(range(256)) * 1000 + b"\r\n"
    write_changes(tmp_path, [FileChange("a.yaml", None, data)])
    assert (tmp_path / "a.yaml").read_bytes() == data


@pytest.mark.parametrize(
    ("there", "before"), [(b"hers", None), (b"hers", b"mine"), (None, b"mine"), (b"", None)]
)
def test_work_done_meanwhile_is_not_overwritten(
    tmp_path: Path, there: bytes | None, before: bytes | None
) -> None:
    if there is not None:
        (tmp_path / "b.yaml").write_bytes(there)
    held = read_all(tmp_path)
    error = refuse(
        tmp_path, FileChange("a.yaml", None, b"first"), FileChange("b.yaml", before, b"after")
    )
    assert (error.exit_code, error.code) == (Exit.REFUSED, "changed-meanwhile")
    assert read_all(tmp_path) == held


def test_an_unchanged_file_is_not_touched(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_bytes(b"same")
    was = (tmp_path / "a.yaml").stat()
    write_changes(tmp_path, [FileChange("a.yaml", b"same", b"same")])
    now = (tmp_path / "a.yaml").stat()
    assert (now.st_ino, now.st_mtime_ns) == (was.st_ino, was.st_mtime_ns)


def test_never_writes_through_a_linked_folder(tmp_path: Path) -> None:
    (tmp_path / "outside").mkdir()
    fleet = tmp_path / "fleet"
    fleet.mkdir()
    (fleet / "aircraft").symlink_to(tmp_path / "outside")
    error = refuse(fleet, FileChange("aircraft/heron/a.yaml", None, b"a"))
    assert (error.exit_code, error.code) == (Exit.REFUSED, "path-not-ours")
    assert list((tmp_path / "outside").iterdir()) == []


def test_never_replaces_a_link_folder_or_pipe(tmp_path: Path) -> None:
    (tmp_path / "real").write_bytes(b"x")
    (tmp_path / "link.yaml").symlink_to("real")
    (tmp_path / "folder.yaml").mkdir()
    os.mkfifo(tmp_path / "pipe.yaml")
    for name in ("link.yaml", "folder.yaml", "pipe.yaml"):
        for before in (None, b"x"):
            assert refuse(tmp_path, FileChange(name, before, b"y")).code == "path-not-ours"
    assert (tmp_path / "real").read_bytes() == b"x"


def test_a_file_where_a_folder_is_wanted(tmp_path: Path) -> None:
    (tmp_path / "aircraft").write_bytes(b"not a folder")
    assert refuse(tmp_path, FileChange("aircraft/a.yaml", None, b"")).code == "path-not-ours"


def test_a_folder_without_permission_is_said_plainly(unprivileged: Path) -> None:
    (unprivileged / "kits").mkdir()
    (unprivileged / "kits").chmod(0o555)
    error = refuse(
        unprivileged, FileChange("a.yaml", None, b"a"), FileChange("kits/b.yaml", None, b"b")
    )
    assert error.exit_code is Exit.CANNOT_RUN
    assert error.says == "cannot write kits/b.yaml: permission is missing"
    assert error.mend
    assert read_all(unprivileged) == {}


def test_a_disk_that_takes_no_more_leaves_all_as_it_was(tmp_path: Path) -> None:
    (tmp_path / "a.yaml").write_bytes(b"old")
    limits = resource.getrlimit(resource.RLIMIT_FSIZE)
    heard = signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (1000, limits[1]))
    try:
        error = refuse(
            tmp_path,
            FileChange("a.yaml", b"old", b"new"),
            FileChange("b.yaml", None, b"b" * 1001),
        )
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limits)
        signal.signal(signal.SIGXFSZ, heard)
    assert error.exit_code is Exit.CANNOT_RUN
    assert "b.yaml" in error.says
    assert read_all(tmp_path) == {"a.yaml": b"old"}


def test_the_same_new_file_twice_is_taken_back(tmp_path: Path) -> None:
    """The second finds the first in place only when both were checked already."""
    (tmp_path / "b.yaml").write_bytes(b"old")
    error = refuse(
        tmp_path,
        FileChange("b.yaml", b"old", b"new"),
        FileChange("a.yaml", None, b"one"),
        FileChange("a.yaml", None, b"two"),
    )
    assert error.code == "changed-meanwhile"
    assert read_all(tmp_path) == {"b.yaml": b"old"}


@pytest.mark.parametrize(
    "path",
    [
        "",
        "/etc/passwd",
        "../out.yaml",
        "kits/../../out.yaml",
        "kits/./a.yaml",
        "kits//a.yaml",
        "kits/",
        "kits\\a.yaml",
        "C:/a.yaml",
        "C:a.yaml",
        "-rf.yaml",
        "kits/con.yaml",
        "kits/NUL",
        "kits/com1.yaml",
        "kits/dot.",
        "kits/blank ",
        "kits/a:b.yaml",
        "kits/a\nb.yaml",
        "kits/a\x00.yaml",
        "kits/a\x1b[31m.yaml",
        "kits/a\u202eb.yaml",
        ".git/config",
        ".GIT/config",
        "kits/.Git/hooks/pre-commit",
        "git~1/config",
        "kits/" + "a" * 176,
    ],
)
def test_a_bad_path_is_refused(tmp_path: Path, path: str) -> None:
    with pytest.raises(RegisterError) as refused:
        check_path(path)
    assert (refused.value.exit_code, refused.value.code) == (Exit.USAGE, "path-bad")
    assert refused.value.says.isprintable()
    assert refuse(tmp_path, FileChange(path, None, b"x")).code == "path-bad"
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "path",
    [
        "fleet.yaml",
        ".gitattributes",
        "kits/" + "a" * 175,
        "aircraft/Häher/aircraft.yaml",
        "aircraft/heron/attachments/left wing.jpg",
        "kits/console.yaml",
    ],
)
def test_a_fit_path_is_taken(path: str) -> None:
    check_path(path)
    check_inside(path)


def test_a_file_that_is_there_may_have_a_name_not_to_be_given() -> None:
    check_inside("kits/con.yaml")
    check_inside("kits/" + "a" * 300)
    for path in ("../out", "/etc", ".git/config", "a\\b", "a\nb"):
        with pytest.raises(RegisterError):
            check_inside(path)


@given(st.text(max_size=40))
def test_no_accepted_path_leaves_the_fleet(path: str) -> None:
    try:
        check_path(path)
    except RegisterError:
        return
    root = Path("/fleet")
    inside = Path(os.path.normpath(root / path))
    assert root in inside.parents
    assert ".git" not in inside.parts
