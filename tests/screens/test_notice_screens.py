"""The screens of notices, jobs and departures on a small fleet of their own, accepted and held."""

from __future__ import annotations

from pathlib import Path

import pytest

from cli.render.layout import width_of
from fleets import Golden, make_fleet, run

DAY = "2026-05-16"
EVENTS = "aircraft/heron/events/2026/05"
FILES = {
    "kits/oriel.yaml": """
        id: "kitorie001"
        title: "Oriel 2.4"
        positions:
          left-wing: {kind: "wing"}
          right-wing: {kind: "wing"}
        zones:
          nose: {title: "Nose", holds: ["duct", "tank"]}
        notices:
          root-screw:
            title: "Root screws work loose in their inserts"
            text: "Turn each root screw by hand; one that moves is loose."
            applies: {part_kind: "wing", lots: ["R20-R39"]}
            action: "recurring"
            every: [{counter: "flights", amount: 12}, {months: 6}]
            grounds: true
            touches: ["left-wing", "right-wing"]
            basis: {kind: "maker", reference: "service letter 5"}
          belly-seam:
            title: "Seam of the belly opens behind the wheel well"
            applies: {lots: ["R1-R9"]}
            basis: {kind: "club", reference: "newsletter"}
          duct-first:
            kind: "trap"
            title: "The duct goes in before the tank"
            text: "With the tank in, the duct cannot be turned into its place."
            touches: ["tank"]
        """,
    "aircraft/heron/aircraft.yaml": """
        id: "hern000001"
        title: "Heron"
        kit: "oriel.kitorie001"
        stage: "being-built"
        lot: "R31"
        """,
    "aircraft/swift/aircraft.yaml": 'id: "swft000001"\ntitle: "Swift"\nkit: "oriel.kitorie001"\n',
    "parts/wl-3/part.yaml": 'id: "pwl0000003"\nkind: "wing"\nlot: "R31"\nside: "left"\n',
    "parts/wr-3/part.yaml": 'id: "pwr0000003"\nkind: "wing"\nside: "right"\n',
    "parts/wl-9/part.yaml": 'id: "pwl0000009"\nkind: "wing"\nlot: "R44"\nside: "left"\n',
}


def event(kind: str, id_: str, day: str, body: str) -> dict[str, str]:
    """One record of heron."""
    text = f'record: "{kind}"\nid: "{id_}"\nwhen: "{day}"\n{body}'
    return {f"{EVENTS}/{day[:10]}-{kind}-{id_}.yaml": text}


HERON = 'aircraft: "heron.hern000001"\n'


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    """Heron being built, swift flying, three wings, some answers, jobs and departures."""
    files = dict(FILES)
    for part, jet, position in (
        ("wl-3", "heron", "left-wing"),
        ("wr-3", "heron", "right-wing"),
        ("wl-9", "swift", "left-wing"),
    ):
        body = f'part: "{part}"\naircraft: "{jet}"\nposition: "{position}"\n'
        files |= event("install", f"nst{part.replace('-', '')}aaa", "2026-05-01", body)
    files |= event(
        "notice-answer", "nsw0000001", "2026-05-02T18:00+00:00",
        'notice: "root-screw"\nsubject: "wl-3"\nresult: "clear"\ntext: "all tight"\nlot: "R31"\n',
    )  # fmt: skip
    files |= event(
        "job", "j0b0000001", "2026-05-03T18:00+00:00",
        f'{HERON}text: "seal the left tank bay"\nat: "nose"\nhand: "left"\nminutes: 45\n',
    )  # fmt: skip
    files |= event(
        "job", "j1b0000002", "2026-05-03T18:10+00:00",
        f'{HERON}text: "fit the header tank and its vent line"\nat: "tank"\n'
        'waits_for: ["j0b0000001"]\n',
    )  # fmt: skip
    files |= event(
        "modification", "m0d0000001", "2026-05-04T18:00+00:00",
        f'{HERON}at: "left-wing"\ntext: "steel dowel in place of the ash one"\n'
        'manual: "ash dowel, 6 mm"\nwhy: "the ash one split while fitting"\n'
        'tried: ["beech dowel"]\nmass: 0.011\nstate: "trial"\n'
        'before: [{name: "play", value: 1.1, unit: "mm"}]\n'
        'after_work: [{name: "play", value: 0.2, unit: "mm"}]\n',
    )  # fmt: skip
    return make_fleet(tmp_path, files)


SCREENS = {
    "notices": ["notices"],
    "notices-one": ["notices", "heron", "root-screw"],
    "why-notice": ["why", "heron", "root-screw"],
    "jobs": ["jobs"],
    "modify": ["modify"],
    "modify-one": ["modify", "m0d0"],
    "aircraft-being-built": ["aircraft", "heron"],
}


@pytest.mark.parametrize("columns", [80, 120])
@pytest.mark.parametrize("name", SCREENS)
def test_screen(
    name: str, columns: int, fleet: Path, golden: Golden, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", str(columns))
    result = run(*SCREENS[name], "--on", DAY, fleet=fleet)
    assert result.exit_code == 0, result
    golden(f"screens/{name}-{columns}", result.out)
    assert all(width_of(line) <= columns or ".yaml" in line for line in result.out.splitlines())


@pytest.mark.parametrize("name", SCREENS)
def test_drawn_it_says_the_same(name: str, fleet: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    piped = run(*SCREENS[name], "--on", DAY, fleet=fleet).out
    monkeypatch.setenv("TAILSHEAF_TERMINAL", "1")
    drawn = run(*SCREENS[name], "--on", DAY, fleet=fleet).out
    plain = "".join(
        part.partition("m")[2] if n else part for n, part in enumerate(drawn.split("\x1b["))
    )
    assert [line.rstrip() for line in plain.splitlines()] == piped.splitlines()
