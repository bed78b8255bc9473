"""No rule raises, whatever bytes lie in whatever file; and what is checked is not changed."""

from __future__ import annotations

import tempfile
from datetime import date
from pathlib import Path

from event_fleet import FILES
from hypothesis import given
from hypothesis import strategies as st

from fleets import make_fleet, read_files, run
from register.checks import CHECKS, check_ledger
from register.desk import answer_check, open_fleet

MORE = {
    "papers/permit.yaml": 'title: "Permit"\ncovers: ["heron"]\nexpires: "2026-06-01"\n',
    "kits/grey-bird.yaml": 'title: "Grey bird"\npositions: {engine: {kind: "turbine"}}\n',
    "stock.yaml": "items: {screws: 12}\n",
    "aircraft/heron/events/2026/05/2026-05-10-snag-s1aaaaaaaa.yaml": (
        'record: "snag"\nid: "s1aaaaaaaa"\nwhen: "2026-05-10"\naircraft: "heron"\n'
        'position: "engine"\ntext: "loose"\nseverity: "grounding"\n'
    ),
    "aircraft/heron/events/2026/05/2026-05-11-task-done-t1aaaaaaaa.yaml": (
        'record: "task-done"\nid: "t1aaaaaaaa"\nwhen: "2026-05-11"\ntask: "surface-play"\n'
        'subject: "heron"\nreadings: [{name: "play-mm", value: 1.9, unit: "mm"}]\n'
    ),
    "aircraft/heron/events/2026/05/2026-05-11-swap-r1aaaaaaaa.yaml": (
        'record: "remove"\nid: "r1aaaaaaaa"\nwhen: "2026-05-09"\npart: "sv-22"\n'
    ),
    "parts/pk-04/events/2026/05/2026-05-12-condition-c1aaaaaaaa.yaml": (
        'record: "condition"\nid: "c1aaaaaaaa"\nwhen: "2026-05-01"\npart: "pk-04"\n'
        'condition: "rejected"\n'
    ),
    "aircraft/heron/events/2026/05/2026-05-13-amendment-m1aaaaaaaa.yaml": (
        'record: "amendment"\nid: "m1aaaaaaaa"\nwhen: "2026-05-13"\namends: "f1rstaaaaa"\n'
        "set: {count: 3}\n"
    ),
}
ALL = {**FILES, **MORE}
PATHS = sorted(ALL)
TODAY = date(2026, 5, 16)
WORDS = (
    "heron", "kestrel", "sv-22", "pk-04", "tu-07", "engine", "flights", "surface-play", "null",
    "0", "-1", "1e9", "999999999", "2026-02-29", "2150-12-31", "1950-01-01", "[]", "{}", "true",
    "f1rstaaaaa:1", "f1rstaaaaa", "s1aaaaaaaa", "2026-05-09T10:00+23:59", "from-due", "months",
    "1950-01-01T00:00+14:00", "2150-12-31T23:59-12:00",
)  # fmt: skip


def clean(path: str) -> bytes:
    """A file of the fleet as it is written there."""
    import textwrap

    return textwrap.dedent(ALL[path]).removeprefix("\n").encode()


@st.composite
def spoilt(draw: st.DrawFn) -> dict[str, bytes]:
    """One to four files of the fleet with bytes or lines changed, or all new."""
    found = {}
    for path in draw(st.lists(st.sampled_from(PATHS), min_size=1, max_size=4, unique=True)):
        data = clean(path)
        way = draw(st.sampled_from(("bytes", "cut", "line", "word", "copy", "number")))
        if way == "bytes":
            data = draw(st.binary(max_size=80))
        elif way == "cut":
            at = draw(st.integers(0, len(data)))
            data = data[:at] + draw(st.binary(max_size=3)) + data[at + draw(st.integers(0, 9)) :]
        elif way == "copy":
            data = clean(draw(st.sampled_from(PATHS)))
        else:
            lines = data.decode().splitlines()
            at = draw(st.integers(0, len(lines) - 1))
            if way == "line":
                lines.insert(draw(st.integers(0, len(lines))), lines.pop(at))
            else:
                key = lines[at].partition(":")[0]
                lines[at] = f"{key}: {draw(st.sampled_from(WORDS))}"
            data = ("\n".join(lines) + "\n").encode()
        found[path] = data
    return found


@given(spoilt())
def test_check_never_raises(files: dict[str, bytes]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        fleet = make_fleet(Path(folder), ALL)
        for path, data in files.items():
            (fleet / path).write_bytes(data)
        before = read_files(fleet)
        opened = open_fleet(fleet)
        found = answer_check(opened, TODAY)
        assert all(problem.says and problem.mend and problem.code for problem in found)
        assert list(found) == sorted(found, key=lambda problem: problem.order)
        for path in files:
            # A file that gave no record is named; none is passed over.
            if path in opened.unread:
                assert any(problem.place.file == path for problem in found)
        result = run("check", "--json", fleet=fleet)
        assert result.exit_code == int(any(problem.level == "error" for problem in found))
        assert read_files(fleet) == before


@given(spoilt())
def test_every_rule_runs_alone(files: dict[str, bytes]) -> None:
    from register.checks.following import check_follow_ons
    from register.checks.survey import Survey

    with tempfile.TemporaryDirectory() as folder:
        fleet = make_fleet(Path(folder), ALL)
        for path, data in files.items():
            (fleet / path).write_bytes(data)
        ledger = open_fleet(fleet).ledger
        each = {problem for check in CHECKS for problem in check(Survey(ledger, TODAY))}
        assert set(check_ledger(ledger, TODAY)) == set(check_follow_ons(ledger, each))


def test_the_fleet_unspoilt_has_only_what_it_shows(tmp_path: Path) -> None:
    fleet = make_fleet(tmp_path, ALL)
    codes = sorted(problem.code for problem in answer_check(open_fleet(fleet), TODAY))
    assert codes == ["flown-without-check", "order-unknown", "reading-out", "used-unserviceable"]
