"""Each damage that a crash, a power cut or a sync service does: mended, and nothing lost."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from pathlib import Path

import pytest
from doctor.patient import HERON, NOTES, Patient, empty, git, make_old, make_patient

from fleets import read_files, run, run_json

LOCKS = (
    "index.lock", "HEAD.lock", "packed-refs.lock", "config.lock", "refs/heads/main.lock",
    "refs/heads/trial.lock", "refs/tags/v1.lock", "refs/stash.lock", "logs/HEAD.lock",
)  # fmt: skip


@pytest.fixture
def patient(tmp_path: Path) -> Patient:
    """A fleet with an owner's own work in it."""
    return make_patient(tmp_path)


def git_state(fleet: Path) -> dict[str, bytes]:
    """Every byte below .git."""
    return {
        path.relative_to(fleet).as_posix(): path.read_bytes()
        for path in sorted((fleet / ".git").rglob("*"))
        if path.is_file()
    }


def damage_head_missing(one: Patient) -> None:
    (one.fleet / ".git/HEAD").unlink()


def damage_head_empty(one: Patient) -> None:
    empty(one.fleet / ".git/HEAD")


def damage_head_cut(one: Patient) -> None:
    (one.fleet / ".git/HEAD").write_bytes(b"ref: refs/heads/ma")


def damage_head_lost_commit(one: Patient) -> None:
    (one.fleet / ".git/HEAD").write_bytes(b"0123456789abcdef0123456789abcdef01234567\n")


def damage_ref_empty(one: Patient) -> None:
    empty(one.fleet / ".git/refs/heads/main")


def damage_ref_zeros(one: Patient) -> None:
    (one.fleet / ".git/refs/heads/main").write_bytes(b"\0" * 41)


def damage_ref_missing(one: Patient) -> None:
    (one.fleet / ".git/refs/heads/main").unlink()


def damage_ref_and_log(one: Patient) -> None:
    empty(one.fleet / ".git/refs/heads/main")
    empty(one.fleet / ".git/logs/refs/heads/main")


def damage_ref_lost_commit(one: Patient) -> None:
    (one.fleet / ".git/refs/heads/main").write_bytes(b"0123456789abcdef0123456789abcdef01234567\n")


def damage_all_refs(one: Patient) -> None:
    for name in ("heads/main", "heads/trial", "stash"):
        empty(one.fleet / ".git/refs" / name)


def damage_ref_under_packed(one: Patient) -> None:
    """A torn file over an older packed line: the packed line must not win."""
    older = git(one.fleet, "rev-parse", "main~1").strip()
    (one.fleet / ".git/packed-refs").write_text(f"{older} refs/heads/main\n", "ascii")
    empty(one.fleet / ".git/refs/heads/main")


def damage_packed_refs(one: Patient) -> None:
    git(one.fleet, "pack-refs", "--all")
    path = one.fleet / ".git/packed-refs"
    path.write_bytes(path.read_bytes() + b"<<<<<<< mine\nnot a line\n\x00\x00\n")


def damage_packed_refs_lost(one: Patient) -> None:
    git(one.fleet, "pack-refs", "--all")
    path = one.fleet / ".git/packed-refs"
    path.write_bytes(path.read_bytes().replace(one.trial.encode(), b"0" * 39 + b"1"))


def damage_alternates(one: Patient) -> None:
    (one.fleet / ".git/objects/info/alternates").write_bytes(b"/gone/with/the/stick/objects\n")


def damage_config(one: Patient) -> None:
    (one.fleet / ".git/config").write_bytes(b"[core\n\x00\x00\x00")


def damage_config_missing(one: Patient) -> None:
    (one.fleet / ".git/config").unlink()


def damage_reflog(one: Patient) -> None:
    path = one.fleet / ".git/logs/HEAD"
    path.write_bytes(path.read_bytes() + b"\0" * 90)


def damage_lost_blob(one: Patient) -> None:
    one.path_of(f"main:{HERON}").unlink()


def damage_empty_blob(one: Patient) -> None:
    empty(one.path_of("main:fleet.yaml"))


def damage_short_blob(one: Patient) -> None:
    path = one.path_of("main:fleet.yaml")
    path.chmod(0o644)
    path.write_bytes(path.read_bytes()[:-9])


def damage_other_blob(one: Patient) -> None:
    path = one.path_of("main:fleet.yaml")
    path.chmod(0o644)
    path.write_bytes(one.path_of(f"main:{HERON}").read_bytes())


