"""What is kept between commands is disposable: answers with it and without it are the same."""

from __future__ import annotations

import os
import random
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from register.desk import read_records
from register.example.scenario import build_example
from register.git.repository import init_repository
from register.storage import answers

PROGRAM = str(Path(sys.executable).with_name("tailsheaf"))


def make_example(folder: Path, pick: str = "") -> Path:
    """The example as a fleet of our own; only some of its aircraft, for speed."""
    fleet = folder / "fleet"
    for path, data in build_example().items():
        if path.startswith("aircraft/") and pick and not path.startswith(f"aircraft/{pick}/"):
            continue
        target = fleet / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(data)
    init_repository(fleet)
    return fleet


def ask(fleet: Path, *words: str) -> tuple[int, bytes, bytes]:
    """Run the real program."""
    done = subprocess.run(
        [PROGRAM, "--fleet", str(fleet), *words], capture_output=True, check=False, timeout=60
    )
    return done.returncode, done.stdout, done.stderr


def forget(fleet: Path) -> None:
    """Throw away everything kept."""
    shutil.rmtree(fleet / answers.KEPT, ignore_errors=True)


def edit_somehow(fleet: Path, chance: random.Random) -> None:
    """One change a person or another program could make to the record files."""
    files = sorted((fleet / "aircraft").rglob("events/**/*.yaml"))
    target = chance.choice(files)
    kind = chance.choice(("change", "same-size", "remove", "copy", "break", "rename"))
    text = target.read_bytes()
    if kind == "change":
        target.write_bytes(text + b'note: "changed"\n')
    elif kind == "same-size":
        stat = target.stat()
        target.write_bytes(text.replace(b"0", b"1", 1))
        os.utime(target, ns=(stat.st_atime_ns, stat.st_mtime_ns))
    elif kind == "remove":
        target.unlink()
    elif kind == "copy":
        target.with_name("zz-" + target.name).write_bytes(text)
    elif kind == "break":
        target.write_bytes(text[: len(text) // 2])
    else:
        target.rename(target.with_name("aa-" + target.name))


@pytest.mark.parametrize("seed", range(6))
def test_answers_with_and_without_are_identical(
    tmp_path: Path, seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    key_path = str(tmp_path / "key")
    fleet = make_example(tmp_path, "petrel")
    chance = random.Random(seed)
    read_records(fleet, key_path)
    for _ in range(4):
        for _ in range(chance.randint(1, 3)):
            edit_somehow(fleet, chance)
        with_kept = read_records(fleet, key_path)
        without = read_records(fleet)
        assert with_kept.sources == without.sources
        assert with_kept.records == without.records
        assert sorted(map(str, with_kept.problems)) == sorted(map(str, without.problems))


LISTENERS: list[list[str]] = []


def listen(event: str, arguments: tuple[object, ...]) -> None:
    """Note every file the interpreter opens while somebody listens."""
    if event == "open" and LISTENERS and isinstance(arguments[0], str):
        LISTENERS[-1].append(arguments[0])


sys.addaudithook(listen)


def opened(fleet: Path, key_path: str) -> list[str]:
    """Record files opened by one reading of the fleet."""
    LISTENERS.append([])
    try:
        read_records(fleet, key_path)
    finally:
        seen = LISTENERS.pop()
    return [path for path in seen if path.endswith(".yaml")]


def settle(fleet: Path, key_path: str) -> None:
    """Make every stamp settled: as if the fleet had lain a while."""
    import time

    time.sleep(answers.RACY_NS / 1e9 + 0.1)
    read_records(fleet, key_path)


def test_nothing_changed_opens_nothing_and_one_edit_opens_one(tmp_path: Path) -> None:
    key_path = str(tmp_path / "key")
    fleet = make_example(tmp_path, "petrel")
    settle(fleet, key_path)
    assert opened(fleet, key_path) == []
    target = next((fleet / "aircraft/petrel/events").rglob("*.yaml"))
    target.write_bytes(target.read_bytes() + b'note: "edited"\n')
    assert opened(fleet, key_path) == [str(target)]


def test_kept_records_of_another_hand_are_not_believed(tmp_path: Path) -> None:
    fleet = make_example(tmp_path, "petrel")
    read_records(fleet, str(tmp_path / "key"))
    kept = fleet / answers.KEPT / "catalogue"
    whole = kept.read_bytes()
    assert whole
    # A pickle that would run something, sealed by nobody.
    evil = b"cos\nsystem\n(S'touch %s'\ntR." % str(tmp_path / "ran").encode()
    kept.write_bytes(whole[:32] + evil)
    again = read_records(fleet, str(tmp_path / "key"))
    assert again.records.aircraft
    kept.write_bytes(whole)
    other = read_records(fleet, str(tmp_path / "other-key"))
    assert other.records == again.records
    assert not (tmp_path / "ran").exists()


@pytest.fixture
def fleet(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A fleet that has lain a while, asked by the real program."""
    import time

    monkeypatch.setenv("HOME", str(tmp_path))
    made = make_example(tmp_path, "petrel")
    time.sleep(answers.RACY_NS / 1e9 + 0.1)
    return made


def test_a_kept_answer_is_the_answer(fleet: Path) -> None:
    first = ask(fleet, "due", "petrel")
    kept = [path.name for path in (fleet / answers.KEPT).iterdir() if len(path.name) == 40]
    assert len(kept) == 1
    assert ask(fleet, "due", "petrel") == first
    forget(fleet)
    assert ask(fleet, "due", "petrel") == first


@pytest.mark.parametrize("words", ["faults --all", "trend", "season", "report petrel"])
def test_what_looks_back_is_kept_too_until_a_file_changes(fleet: Path, words: str) -> None:
    first = ask(fleet, *words.split())
    assert first[0] in (0, 1)
    kept = [path for path in (fleet / answers.KEPT).iterdir() if len(path.name) == 40]
    assert len(kept) == 1
    assert ask(fleet, *words.split()) == first
    # A reading, a snag and its use: each of the four answers hangs on one of these.
    for path in sorted((fleet / "aircraft/petrel/events").rglob("*.yaml")):
        if any(kind in path.name for kind in ("-flights-", "-task-done-", "-snag-")):
            path.unlink()
    assert ask(fleet, *words.split()) != first


@pytest.mark.parametrize("words", ["parts", "aircraft petrel", "aircraft"])
def test_what_shows_is_kept_and_what_changes_is_not(fleet: Path, words: str) -> None:
    def kept() -> int:
        return sum(len(path.name) == 40 for path in (fleet / answers.KEPT).iterdir())

    first = ask(fleet, *words.split())
    assert first[0] in (0, 1)
    assert kept() == 1
    assert ask(fleet, *words.split()) == first
    ask(fleet, "aircraft", "newcomer", "--add", "--at", "2026-05-16")
    ask(fleet, "parts", "sv-new", "--add", "--kind", "servo", "--at", "2026-05-16")
    assert kept() == 1
    again = ask(fleet, *words.split())
    assert (again == first) == (words == "aircraft petrel")


@pytest.mark.parametrize("word", ["--html", "--private"])
def test_a_page_is_written_and_money_told_each_time_anew(fleet: Path, word: str) -> None:
    page = fleet.parent / "page.html"
    words = ("report", "petrel", word, *((str(page),) if word == "--html" else ()))
    assert ask(fleet, *words)[0] in (0, 1)
    assert [path for path in (fleet / answers.KEPT).iterdir() if len(path.name) == 40] == []
    if word == "--html":
        page.unlink()
        ask(fleet, *words[:2], f"--html={page}")
        assert page.read_text("utf-8").startswith("<!doctype html>")


def test_a_changed_file_a_changed_word_and_a_changed_seal_ask_anew(fleet: Path) -> None:
    ask(fleet, "history", "petrel")
    target = sorted((fleet / "aircraft/petrel/events").rglob("*-note-*.yaml"))[-1]
    text = target.read_bytes()
    target.write_bytes(text.replace(b'text: "', b'text: "Changed. ', 1))
    _, out, _ = ask(fleet, "history", "petrel", "--all")
    assert b"Changed." in out
    answer = next(p for p in (fleet / answers.KEPT).iterdir() if len(p.name) == 40)
    answer.write_bytes(answer.read_bytes()[:-1] + b"X")
    _, again, _ = ask(fleet, "history", "petrel", "--all")
    assert again == out


def test_an_answer_does_not_outlive_its_day(tmp_path: Path) -> None:
    key = bytes(32)
    answers.keep_answer(str(tmp_path), "a" * 40, key, (100.0, 200.0), (0, "out", "err"))
    assert answers.read_answer(str(tmp_path), "a" * 40, key, 150.0) == (0, "out", "err")
    assert answers.read_answer(str(tmp_path), "a" * 40, key, 200.0) is None
    # A clock put back is no reason to trust it either.
    assert answers.read_answer(str(tmp_path), "a" * 40, key, 99.0) is None
    assert answers.read_answer(str(tmp_path), "b" * 40, key, 150.0) is None
    assert answers.read_answer(str(tmp_path), "a" * 40, bytes([1] * 32), 150.0) is None


def test_a_reader_that_goes_away_is_an_interruption(fleet: Path) -> None:
    """Asked anew and replayed alike: no traceback, exit code 130."""
    for _ in range(2):
        asked = subprocess.Popen(
            [PROGRAM, "--fleet", str(fleet), "history", "petrel", "--all"],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )
        assert asked.stdout is not None
        asked.stdout.close()
        _, err = asked.communicate(timeout=60)
        assert asked.returncode == 130
        assert err == b""
