"""Rows 12 to 14: names that some system cannot hold, and words that look like options.

Not run here, as they need another operating system: opening `CON.yaml` on Windows, two names
differing in case on a case-folding disk, and an accent that macOS stores in two parts.
Row 14 is about typed remotes: no command takes one; a stored one is in row 15.
"""

from __future__ import annotations

import unicodedata
from pathlib import Path

import pytest
from event_fleet import make_event_fleet

from fleets import read_files, run, run_json

BAD_NAMES = (
    "CON", "nul.yaml", "com1", "trailing.", "a" * 300, "jet\N{AIRPLANE}", "..", "../out",
    "/etc", "a\\b", "-x", "a/b", "a:b", "", " ", "a\nb", "\x1b[31m", ".git", "Ünal",
    unicodedata.normalize("NFD", "ü"),
)  # fmt: skip


def lines_for(name: str) -> dict[str, tuple[str, ...]]:
    return {
        "aircraft": ("aircraft", "--programme", "jet", "--", name),
        "parts": ("parts", "--add", "--kind", "servo", "--", name),
        "kit": ("kit", "--add", "--", name),
        "programme": ("programme", "--add", "--", name),
    }


@pytest.fixture(scope="module")
def fleet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_event_fleet(tmp_path_factory.mktemp("names"))


@pytest.mark.parametrize("what", lines_for("x"))
@pytest.mark.parametrize("name", BAD_NAMES, ids=ascii)
def test_a_name_that_some_system_cannot_hold_is_not_made(fleet: Path, what: str, name: str) -> None:
    before = read_files(fleet)
    result = run(*lines_for(name)[what], fleet=fleet)
    assert result.exit_code in (0, 2), result
    after = read_files(fleet)
    made = set(after) - set(before)
    assert {path: data for path, data in after.items() if path in before} == before
    # Capitals are lowered and words joined; whatever is made is a plain name.
    for path in made:
        assert path.isascii()
        assert path == path.lower()
        assert not any(char in path for char in "\\:\x1b\n ~")
    assert made == set() or result.exit_code == 0
    assert not (fleet.parent / "out").exists()


@pytest.mark.parametrize("name", ["CON", "nul.yaml", "..", "../out", "/etc", "a\\b", "a" * 300])
@pytest.mark.parametrize("what", lines_for("x"))
def test_the_worst_names_are_refused(fleet: Path, what: str, name: str) -> None:
    before = read_files(fleet)
    assert run(*lines_for(name)[what], fleet=fleet).exit_code == 2
    assert read_files(fleet) == before


@pytest.mark.parametrize(
    ("path", "code"),
    [
        ("parts/CON/part.yaml", "name-odd"),
        ("kits/nul.yaml", "name-odd"),
        ("kits/Caps.yaml", "name-odd"),
        ("kits/a b.yaml", "name-odd"),
        ("kits/-x.yaml", "name-odd"),
        ("kits/jet\N{AIRPLANE}.yaml", "name-odd"),
        ("kits/a\\b.yaml", "name-odd"),
        ("parts/dot./part.yaml", "name-odd"),
        ("kits/" + "a" * 200 + ".yaml", "name-odd"),
        ("kits/x\x1b[31m.yaml", "name-odd"),
        ("kits/--output=x.yaml", "name-odd"),
        ("Fleet.yaml", "not-loaded"),
    ],
    ids=ascii,
)
def test_an_odd_name_that_is_there_is_read_and_reported(
    tmp_path: Path, path: str, code: str
) -> None:
    fleet = make_event_fleet(tmp_path)
    (fleet / path).parent.mkdir(parents=True, exist_ok=True)
    (fleet / path).write_bytes(b'id: "xodd000001"\ntitle: "Odd"\nkind: "servo"\n')
    before = read_files(fleet)
    result = run("check", "--json", fleet=fleet)
    assert result.exit_code in (0, 1)
    assert f'"{code}"' in result.out
    plain = run("check", fleet=fleet)
    assert "\x1b" not in plain.out + plain.err
    assert run("due", fleet=fleet).exit_code in (0, 1)
    assert read_files(fleet) == before


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("heron", "Heron"),
        (unicodedata.normalize("NFC", "é"), unicodedata.normalize("NFD", "é")),
    ],
)
def test_two_names_that_meet_on_some_systems_are_reported(
    tmp_path: Path, one: str, other: str
) -> None:
    fleet = make_event_fleet(tmp_path)
    for name in (one, other):
        folder = fleet / "aircraft" / name
        folder.mkdir(exist_ok=True)
        if not (folder / "aircraft.yaml").exists():
            (folder / "aircraft.yaml").write_bytes(b'title: "Twin"\n')
    problems = run_json("check", fleet=fleet, exit_code=1)["problems"]
    assert any(item["code"] == "name-clash" for item in problems)


OPTIONS = ("--output={x}", "--upload-pack={x}", "-c core.pager={x}", "--exec={x}", "-o{x}")


@pytest.mark.parametrize("word", OPTIONS)
def test_words_that_look_like_options_stay_words(tmp_path: Path, word: str) -> None:
    fleet = make_event_fleet(tmp_path)
    x = tmp_path / "x"
    text = word.format(x=x)
    snag = run("snag", "heron", "--", text, fleet=fleet)
    assert snag.exit_code == 0, snag
    note = run("fly", "heron", "1", f"--note={text}", fleet=fleet)
    assert note.exit_code == 0, note
    (fleet / "kits").mkdir(exist_ok=True)
    plain = text.replace("/", "_")
    (fleet / f"kits/{plain}.yaml").write_bytes(b'id: "kodd000001"\ntitle: "Odd"\n')
    for line in (
        ("save", "--", text),
        ("save",),
        ("history", "--", text),
        ("why", "heron", "--", text),
        ("due", "--", text),
        ("amend", "--", text, "count=1"),
        ("withdraw", "--reason", "x", "--", text),
        ("install", "sv-31", "heron", "--", text),
        ("--fleet", text, "due"),
        ("check",),
        ("doctor",),
    ):
        assert run(*line, fleet=fleet).exit_code in (0, 1, 2, 3), line
    assert not x.exists()


def test_a_message_that_looks_like_an_option_is_in_history_as_text(tmp_path: Path) -> None:
    import subprocess

    fleet = make_event_fleet(tmp_path)
    assert run("snag", "heron", "--", "--output=x", fleet=fleet).exit_code == 0
    said = subprocess.run(
        ["git", "log", "-1", "--format=%s"], cwd=fleet, capture_output=True, text=True, check=True
    )
    assert said.stdout.strip()
    assert not (fleet / "x").exists()