def damage_lost_tree(one: Patient) -> None:
    one.path_of("main:aircraft/heron").unlink()


def damage_empty_trees(one: Patient) -> None:
    paths = [one.path_of(f"main:aircraft{end}") for end in ("", "/heron", "/heron/events")]
    for path in paths:
        empty(path)


def damage_refs_folder(one: Patient) -> None:
    git(one.fleet, "pack-refs", "--all")
    for path in sorted((one.fleet / ".git/refs").rglob("*"), reverse=True):
        path.rmdir()
    (one.fleet / ".git/refs").rmdir()


def damage_locks(one: Patient) -> None:
    for name in LOCKS:
        make_old(one.fleet / ".git" / name)


def damage_temporaries(one: Patient) -> None:
    make_old(one.fleet / ".git/objects/4b/tmp_obj_Xa81Qz")
    make_old(one.fleet / ".git/objects/pack/tmp_pack_Xa81Qz")
    make_old(one.fleet / ".git/fast_import_crash_4711")
    make_old(one.fleet / ".git/.tailsheaf-0123456789abcdef.tmp")
    make_old(one.fleet / "aircraft/heron/.tailsheaf-0123456789abcdef.tmp")


KEEPS_ALL = (
    damage_head_missing, damage_head_empty, damage_head_cut, damage_head_lost_commit,
    damage_ref_empty, damage_ref_zeros, damage_ref_missing, damage_ref_and_log,
    damage_ref_lost_commit, damage_all_refs, damage_ref_under_packed, damage_packed_refs,
    damage_packed_refs_lost, damage_alternates, damage_config, damage_config_missing,
    damage_reflog, damage_lost_blob, damage_empty_blob, damage_short_blob, damage_other_blob,
    damage_lost_tree, damage_empty_trees, damage_refs_folder, damage_locks, damage_temporaries,
)  # fmt: skip


def name_of(damage: Callable[[Patient], None]) -> str:
    return damage.__name__.removeprefix("damage_")


@pytest.mark.parametrize("damage", KEEPS_ALL, ids=name_of)
def test_damage_is_mended_and_everything_is_as_before(
    patient: Patient, damage: Callable[[Patient], None]
) -> None:
    damage(patient)
    before = git_state(patient.fleet)
    looked = run_json("doctor", "--look", fleet=patient.fleet, exit_code=look_code(damage))
    assert git_state(patient.fleet) == before
    assert looked["findings"]
    assert looked["rescue"] is None
    patient.doctor()
    patient.check_kept()
    # Nothing was deleted: whatever was there is still somewhere, byte for byte.
    after = set(git_state(patient.fleet).values())
    assert {data for data in before.values() if data} <= after


def look_code(damage: Callable[[Patient], None]) -> int:
    """What is only left over is no damage."""
    return 0 if damage is damage_temporaries else 1


@pytest.mark.parametrize("kind", ["empty", "missing", "cut", "zeros"])
def test_an_index_is_built_again_and_work_files_stay(patient: Patient, kind: str) -> None:
    path = patient.fleet / ".git/index"
    if kind == "missing":
        path.unlink()
    else:
        data = path.read_bytes()
        path.write_bytes({"empty": b"", "cut": data[:-30], "zeros": b"\0" * len(data)}[kind])
    patient.doctor()
    assert git(patient.fleet, "diff", "--cached", "--name-only") == ""
    assert git(patient.fleet, "status", "--porcelain") == f"?? {NOTES}\n"
    patient.check_kept(staged=False)


def test_a_lost_tip_goes_back_one_commit_and_its_files_wait_for_save(patient: Patient) -> None:
    (name,) = git(patient.fleet, "diff", "--name-only", "main~1", "main").split()
    parent = git(patient.fleet, "rev-parse", "main~1").strip()
    empty(patient.path_of("main"))
    # Its own branch goes with it: it stands on the lost commit.
    said = run("doctor", fleet=patient.fleet)
    assert f"set to {parent[:12]}" in said.out
    assert name in said.out
    assert (patient.fleet / name).read_bytes() == patient.files[name]
    assert git(patient.fleet, "rev-parse", "main").strip() == parent
    saved = run("save", fleet=patient.fleet)
    assert saved.exit_code == 0, saved
    assert git(patient.fleet, "show", f"main:{name}").encode() == patient.files[name]


