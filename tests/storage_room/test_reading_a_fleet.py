"""Every record is read, nothing that could be one is left out unsaid, nothing hangs."""

from __future__ import annotations

import os
import socket
from pathlib import Path

import pytest

from register.storage.folder import (
    LARGEST_RECORD,
    exists,
    find_fleet,
    list_temporaries,
    read_file,
    read_fleet,
)
from register.storage.gathered import SourceFile
from register.trouble import Exit, Problem, RegisterError


def put(root: Path, *paths: str, text: str = "id: a\n") -> None:
    for path in paths:
        (root / path).parent.mkdir(parents=True, exist_ok=True)
        (root / path).write_text(text, "utf-8")


def read_paths(root: Path) -> list[str]:
    return [file.path for file in read_fleet(root)[0]]


def told(root: Path) -> dict[str, str]:
    return {problem.place.file: problem.code for problem in read_fleet(root)[1]}


def only_problem(root: Path) -> Problem:
    (problem,) = read_fleet(root)[1]
    return problem


def test_finds_the_nearest_fleet_above(tmp_path: Path) -> None:
    put(tmp_path, "outer/fleet.yaml", "outer/inner/fleet.yaml", "outer/inner/a/b/x.yaml")
    assert find_fleet(tmp_path / "outer/inner/a/b") == tmp_path / "outer/inner"
    assert find_fleet(tmp_path / "outer/inner") == tmp_path / "outer/inner"
    assert find_fleet(tmp_path / "outer/other/gone") == tmp_path / "outer"
    assert find_fleet(tmp_path) is None


def test_a_fleet_file_that_is_a_link_or_folder_makes_no_fleet(tmp_path: Path) -> None:
    put(tmp_path, "real.yaml")
    (tmp_path / "linked").mkdir()
    (tmp_path / "linked/fleet.yaml").symlink_to(tmp_path / "real.yaml")
    (tmp_path / "folder/fleet.yaml").mkdir(parents=True)
    assert find_fleet(tmp_path / "linked") is None
    assert find_fleet(tmp_path / "folder") is None


def test_reads_all_records_in_path_order(tmp_path: Path) -> None:
    paths = [
        "aircraft/heron/aircraft.yaml",
        "aircraft/heron/events/2026/05/2026-05-16-flights-a7k2qdm3xw.yaml",
        "fleet.yaml",
        "kits/wader.yaml",
        "papers/permit.yaml",
        "parts/sv-22/part.yaml",
        "private.yaml",
        "programmes/turbine.yaml",
        "stock.yaml",
    ]
    put(tmp_path, *reversed(paths))
    files, problems = read_fleet(tmp_path)
    assert [file.path for file in files] == paths
    assert files[0] == SourceFile("aircraft/heron/aircraft.yaml", b"id: a\n")
    assert problems == ()


def test_what_is_no_record_is_passed_over(tmp_path: Path) -> None:
    put(
        tmp_path,
        "fleet.yaml",
        "README.md",
        ".github/workflow.yaml",
        ".pre-commit.yaml",
        "aircraft/heron/photo.jpg",
        "aircraft/heron/attachments/export.yaml",
        "aircraft/heron/.tailsheaf-0123.tmp",
        "other/thing.yaml",
    )
    files, problems = read_fleet(tmp_path)
    assert [file.path for file in files] == ["fleet.yaml"]
    assert problems == ()


def test_an_empty_and_a_large_record(tmp_path: Path) -> None:
    put(tmp_path, "kits/empty.yaml", text="")
    put(tmp_path, "kits/largest.yaml", text="#" * LARGEST_RECORD)
    put(tmp_path, "kits/too-large.yaml", text="#" * (LARGEST_RECORD + 1))
    files, problems = read_fleet(tmp_path)
    assert [len(file.data) for file in files] == [0, LARGEST_RECORD]
    assert [(p.place.file, p.code, p.level) for p in problems] == [
        ("kits/too-large.yaml", "file-too-large", "error")
    ]


@pytest.mark.parametrize("path", ["fleet.yaml", "kits/wader.yaml", "aircraft/heron"])
def test_a_link_is_not_followed_and_said(tmp_path: Path, path: str) -> None:
    put(tmp_path, "outside/aircraft.yaml", text="id: stolen\n")
    (tmp_path / "in" / path).parent.mkdir(parents=True, exist_ok=True)
    source = tmp_path / "outside"
    (tmp_path / "in" / path).symlink_to(source if path == "aircraft/heron" else source / "a")
    assert read_paths(tmp_path / "in") == []
    problem = only_problem(tmp_path / "in")
    assert (problem.place.file, problem.code, problem.level) == (path, "file-not-read", "error")
    assert problem.mend


