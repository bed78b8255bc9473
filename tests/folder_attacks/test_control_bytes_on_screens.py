"""Row 22: whatever a record's text holds, a screen gets no control byte but our own colours."""

from __future__ import annotations

import json
import re
import textwrap
from pathlib import Path

import pytest
from event_fleet import FILES, make_event_fleet

from fleets import run

NASTY = {
    "escapes": "\x1b[31mred\x1b[0m \x1b]8;;https://example.invalid\x1b\\link\x1b]8;;\x1b\\ "
    "\x1b]52;c;aGVsbG8=\x07 \x1b]0;title\x07",
    "c1": "\x9b31m\x9d0;t\x9c\x85",
    "bidi": "\u202egnirts\u202c \u2066x\u2069 \u200f \u05e9\u05dc\u05d5\u05dd",
    "markup": "[red]x[/red] [/nope] [link=file:///etc]y[/link] :smile: ends in \\",
    "lines": "one\u2028two\u2029three a\x07b\x08c\x0bd\x0ce\x7f hidden\rshown\ttab",
    "wide": "\u5bbd\u5b57\U0001f6e9\ufe0f e\u0301 \u200b\u200c\u2060\ufeff",
}
#: What no screen may hold: C0 but the line feed, DEL, C1, bidirectional and zero-width signs.
FORBIDDEN = re.compile(
    "[\x00-\x09\x0b-\x1f\x7f-\x9f\u200b\u200c\u200e\u200f\u2028-\u202e\u2060-\u2069\ufeff]"
)
#: The colours that our own drawing sets.
OURS = re.compile(r"\x1b\[[0-9;]*m")

SCREENS = (
    ("due",), ("due", "--all"), ("due", "heron"), ("flyday",), ("flyday", "--plan", "heron=2"),
    ("flyday", "--card"), ("history", "heron"), ("history", "sv-22"), ("why", "heron", "flights"),
    ("why", "heron", "surface-play"), ("fleet",), ("parts",), ("parts", "sv-22"), ("snag",),
    ("snag", "heron"), ("check",), ("programme",), ("programme", "jet"), ("papers",),
    ("aircraft",), ("aircraft", "heron"), ("kit",), ("kit", "bent"), ("save",), ("doctor",),
    ("adopt",),
)  # fmt: skip


def quoted(text: str) -> str:
    return json.dumps(text)


def make_nasty(folder: Path, text: str) -> Path:
    """The text in every place that takes words."""
    q = quoted(text)
    files = {path: textwrap.dedent(was) for path, was in FILES.items()}
    files["fleet.yaml"] = files["fleet.yaml"].replace('"Entry fleet"', q)
    files["private.yaml"] = f"\npeople:\n  vera: {q}\n"
    files["programmes/jet.yaml"] = (
        files["programmes/jet.yaml"]
        .replace('title: "Jet"', f"title: {q}\nnote: {q}")
        .replace('title: "Controls"', f"title: {q}")
        .replace(
            'id: "surface-play"\n',
            f'id: "surface-play"\n    title: {q}\n    basis: {{kind: "club", reference: {q}}}\n',
        )
    )
    heron = "aircraft/heron/aircraft.yaml"
    files[heron] = files[heron].replace('"Heron"', q).replace('"estimate"', q) + f"odd: {q}\n"
    files["parts/sv-22/part.yaml"] += f"title: {q}\nserial: {q}\nlot: {q}\n"
    files["kits/bent.yaml"] = f'\nid: "kbent00001"\ntitle: {q}\nnotes: {q}\n'
    files["papers/permit.yaml"] = (
        f'\nid: "ppermit001"\nkind: {q}\ntitle: {q}\nexpires: "2026-05-20"\nholder: {q}\n'
    )
    events = "aircraft/heron/events/2026/05/2026-05-0"
    files[f"{events}9-snag-s0nagaaaaa.yaml"] = (
        f'\nrecord: "snag"\nid: "s0nagaaaaa"\nwhen: "2026-05-09"\naircraft: "heron"\n'
        f"text: {q}\nposition: {q}\nzone: {q}\nby: {q}\nnote: {q}\n"
    )
    files[f"{events}8-note-n0teaaaaaa.yaml"] = (
        f'\nrecord: "note"\nid: "n0teaaaaaa"\nwhen: "2026-05-08"\naircraft: "heron"\ntext: {q}\n'
    )
    files[f"{events}7-flights-f0ddaaaaaa.yaml"] = (
        f'\nrecord: "flights"\nid: "f0ddaaaaaa"\nwhen: {q}\naircraft: {q}\ncount: {q}\n{q}: {q}\n'
    )
    files["parts/sv-31/part.yaml"] = f"\nid: psv0000031\nkind: {q}\n"
    return make_event_fleet(folder, files)


def check_clean(text: str, *, drawn: bool = False) -> None:
    found = FORBIDDEN.search(OURS.sub("", text) if drawn else text)
    assert found is None, (found, text[max(0, found.start() - 60) : found.end() + 30])