def test_the_stash_is_never_taken_for_the_branch(patient: Patient) -> None:
    git(patient.fleet, "branch", "-q", "-D", "trial")
    (patient.fleet / ".git/objects" / patient.trial[:2] / patient.trial[2:]).unlink()
    git(patient.fleet, "stash", "drop", "-q")
    damage_ref_and_log(patient)
    empty(patient.fleet / ".git/logs/HEAD")
    said = run("doctor", fleet=patient.fleet)
    assert said.exit_code == 0, said
    assert git(patient.fleet, "rev-parse", "main").strip() == patient.tip


def test_an_old_lost_blob_does_not_turn_the_branch_back(patient: Patient) -> None:
    data = b'id: hern000001\ntitle: "Was"\n'
    old = git(patient.fleet, "hash-object", "-w", "--stdin", stdin=data).strip()
    before = (patient.fleet / HERON).read_bytes()
    git(patient.fleet, "stash", "drop", "-q")
    git(patient.fleet, "reset", "-q", "--", NOTES)
    (patient.fleet / HERON).write_bytes(data)
    assert run("save", HERON, fleet=patient.fleet).exit_code == 0
    (patient.fleet / HERON).write_bytes(before)
    assert run("save", HERON, fleet=patient.fleet).exit_code == 0
    tip = git(patient.fleet, "rev-parse", "main").strip()
    (patient.fleet / ".git/objects" / old[:2] / old[2:]).unlink()
    said = run("doctor", fleet=patient.fleet)
    assert said.exit_code == 1
    assert "its past lacks 1 object(s)" in " ".join(said.out.split())
    assert "still wrong" in said.out
    assert git(patient.fleet, "rev-parse", "main").strip() == tip


def test_borrowed_objects_that_are_away_do_not_turn_the_branch_back(
    patient: Patient, tmp_path: Path
) -> None:
    lender = tmp_path / "stick"
    git(tmp_path, "clone", "-q", "--bare", str(patient.fleet), str(lender))
    git(lender, "repack", "-q", "-a", "-d")
    objects = patient.fleet / ".git/objects"
    (objects / "info/alternates").write_text(f"{lender}/objects\n", "utf-8")
    git(patient.fleet, "prune-packed", "-q")
    lender.rename(tmp_path / "away")
    ref = (patient.fleet / ".git/refs/heads/main").read_bytes()
    said = run("doctor", fleet=patient.fleet)
    assert said.exit_code == 1
    assert "still wrong" in said.out
    assert (patient.fleet / ".git/refs/heads/main").read_bytes() == ref
    assert (objects / "info/alternates").is_file()
    (tmp_path / "away").rename(lender)
    assert git(patient.fleet, "rev-parse", "main").strip() == patient.tip


def test_a_young_lock_of_another_program_stops_everything(patient: Patient) -> None:
    (patient.fleet / ".git/index.lock").touch()
    empty(patient.fleet / ".git/refs/heads/main")
    before = git_state(patient.fleet)
    error = run_json("doctor", fleet=patient.fleet, exit_code=4)["error"]
    assert error["code"] == "git-at-work"
    assert ".git/index.lock" in error["says"]
    assert git_state(patient.fleet) | {".git/tailsheaf/lock": b""} == before | {
        ".git/tailsheaf/lock": b""
    }
    looked = run("doctor", "--look", fleet=patient.fleet)
    assert "another git program may be at work" in looked.out


def test_a_young_lock_of_an_interrupted_write_is_moved(patient: Patient) -> None:
    pending = patient.fleet / ".git/tailsheaf/pending"
    entry = {"format": 1, "files": {}, "message": "Fly"}
    (pending / "0123456789abcdef.json").write_text(json.dumps(entry), "ascii")
    (patient.fleet / ".git/index.lock").touch()
    patient.doctor()
    patient.check_kept()


def test_only_what_the_journal_names_comes_into_history(patient: Patient) -> None:
    from register.storage import journal

    data = b'record: "note"\nid: "n0taaaaaaa"\nwhen: "2026-05-16"\naircraft: "heron"\n'
    named = "aircraft/heron/events/2026/05/2026-05-16-note-n0taaaaaaa.yaml"
    other = "aircraft/heron/events/2026/05/2026-05-16-note-n0tbbbbbbb.yaml"
    for path, text in ((named, data), (other, data.replace(b"taaa", b"tbbb"))):
        (patient.fleet / path).write_bytes(text)
    journal.open_entry(patient.fleet, {named: journal.hash_bytes(data)}, "Note")
    found = run_json("doctor", fleet=patient.fleet)
    assert found["finished"] == [named]
    assert found["unsaved"] == [other]
    assert git(patient.fleet, "show", f"main:{named}").encode() == data
    assert git(patient.fleet, "ls-files", other) == ""