def test_a_linked_record_folder_is_said(tmp_path: Path) -> None:
    put(tmp_path, "outside/x/aircraft.yaml", "in/fleet.yaml")
    (tmp_path / "in/aircraft").symlink_to(tmp_path / "outside")
    assert read_paths(tmp_path / "in") == ["fleet.yaml"]
    assert told(tmp_path / "in") == {"aircraft": "file-not-read"}


def test_a_fleet_reached_by_a_link_is_read(tmp_path: Path) -> None:
    put(tmp_path, "real/fleet.yaml", "real/kits/wader.yaml")
    (tmp_path / "way").symlink_to(tmp_path / "real")
    assert find_fleet(tmp_path / "way") == tmp_path / "way"
    assert read_paths(tmp_path / "way") == ["fleet.yaml", "kits/wader.yaml"]


def test_pipes_sockets_and_folders_neither_hang_nor_vanish(tmp_path: Path) -> None:
    (tmp_path / "kits/folder.yaml").mkdir(parents=True)
    put(tmp_path, "kits/folder.yaml/inside.yaml", "kits/good.yaml", "papers")
    os.mkfifo(tmp_path / "kits/pipe.yaml")
    os.mkfifo(tmp_path / "private.yaml")
    with socket.socket(socket.AF_UNIX) as listening:
        here = Path.cwd()
        os.chdir(tmp_path / "kits")  # a socket's path may not be long
        try:
            listening.bind("socket.yaml")
        finally:
            os.chdir(here)
    assert read_paths(tmp_path) == ["kits/good.yaml"]
    assert told(tmp_path) == dict.fromkeys(
        ("kits/folder.yaml", "kits/pipe.yaml", "kits/socket.yaml", "papers", "private.yaml"),
        "file-not-read",
    )
    assert read_file(tmp_path, "private.yaml") is None


def test_what_may_not_be_read_is_said(unprivileged: Path) -> None:
    put(unprivileged, "kits/closed.yaml", "kits/open.yaml", "parts/sv-22/part.yaml")
    (unprivileged / "kits/closed.yaml").chmod(0)
    (unprivileged / "parts/sv-22").chmod(0)
    assert read_paths(unprivileged) == ["kits/open.yaml"]
    assert told(unprivileged) == dict.fromkeys(("kits/closed.yaml", "parts/sv-22"), "file-not-read")
    with pytest.raises(RegisterError, match="permission is missing") as refused:
        read_file(unprivileged, "kits/closed.yaml")
    assert refused.value.exit_code is Exit.CANNOT_RUN


def test_a_fleet_that_cannot_be_listed_is_no_empty_fleet(unprivileged: Path) -> None:
    (unprivileged / "fleet").mkdir(mode=0o000)
    with pytest.raises(RegisterError, match="permission is missing"):
        read_fleet(unprivileged / "fleet")


@pytest.mark.parametrize(
    "path",
    [
        "aircraft/Heron/aircraft.yaml",
        "aircraft/häher/aircraft.yaml",
        "kits/con.yaml",
        "kits/lpt9.old.yaml",
        "kits/two words.yaml",
        "kits/under_score.yaml",
        "kits/wader.YAML",
        "parts/nul/part.yaml",
        "parts/dot./part.yaml",
        "parts/" + "/".join(["long-folder-name"] * 10) + "/part.yaml",
    ],
)
def test_an_odd_name_is_read_and_said(tmp_path: Path, path: str) -> None:
    put(tmp_path, path)
    assert read_paths(tmp_path) == [path]
    problem = only_problem(tmp_path)
    assert (problem.code, problem.level) == ("name-odd", "warning")
    assert path.startswith(problem.place.file)


def test_a_name_that_is_no_text_is_read_and_said(tmp_path: Path) -> None:
    (tmp_path / "kits").mkdir()
    (tmp_path / "kits" / os.fsdecode(b"\xff.yaml")).write_bytes(b"id: a\n")
    (file,), (problem,) = read_fleet(tmp_path)
    assert os.fsencode(file.path) == b"kits/\xff.yaml"
    assert problem.code == "name-odd"


@pytest.mark.parametrize(
    "name",
    [
        "wader.sync-conflict-20260516-142000-ABCDEF7.yaml",
        "wader (Jo's conflicted copy 2026-05-16).yaml",
        "wader (conflicted copy 2026-05-16 142000).yaml",
        "wader (SFConflict jo@example.invalid 2026-05-16).yaml",
        "wader (Case Conflict).yaml",
        "wader.Conflict.yaml",
        "wader (1).yaml",
        "wader 2.yaml",
        "wader-LAPTOP7.yaml",
    ],
)
def test_a_second_version_is_said_and_not_loaded(tmp_path: Path, name: str) -> None:
    put(tmp_path, "kits/wader.yaml", f"kits/{name}")
    assert read_paths(tmp_path) == ["kits/wader.yaml"]
    problem = only_problem(tmp_path)
    assert (problem.place.file, problem.code) == (f"kits/{name}", "conflict-copy")
    assert problem.level == "warning"