@pytest.fixture(scope="session")
def nasty_fleets(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    return {
        name: make_nasty(tmp_path_factory.mktemp("nasty"), text) for name, text in NASTY.items()
    }


@pytest.mark.parametrize("name", NASTY)
def test_no_screen_lets_a_control_byte_through(
    nasty_fleets: dict[str, Path], name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    fleet = nasty_fleets[name]
    for line in SCREENS:
        monkeypatch.setenv("COLUMNS", "40")
        plain = run(*line, fleet=fleet)
        assert plain.exit_code in (0, 1, 2), (line, plain)
        check_clean(plain.out)
        check_clean(plain.err)
        data = run(*line, "--json", fleet=fleet)
        assert data.out.isascii()
        json.loads(data.out)
        check_clean(data.err)


@pytest.mark.parametrize("name", NASTY)
def test_no_drawn_screen_does_either(
    nasty_fleets: dict[str, Path], name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TAILSHEAF_TERMINAL", "1")
    monkeypatch.delenv("NO_COLOR")
    monkeypatch.setenv("TERM", "xterm-256color")
    fleet = nasty_fleets[name]
    for line in SCREENS:
        drawn = run(*line, fleet=fleet)
        assert drawn.exit_code in (0, 1, 2), (line, drawn)
        check_clean(drawn.out, drawn=True)
        check_clean(drawn.err, drawn=True)


@pytest.mark.parametrize("name", NASTY)
def test_what_is_said_after_an_entry_is_clean(tmp_path: Path, name: str) -> None:
    fleet = make_nasty(tmp_path, NASTY[name])
    for line in (
        ("fix", "s0nagaaaaa", NASTY[name]),
        ("snag", "heron", NASTY[name]),
        ("fly", "heron", "1", "--minutes", "7", "--note", NASTY[name]),
        ("done", "surface-play", "heron", "--reading", "play-mm=1"),
        ("save",),
        ("check",),
    ):
        result = run(*line, fleet=fleet)
        assert result.exit_code in (0, 1, 2, 4), (line, result)
        check_clean(result.out)
        check_clean(result.err)


def test_markup_stays_the_words_it_is(nasty_fleets: dict[str, Path]) -> None:
    said = " ".join(run("snag", "heron", fleet=nasty_fleets["markup"]).out.split())
    assert "[red]x[/red] [/nope]" in said
    assert ":smile:" in said


def test_controls_are_shown_and_not_dropped(nasty_fleets: dict[str, Path]) -> None:
    assert "\\x1b[31mred" in run("snag", "heron", fleet=nasty_fleets["escapes"]).out
    assert "\\u202egnirts" in run("history", "heron", fleet=nasty_fleets["bidi"]).out


def test_a_megabyte_on_one_line_is_refused_and_hides_nothing(tmp_path: Path) -> None:
    fleet = make_event_fleet(tmp_path)
    path = "aircraft/heron/events/2026/05/2026-05-09-snag-s0nagaaaaa.yaml"
    body = 'record: "snag"\nid: "s0nagaaaaa"\nwhen: "2026-05-09"\naircraft: "heron"\ntext: '
    (fleet / path).write_text(body + quoted("x" * 1_000_000) + "\n", "utf-8")
    check = run("check", fleet=fleet)
    assert check.exit_code == 1
    assert "[file-too-large]" in check.out
    assert len(check.out) < 10_000
    assert run("due", fleet=fleet).exit_code == 1


def test_what_is_typed_is_cleaned_as_well(tmp_path: Path) -> None:
    fleet = make_event_fleet(tmp_path)
    for text in NASTY.values():
        for line in (
            ("due", text), ("why", "heron", text), ("snag", "heron", text), ("save", text),
            ("amend", text, text), (text,), ("due", f"--{text}"), ("flyday", text),
            ("--on", text, "due"), ("--fleet", text.replace("\0", ""), "due"),
        ):  # fmt: skip
            result = run(*line, fleet=fleet)
            assert result.exit_code in (0, 1, 2, 3, 4), (line, result)
            check_clean(result.out)
            check_clean(result.err)


def test_names_of_files_and_branches_are_cleaned(tmp_path: Path) -> None:
    fleet = make_event_fleet(tmp_path)
    odd = fleet / "kits/\x1b]0;t\x07\u202e.yaml"
    odd.parent.mkdir(exist_ok=True)
    odd.write_bytes(b'id: "kodd000001"\n')
    (fleet / ".git/refs/heads/\x1b[31m").write_bytes(b"x\n")
    with (fleet / ".git/config").open("a", encoding="utf-8") as file:
        file.write('[alias]\n\tx = "!\x1b]0;t\x07"\n')
    for line in SCREENS:
        result = run(*line, fleet=fleet)
        assert result.exit_code in (0, 1, 2), (line, result)
        check_clean(result.out)
        check_clean(result.err)
