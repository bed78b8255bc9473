"""Bad words on the command line: refused with the way out, and nothing is written."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path

import pytest
from event_fleet import make_event_fleet

from fleets import Result, read_files, run


def head_of(fleet: Path) -> str:
    """The commit that history stands at."""
    git = ["git", "-C", str(fleet), "rev-parse", "HEAD"]
    return subprocess.run(git, check=True, capture_output=True, text=True).stdout


def refuse(fleet: Path, *words: str, exit_code: int = 2) -> Result:
    """The command is refused with a mend; files and history are as before."""
    before, head = read_files(fleet), head_of(fleet)
    result = run(*words, fleet=fleet)
    assert result.exit_code == exit_code, result
    assert "mend:" in result.err
    assert not result.out
    assert (read_files(fleet), head_of(fleet)) == (before, head)
    return result


@pytest.fixture(scope="module")
def fleet(tmp_path_factory: pytest.TempPathFactory, _home: Path) -> Path:
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("HOME", str(_home))
        patch.setenv("GIT_CONFIG_GLOBAL", str(_home / "gitconfig"))
        return make_event_fleet(tmp_path_factory.mktemp("entering"))


NEAREST = [
    (("fly", "heorn", "2"), "heron"),
    (("charge", "pk-4"), "pk-04"),
    (("snag", "hero n", "chip on the wing"), "heron"),
    (("done", "surface-ply", "heron"), "surface-play"),
    (("install", "sv-3l", "kestrel", "aileron-servo-left"), "sv-31"),
    (("install", "sv-31", "kestral", "aileron-servo-left"), "kestrel"),
    (("remove", "sv-2222"), "sv-22"),
    (("swap", "sv-22", "sv-311"), "sv-31"),
    (("condition", "pk-04", "rejcted"), "rejected"),
    (("condition", "pk-044", "rejected"), "pk-04"),
    (("engine-run", "tu-7", "12"), "tu-07"),
    (("due", "heorn"), "heron"),
    (("why", "heron", "surface-pay"), "surface-play"),
    (("history", "kestral"), "kestrel"),
    (("layup", "herron"), "heron"),
    (("incident", "herom", "hard landing"), "heron"),
    (("flyday", "--plan", "heorn=3"), "heron"),
    (("aircraft", "herin", "--stage", "in-servce", "--add"), "in-service"),
]


@pytest.mark.parametrize(("words", "near"), NEAREST, ids=lambda value: " ".join(value))
def test_an_unknown_word_is_refused_with_the_nearest(
    words: tuple[str, ...], near: str, fleet: Path
) -> None:
    assert near in refuse(fleet, *words).err


DATES = [
    "2024-13-45", "2026-02-30", "2026-05-32", "0001-01-01", "9999-12-31", "2026-5-1x",
    "31.02.2026", "2026-05-09T25:00", "2026-05-09 24:61", "someday", "-1",
    "2026-05-09T10:00+99:00", "1e3", "--output=/x",
]  # fmt: skip


@pytest.mark.parametrize("text", DATES)
def test_an_impossible_date_is_refused(text: str, fleet: Path) -> None:
    refuse(fleet, "fly", "heron", "2", f"--at={text}")


@pytest.mark.parametrize("text", ["2024-13-45", "yesterdayy", "0001-01-01"])
def test_no_day_is_guessed_in_questions_either(text: str, fleet: Path) -> None:
    refuse(fleet, "flyday", text)
    refuse(fleet, "due", "--on", text)


NUMBERS = [
    "-5", "0", "1e308", "NaN", "inf", "-inf", "9" * 5000, "true", "1.5", "0x10", "1_000",
    "\u0663\u0664", "", " ", "3 4", "1000000",
]  # fmt: skip


@pytest.mark.parametrize("text", NUMBERS)
def test_an_absurd_count_is_refused(text: str, fleet: Path) -> None:
    refuse(fleet, "fly", "heron", "--", text)
    refuse(fleet, "charge", "pk-04", f"--count={text}")


@pytest.mark.parametrize(
    "text", ["-5", "1e308", "NaN", "inf", "9" * 5000, "true", "99999999", "twelve"]
)
def test_absurd_minutes_are_refused(text: str, fleet: Path) -> None:
    refuse(fleet, "fly", "heron", "2", f"--minutes={text}")
    refuse(fleet, "fly", "heron", "2", f"--each=7,{text}")
    refuse(fleet, "fly", "heron", "2", f"--engine-minutes={text}")
    refuse(fleet, "engine-run", "tu-07", "--", text)


@pytest.mark.parametrize("text", ["play-mm=NaN", "play-mm=1e308", "play-mm", "=3", "lash=inf mm"])
def test_a_reading_that_is_no_number_is_refused(text: str, fleet: Path) -> None:
    refuse(fleet, "done", "surface-play", "heron", f"--reading={text}")


@pytest.mark.parametrize(
    "pair",
    [
        "minutes=-5", "minutes=NaN", "count=0", "count=1e308", "when=2026-02-30", "each=7,-8",
        "aircraft=heorn", "uses=pk-44", "id=another", "record=snag", "nonsense", "after=zzzz",
    ],
)  # fmt: skip
def test_an_amendment_to_nonsense_is_refused(pair: str, fleet: Path) -> None:
    refuse(fleet, "amend", "f1rs", pair)


NAMES = [
    "CON", "nul", "nul.yaml", "com1", "osprey.", "o" * 300, "🛩", "..", "/etc", "a\\b", "-osprey",
    "os prey", "osprey/..", "aircraft/osprey", "Ospréy", "", ".", "ospre\u0301y", "os:prey", "a\nb",
    "--output=/x", "a\x1bb",
]  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
def test_a_name_that_not_every_system_holds_is_refused(name: str, fleet: Path) -> None:
    refuse(fleet, "aircraft", "--add", "--", name)
    refuse(fleet, "parts", "--add", "--kind", "servo", "--", name)
    refuse(fleet, "kit", "--add", "--", name)


def test_a_name_that_differs_only_in_case_is_the_same_name(fleet: Path) -> None:
    before = read_files(fleet)
    assert run("aircraft", "HERON", fleet=fleet).exit_code == 0
    assert run("aircraft", "HERON", "--add", fleet=fleet).exit_code in (2, 4)
    assert read_files(fleet) == before


@pytest.mark.parametrize("id_", ["zzzz", "--output=/x", "../f1rs", "f1rs*", "", " "])
def test_an_event_that_is_not_there_is_refused(id_: str, fleet: Path) -> None:
    refuse(fleet, "withdraw", "--", id_)
    refuse(fleet, "amend", "--", id_, "minutes=5")


def test_words_that_look_like_options_stay_words(tmp_path: Path) -> None:
    fleet = make_event_fleet(tmp_path)
    canary = tmp_path / "made"
    for text in (f"--output={canary}", "--upload-pack=touch", "-c x", "--", "-oProxyCommand=x"):
        result = run("snag", "heron", "--severity=cosmetic", "--", f"{text} seen", fleet=fleet)
        assert result.exit_code == 0, result
        note = run("fly", "heron", "1", f"--note={text}", f"--by={text}", fleet=fleet)
        assert note.exit_code in (0, 2), note
    assert not canary.exists()
    git = ["git", "-C", str(fleet), "log", "--format=%s"]
    log = subprocess.run(git, check=True, capture_output=True, text=True).stdout
    assert f"--output={canary} seen" in log or "snag" in log.lower()
    texts = [item["text"] for item in json.loads(run("snag", "--json", fleet=fleet).out)["snags"]]
    assert f"--output={canary} seen" in texts


def test_settings_of_a_hostile_repository_run_nothing(tmp_path: Path) -> None:
    fleet = make_event_fleet(tmp_path)
    canary = tmp_path / "canary"
    with (fleet / ".git" / "config").open("a") as config:
        config.write(
            f'[remote "origin"]\n\turl = ext::sh -c "touch {canary}"\n'
            f"[core]\n\tsshCommand = touch {canary}\n\tfsmonitor = touch {canary}\n"
            f"[alias]\n\tlog = !touch {canary}\n[gpg]\n\tprogram = touch {canary}\n"
        )
    hook = fleet / ".git" / "hooks" / "post-commit"
    hook.parent.mkdir(exist_ok=True)
    hook.write_text(f"#!/bin/sh\ntouch {canary}\n", "utf-8")
    hook.chmod(0o755)
    for words in (["fly", "heron"], ["due"], ["check"], ["history", "heron"], ["save"]):
        assert run(*words, fleet=fleet).exit_code in (0, 1), words
    assert not canary.exists()


def test_a_newer_fleet_is_not_written(tmp_path: Path) -> None:
    fleet = make_event_fleet(tmp_path)
    path = fleet / "fleet.yaml"
    path.write_bytes(path.read_bytes().replace(b"schema: 1", b"schema: 9"))
    for words in (("fly", "heron"), ("aircraft", "heron", "--title", "X"), ("snag", "heron", "x")):
        refuse(fleet, *words, exit_code=3)


def test_comments_and_unknown_keys_survive_every_edit(tmp_path: Path) -> None:
    text = """
        # The grey one.
        id: hern000001  # never changes
        # What it is called on the field
        title: "Heron"  # by the children
        wingspan_mm: 2100  # measured
        # Followed since the start
        programmes: ["jet.prgjet0001"]  # all of it
        # Where things go
        positions:
          # The hot end
          engine: {kind: "turbine", required: true}  # needs a starter
        """
    fleet = make_event_fleet(tmp_path, {"aircraft/heron/aircraft.yaml": text})
    path = fleet / "aircraft/heron/aircraft.yaml"
    comments = [line.partition("#")[2] for line in path.read_text("utf-8").splitlines()]
    for words in (
        ("--title", "Grey heron"),
        ("--position", "rudder-servo=servo"),
        ("--per-flight", "landings=1"),
        ("--opening", "flights=40~", "--as-of", "2026-05-01"),
        ("--last-done", "surface-play=2026-04-01@flights=38"),
    ):
        result = run("aircraft", "heron", *words, fleet=fleet)
        assert result.exit_code == 0, result
        after = path.read_text("utf-8")
        for comment in filter(None, comments):
            assert f"#{comment}" in after
        assert "wingspan_mm: 2100  # measured" in after
    lines = path.read_text("utf-8").splitlines()
    assert 'title: "Grey heron"  # by the children' in lines
    assert lines.index("# What it is called on the field") + 1 == lines.index(
        'title: "Grey heron"  # by the children'
    )


def test_a_bad_file_of_another_aircraft_does_not_stop_writing(tmp_path: Path) -> None:
    bad = "aircraft/kestrel/events/2026/05/2026-05-10-flights-b2m8xw0002.yaml"
    fleet = make_event_fleet(tmp_path, {bad: "record: [\n"})
    before = (fleet / bad).read_bytes()
    assert run("fly", "heron", "2", "--minutes", "16", fleet=fleet).exit_code in (0, 1)
    assert run("snag", "heron", "chip", "-s", "cosmetic", fleet=fleet).exit_code in (0, 1)
    assert (fleet / bad).read_bytes() == before
    data = json.loads(run("due", "--json", fleet=fleet).out)
    assert data["unread"] == [bad]