@pytest.mark.parametrize("name", ["wader (1).yaml", "wader 2.yaml", "wader-LAPTOP7.yaml"])
def test_without_its_original_such_a_name_is_a_record(tmp_path: Path, name: str) -> None:
    put(tmp_path, f"kits/{name}")
    assert read_paths(tmp_path) == [f"kits/{name}"]
    assert told(tmp_path) == {f"kits/{name}": "name-odd"}


def test_plain_names_are_never_taken_for_copies(tmp_path: Path) -> None:
    put(tmp_path, "parts/servo.yaml", "parts/servo-2.yaml", "parts/servo-left.yaml")
    files, problems = read_fleet(tmp_path)
    assert len(files) == 3
    assert problems == ()


@pytest.mark.parametrize(
    "path",
    [
        "kits/wader.yml",
        "kits/.wader.yaml",
        "kits/~$wader.yaml",
        "kits/~$wader",
        "kits/wader.yaml~",
        "kits/wader.yaml.bak",
        "kits/wader.yaml.tmp",
        "kits/download.tmp",
        "kits/.wader.yaml.icloud",
        "fleets.yaml",
        "Fleet.yaml",
    ],
)
def test_what_could_be_taken_for_a_record_is_said(tmp_path: Path, path: str) -> None:
    put(tmp_path, path)
    assert read_paths(tmp_path) == []
    assert told(tmp_path) == {path: "not-loaded"}


def test_folders_that_look_like_the_records_are_said(tmp_path: Path) -> None:
    put(
        tmp_path,
        "Aircraft/heron/aircraft.yaml",
        "parts/.stversions/sv-22/part.yaml",
        "parts/sv-22 (conflicted copy)/part.yaml",
    )
    assert read_paths(tmp_path) == []
    assert told(tmp_path) == {
        "Aircraft": "not-loaded",
        "parts/.stversions": "not-loaded",
        "parts/sv-22 (conflicted copy)": "conflict-copy",
    }


def test_an_editors_dangling_lock_is_no_error(tmp_path: Path) -> None:
    put(tmp_path, "kits/wader.yaml")
    (tmp_path / "kits/.#wader.yaml").symlink_to("jo@host.1234")
    assert told(tmp_path) == {"kits/.#wader.yaml": "not-loaded"}


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("aircraft/Heron/a.yaml", "aircraft/heron/b.yaml"),
        ("kits/wader.yaml", "kits/Wader.yaml"),
        ("kits/h\u00e4.yaml", "kits/ha\u0308.yaml"),
        ("kits/stra\u00dfe.yaml", "kits/strasse.yaml"),
    ],
)
def test_names_that_meet_on_some_systems_clash(tmp_path: Path, one: str, other: str) -> None:
    put(tmp_path, one, other)
    assert sorted(read_paths(tmp_path)) == sorted([one, other])
    clashes = [p for p in read_fleet(tmp_path)[1] if p.code == "name-clash"]
    assert [p.level for p in clashes] == ["error"]
    (related,) = clashes[0].related
    assert related.file != clashes[0].place.file


def test_reads_one_file_and_never_through_a_link(tmp_path: Path) -> None:
    put(tmp_path, "kits/wader.yaml", "outside/secret.yaml")
    (tmp_path / "kits/link.yaml").symlink_to("wader.yaml")
    (tmp_path / "parts").symlink_to("outside")
    assert read_file(tmp_path, "kits/wader.yaml") == b"id: a\n"
    for path in ("kits/gone.yaml", "kits", "kits/link.yaml", "parts/secret.yaml"):
        assert read_file(tmp_path, path) is None, path


def test_exists_sees_whatever_bears_the_name(tmp_path: Path) -> None:
    put(tmp_path, "kits/wader.yaml")
    (tmp_path / "kits/nowhere.yaml").symlink_to("gone")
    assert exists(tmp_path, "kits/wader.yaml")
    assert exists(tmp_path, "kits")
    assert exists(tmp_path, "kits/nowhere.yaml")
    assert not exists(tmp_path, "kits/gone.yaml")
    assert not exists(tmp_path, "kits/wader.yaml/below.yaml")


def test_lists_only_the_programs_own_temporary_files(tmp_path: Path) -> None:
    put(tmp_path, "kits/.tailsheaf-1a.tmp", "kits/other.tmp", "kits/.tailsheaf-1a.yaml")
    assert list_temporaries(tmp_path, "kits") == ("kits/.tailsheaf-1a.tmp",)
    assert list_temporaries(tmp_path, "gone") == ()