def test_staged_work_whose_object_is_gone_costs_only_that_entry(patient: Patient) -> None:
    empty(patient.path_of(f":{NOTES}"))
    out = patient.doctor()
    assert NOTES in out
    assert git(patient.fleet, "ls-files", NOTES) == ""
    patient.check_kept(staged=False)


def test_a_copy_by_a_sync_service_beside_a_branch_keeps_its_commit(patient: Patient) -> None:
    older = git(patient.fleet, "rev-parse", "main~1").strip()
    path = patient.fleet / ".git/refs/heads/main (conflicted copy 2026-05-02)"
    path.write_text(f"{older}\n", "ascii")
    patient.doctor()
    assert older in git(patient.fleet, "for-each-ref", "refs/rescue")
    patient.check_kept()


def test_a_renamed_branch_is_not_made_again(patient: Patient) -> None:
    git(patient.fleet, "branch", "-m", "main", "trunk")
    said = run("doctor", fleet=patient.fleet)
    assert said.exit_code == 1
    assert "tailsheaf adopt" in said.out
    assert not (patient.fleet / ".git/refs/heads/main").exists()


def test_a_new_fleet_without_a_commit_is_well(tmp_path: Path) -> None:
    from fleets import make_fleet
    from register.git.commit import init_repository

    fleet = make_fleet(tmp_path)
    init_repository(fleet)
    found = run_json("doctor", fleet=fleet)
    assert (found["well"], found["findings"], found["unsaved"]) == (True, [], ["fleet.yaml"])


def test_a_plain_folder_has_nothing_to_mend(tmp_path: Path) -> None:
    from fleets import make_fleet

    fleet = make_fleet(tmp_path)
    before = read_files(fleet)
    found = run_json("doctor", fleet=fleet)
    assert (found["well"], found["has_history"]) == (True, False)
    assert read_files(fleet) == before


def test_without_fleet_yaml_the_marker_shows_the_fleet(patient: Patient) -> None:
    (patient.fleet / "fleet.yaml").unlink()
    empty(patient.fleet / ".git/refs/heads/main")
    found = run_json("doctor", fleet=patient.fleet / "aircraft")
    assert found["well"]
    assert "fleet.yaml" in found["unsaved"]


def test_the_copy_is_the_folder_as_it_was(patient: Patient) -> None:
    empty(patient.fleet / ".git/refs/heads/main")
    before = git_state(patient.fleet)
    found = run_json("doctor", fleet=patient.fleet)
    copy = patient.fleet / found["copy"]
    copied = {
        f".git/{path.relative_to(copy).as_posix()}": path.read_bytes()
        for path in copy.rglob("*")
        if path.is_file()
    }
    lock = ".git/tailsheaf/lock"
    assert copied | {lock: b""} == before | {lock: b""}


def test_no_copy_is_made_without_need_or_wish(patient: Patient) -> None:
    assert run_json("doctor", fleet=patient.fleet)["copy"] is None
    empty(patient.fleet / ".git/refs/heads/main")
    found = run_json("doctor", "--no-copy", fleet=patient.fleet)
    assert found["copy"] is None
    assert (patient.fleet / found["rescue"] / "git/refs/heads/main").read_bytes() == b""


def test_packed_objects_are_read_as_well(patient: Patient) -> None:
    git(patient.fleet, "gc", "-q")
    (patient.fleet / ".git/packed-refs").unlink()
    (patient.fleet / ".git/HEAD").unlink()
    patient.doctor()
    patient.check_kept()


def test_a_pipe_among_the_names_makes_nothing_wait(patient: Patient) -> None:
    os.mkfifo(patient.fleet / ".git/refs/heads/pipe")
    (patient.fleet / ".git/link").symlink_to("/dev/zero")
    empty(patient.fleet / ".git/refs/heads/main")
    found = run_json("doctor", fleet=patient.fleet)
    assert {item["path"] for item in found["findings"] if item["code"] == "not-copied"} == {
        ".git/link",
        ".git/refs/heads/pipe",
    }
    patient.check_kept()
