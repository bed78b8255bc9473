"""Text of records on a screen: no control reaches the terminal, nothing is taken for markup."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from bad_input.bad_files import is_clean
from event_fleet import make_event_fleet
from rich.cells import cell_len

from fleets import make_fleet, read_files, run

PAYLOADS = {
    "colour": "\x1b[35;45mred\x1b[0m",
    "link": "\x1b]8;;https://example.invalid\x1b\\here\x1b]8;;\x1b\\",
    "clipboard": "\x1b]52;c;aGk=\x07",
    "title": "\x1b]0;mine\x07",
    "C1": "\x9b31mred",
    "backspace": "chip\b\b\b\bcrack",
    "return": "chip\rcrack",
    "bidi": "chip \u202egniw\u202c wing",
    "isolate": "chip \u2066wing\u2069",
    "zero width": "ch\u200bip\u200e \ufeffx",
    "separator": "chip\u2028crack\u2029",
    "markup": "[red]chip[/red]",
    "closing": "[/x] chip",
    "link markup": "[link=https://example.invalid]chip[/link]",
    "emoji code": ":smile: chip",
    "backslash": "chip\\",
    "right to left": "שריטה בכנף",
    "wide": "翼に小さな傷" * 9,
    "combining": "e\u0301" * 60,
    "one long line": "chip " * 300,
    "one long word": "c" * 1500,
}
SCREENS = [
    ("due", "--all"),
    ("flyday",),
    ("flyday", "--card"),
    ("fleet",),
    ("history", "heron"),
    ("snag",),
    ("snag", "heron", "--all"),
    ("aircraft", "heron"),
    ("parts", "sv-22"),
    ("why", "heron", "surface-play"),
    ("check",),
]
DATA = [("due", "--all"), ("snag",), ("history", "heron"), ("check",)]
OURS = re.compile(r"\x1b\[(?:[0-9]{1,2}(?:;[0-9]{1,3})*)?m")


def quote(text: str) -> str:
    """In double quotes, the characters themselves as they are."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def files_with(text: str) -> dict[str, str]:
    """The text in every place of a record that a person writes."""
    value = quote(text)
    folder = "aircraft/heron/events/2026/05"
    return {
        "aircraft/heron/aircraft.yaml": f"title: {value}\nprogrammes: [club]\n{value}: {value}\n",
        "parts/sv-22/part.yaml": f"kind: servo\ntitle: {value}\nserial: {value}\nlot: {value}\n",
        "programmes/club.yaml": (
            f"title: {value}\ntasks:\n- id: surface-play\n  title: {value}\n  caution: {value}\n"
            f"  every: [{{counter: flights, amount: 10}}]\n"
            f"  basis: {{kind: owner, reference: {value}}}\n"
        ),
        f"{folder}/2026-05-10-snag-b2m8xw0002.yaml": (
            f'record: snag\nid: b2m8xw0002\nwhen: "2026-05-10"\naircraft: heron\ntext: {value}\n'
            f"zone: {value}\nsystem: {value}\nposition: {value}\nby: {value}\nnote: {value}\n"
        ),
        f"{folder}/2026-05-11-note-c3w9tr0003.yaml": (
            f'record: note\nid: c3w9tr0003\nwhen: "2026-05-11"\naircraft: heron\ntext: {value}\n'
        ),
        f"{folder}/2026-05-12-note-d4x5ys0004.yaml": (
            f"record: {value}\nid: d4x5ys0004\nwhen: {value}\naircraft: {value}\ncount: {value}\n"
        ),
    }


@pytest.mark.parametrize("name", PAYLOADS)
def test_text_from_a_file_is_shown_inert(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fleet = make_fleet(tmp_path, files_with(PAYLOADS[name]))
    for words in SCREENS:
        plain = run(*words, fleet=fleet)
        assert plain.exit_code in (0, 1, 2), (words, plain)
        assert is_clean(plain), (words, plain)
    for words in DATA:
        data = run(*words, "--json", fleet=fleet)
        assert json.loads(data.out)["version"] == 1
        assert data.out.isascii()
        assert is_clean(data)
    monkeypatch.setenv("TAILSHEAF_TERMINAL", "1")
    monkeypatch.delenv("NO_COLOR")
    for words in (*DATA, ("flyday", "--card")):
        drawn = run(*words, fleet=fleet)
        assert drawn.exit_code in (0, 1, 2), (words, drawn)
        assert "\x1b[35;45m" not in drawn.out
        assert not OURS.sub("", drawn.out).translate({10: None}).count("\x1b"), (words, drawn)


@pytest.mark.parametrize("name", PAYLOADS)
def test_words_as_typed_are_kept_and_shown_inert(name: str, tmp_path: Path) -> None:
    fleet = make_event_fleet(tmp_path)
    text = PAYLOADS[name]
    result = run("snag", "heron", "--severity", "cosmetic", "--", text, fleet=fleet)
    assert is_clean(result)
    if result.exit_code:
        # Characters that no file may hold are refused, not dropped.
        assert result.exit_code == 2, result
        assert "mend:" in result.err
        return
    (kept,) = json.loads(run("snag", "--json", fleet=fleet).out)["snags"]
    # White space of any kind is one space.
    assert kept["text"] == " ".join(text.split())
    assert run("check", fleet=fleet).exit_code == 0
    for words in DATA:
        shown = run(*words, fleet=fleet)
        assert is_clean(shown), (words, shown)


@pytest.mark.parametrize("name", ["wide", "combining", "one long line", "one long word", "markup"])
def test_lines_keep_to_the_width(name: str, tmp_path: Path) -> None:
    fleet = make_fleet(tmp_path, files_with(PAYLOADS[name]))
    for words in (("due",), ("flyday",), ("fleet",), ("snag",)):
        for line in run(*words, fleet=fleet).out.splitlines():
            assert cell_len(line) <= 80, (words, line)


def test_a_path_with_controls_is_shown_inert(tmp_path: Path) -> None:
    fleet = make_event_fleet(tmp_path)
    for name in ("a\x1b[31mb", "a\u202eb", "a\nb", "a\x9bb", "[red]a"):
        folder = fleet / "aircraft" / name
        folder.mkdir()
        (folder / "aircraft.yaml").write_bytes(b'title: "x"\nmystery: 1\n')
    before = read_files(fleet)
    for words in SCREENS:
        shown = run(*words, fleet=fleet)
        assert shown.exit_code in (0, 1), (words, shown)
        assert is_clean(shown), (words, shown)
    assert read_files(fleet) == before
