"""Where a fleet may lie, and how a second machine joins."""

from __future__ import annotations

from pathlib import Path

import pytest
from sync_room.laptops import FILES, LATER, asks, begin, codes, edit, exchange, tip_of, types

from fleets import make_fleet, run


@pytest.mark.parametrize("name", ["Dropbox", "OneDrive - Example", "Google Drive", "Nextcloud"])
def test_init_refuses_a_folder_that_looks_carried(tmp_path: Path, name: str) -> None:
    (tmp_path / name).mkdir()
    said = run("init", "fleet", "--zone", "UTC", cwd=tmp_path / name)
    assert said.exit_code == 4
    assert "tailsheaf sync --add synced" in said.err
    assert not (tmp_path / name / "fleet").exists()
    assert (
        run("init", "fleet", "--zone", "UTC", "--even-synced", cwd=tmp_path / name).exit_code == 0
    )
    assert "fleet-in-synced-folder" in codes(tmp_path / name / "fleet")


def test_signs_and_variables_of_a_service(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "a" / ".stfolder").mkdir(parents=True)
    assert run("init", "a/b/fleet", "--zone", "UTC", cwd=tmp_path).exit_code == 4
    monkeypatch.setenv("OneDrive", str(tmp_path / "c"))
    assert run("init", "c/fleet", "--zone", "UTC", cwd=tmp_path).exit_code == 4
    assert run("init", "d", "--zone", "UTC", cwd=tmp_path).exit_code == 0


def test_an_empty_mailbox_or_repository_is_no_fleet(tmp_path: Path) -> None:
    (tmp_path / "box").mkdir()
    said = run("init", "other", "--from", str(tmp_path / "box"), cwd=tmp_path)
    assert said.exit_code == 3
    assert "holds no fleet" in said.err
    assert not (tmp_path / "other").exists()


def test_the_mailbox_may_be_used_after_joining_by_a_repository(tmp_path: Path) -> None:
    import subprocess

    root = make_fleet(tmp_path, FILES)
    from register.git.commit import init_repository

    init_repository(root)
    types(root, "save")
    bare = tmp_path / "club.git"
    subprocess.run(["git", "init", "-q", "--bare", str(bare)], check=True, capture_output=True)
    (tmp_path / "box").mkdir()
    types(root, "sync", "--add", "club", str(bare))
    types(root, "sync", "--add", "stick", str(tmp_path / "box"))
    types(root, "sync")
    types(tmp_path, "init", "other", "--from", str(bare))
    other = tmp_path / "other"
    types(other, "sync", "--add", "stick", str(tmp_path / "box"))
    types(other, "fly", "heron", "--minutes", "6")
    types(other, "sync", "stick")
    types(root, "sync", "stick")
    assert tip_of(root) == tip_of(other)


def test_lists_say_when_the_other_machine_was_heard(tmp_path: Path) -> None:
    one, two = begin(tmp_path)
    types(two, "sync", "--call-me", "bench laptop")
    types(two, "fly", "heron", "--minutes", "6")
    exchange(one, two)
    for word in ("due", "flyday", "fleet"):
        assert "last heard from: bench laptop 2026-07-11, today" in types(one, word).out
        assert [item["title"] for item in asks(one, word)["last_heard"]] == ["bench laptop"]
        assert "bench laptop" not in types(two, word).out
    listed = asks(one, "sync", "--list")
    assert [item["title"] for item in listed["machines"]] == ["bench laptop"]
    types(one, "sync", "--call-me", "bench laptop", code=2)
    types(one, "sync", "--call-me", " ", code=2)


def test_a_clock_that_ran_ahead_does_not_stand_for_the_last_word(tmp_path: Path) -> None:
    one, two = begin(tmp_path)
    types(two, "sync", "--call-me", "bench laptop")
    ahead = LATER.replace(year=2027, month=12)
    types(two, "fly", "heron", "--minutes", "6", now=ahead)
    exchange(one, two)
    said = " ".join(types(one, "due").out.split())
    assert "bench laptop 2027-12-11 by its clock, which is to come" in said
    assert asks(one, "due")["last_heard"][0]["days_ago"] is None
    types(two, "fly", "heron", "--minutes", "5")
    exchange(one, two)
    for word in ("due", "fleet"):
        assert "last heard from: bench laptop 2026-07-11, today" in types(one, word).out


def test_an_edit_that_is_not_saved_is_not_written_over(tmp_path: Path) -> None:
    one, two = begin(tmp_path)
    heron = "aircraft/heron/aircraft.yaml"
    edit(two, heron, '"grey"', '"blue"')
    types(two, "sync")
    text = (one / heron).read_text().replace("Heron", "Heron, the old one")
    (one / heron).write_text(text)
    said = types(one, "sync", code=4)
    assert "tailsheaf save" in said.err
    assert (one / heron).read_text() == text
    types(one, "save")
    exchange(one, two)
    assert tip_of(one) == tip_of(two)
    assert "the old one" in (two / heron).read_text()
    assert '"blue"' in (one / heron).read_text()


def test_what_the_owner_staged_stays(tmp_path: Path) -> None:
    import subprocess

    one, two = begin(tmp_path)
    types(two, "fly", "heron", "--minutes", "6")
    types(two, "sync")
    (one / "notes.txt").write_text("staged\n")
    subprocess.run(["git", "add", "notes.txt"], cwd=one, check=True, capture_output=True)
    (one / "notes.txt").write_text("staged, and more\n")
    types(one, "sync")
    said = subprocess.run(
        ["git", "status", "--porcelain"], cwd=one, check=True, capture_output=True, text=True
    )
    assert said.stdout == "AM notes.txt\n"
