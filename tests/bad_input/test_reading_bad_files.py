"""Bad bytes in one file: it is named with its line, kept as it is, and the rest answers."""

from __future__ import annotations

import resource
import time
from pathlib import Path

import pytest
from bad_input.bad_files import (
    BAD,
    EVENT,
    GOOD,
    answers_whole,
    answers_without,
    flights_left,
    found,
    make_fleet_with,
)

from fleets import read_files, run

BILLION = b"".join(
    b"k%d: &k%d [%s]\n" % (n, n, b", ".join([b"*k%d" % (n - 1)] * 9) if n else b"1")
    for n in range(12)
)
ERRORS: dict[str, tuple[bytes, str, int]] = {
    # Syntax.
    "tab": (EVENT.encode() + b"each:\n\t- 7\n", "yaml-syntax", 7),
    "open bracket": (EVENT.encode() + b'uses: ["pk-04"\n', "yaml-syntax", 6),
    "key twice": (EVENT.encode() + b"count: 3\n", "yaml-duplicate-key", 6),
    "two documents": (EVENT.encode() + b"---\n" + EVENT.encode(), "yaml-documents", 6),
    # Bombs.
    "anchor": (EVENT.encode() + b'note: &a "x"\n', "yaml-anchor", 6),
    "billion laughs": (BILLION, "yaml-anchor", 1),
    "merge key": (EVENT.encode() + b"<<: {count: 9}\n", "yaml-anchor", 6),
    "3,000 deep": (EVENT.encode() + b"note: " + b"[" * 3000 + b"]" * 3000, "yaml-depth", 6),
    "large": (EVENT.encode() + b"# filler\n" * 40_000, "file-too-large", 1),
    # Tags and directives.
    "python tag": (EVENT.encode() + b'note: !!python/object/apply:os.abort ["x"]\n', "yaml-tag", 6),
    "own tag": (EVENT.encode() + b'note: !mine "x"\n', "yaml-tag", 6),
    "directive": (b"%YAML 1.1\n---\n" + EVENT.encode(), "yaml-directive", 1),
    # Figures of a bare word: nothing is taken for another thing.
    "word for a number": (EVENT.replace("count: 2", "count: yes").encode(), "number-wrong", 5),
    "clock for a number": (EVENT.encode() + b"minutes: 12:30\n", "number-wrong", 6),
    # Dates.
    "month 13": (EVENT.replace("2026-05-10", "2024-13-45").encode(), "date-impossible", 3),
    "30 February": (EVENT.replace("2026-05-10", "2024-02-30").encode(), "date-impossible", 3),
    "year 1": (EVENT.replace("2026-05-10", "0001-05-10").encode(), "date-unlikely", 3),
    "year 9999": (EVENT.replace("2026-05-10", "9999-05-10").encode(), "date-unlikely", 3),
    "year 0": (EVENT.replace("2026-05-10", "0000-05-10").encode(), "date-impossible", 3),
    "other digits": (EVENT.replace("2026", "٢٠٢٦").encode(), "date-form", 3),
    "hour 25": (EVENT.replace("05-10", "05-10T25:00").encode(), "time-impossible", 3),
    # Numbers.
    "negative": (EVENT.encode() + b"minutes: -5\n", "number-negative", 6),
    "huge": (EVENT.encode() + b"minutes: 1e308\n", "number-wrong", 6),
    "not a number": (EVENT.encode() + b"minutes: NaN\n", "number-wrong", 6),
    "infinite": (EVENT.encode() + b"minutes: .inf\n", "number-wrong", 6),
    "5,000 digits": (EVENT.encode() + b"minutes: " + b"9" * 5000 + b"\n", "number-wrong", 6),
    "true": (EVENT.encode() + b"minutes: true\n", "number-wrong", 6),
    "no flights": (EVENT.replace("count: 2", "count: 0").encode(), "number-wrong", 5),
    "half a flight": (EVENT.replace("count: 2", "count: 1.5").encode(), "number-wrong", 5),
    "fewer than one": (EVENT.replace("count: 2", "count: -3").encode(), "number-negative", 5),
    # Encodings and characters.
    "UTF-16": (EVENT.encode("utf-16"), "not-utf8", 1),
    "Latin-1": (EVENT.encode() + 'note: "Höhe"\n'.encode("latin-1"), "not-utf8", 6),
    "NUL": (EVENT.encode() + b'note: "\0"\n', "nul-byte", 6),
    "lone surrogate": (EVENT.encode() + b'note: "\\ud800"\n', "lone-surrogate", 6),
    "raw surrogate": (EVENT.encode() + b'note: "\xed\xa0\x80"\n', "not-utf8", 6),
    "NEL": (EVENT.encode() + 'note: "a\x85b"\n'.encode(), "line-separator", 6),
    "U+2028": (EVENT.encode() + 'note: "a\u2028b"\n'.encode(), "line-separator", 6),
    "escape": (EVENT.encode() + b'note: "\x1b[31m"\n', "control-character", 6),
    # Not a record.
    "empty": (b"", "yaml-empty", 1),
    "comments": (b"# nothing\n# here\n", "yaml-empty", 1),
    "null": (b"null\n", "yaml-empty", 1),
    "a list": (b"- 1\n- 2\n", "yaml-not-a-mapping", 1),
    "a word": (b"flights\n", "yaml-not-a-mapping", 1),
    "cut in half": (EVENT.encode()[:30], "yaml-syntax", 2),
    "cut between lines": (b'record: "flights"\nid: "b2m8xw0002"\n', "key-missing", 1),
    # Names that lead elsewhere.
    "path for a name": (EVENT.replace('"heron"', '"../heron"').encode(), "name-wrong", 4),
    "option for a name": (EVENT.replace('"heron"', '"--output=/x"').encode(), "name-wrong", 4),
    "option for an id": (EVENT.replace("b2m8xw0002", "--output=/x").encode(), "id-wrong", 2),
    "clashing id": (EVENT.replace("b2m8xw0002", "b2m8 xw").encode(), "id-wrong", 2),
}


@pytest.mark.parametrize("name", ERRORS)
def test_a_bad_file_is_named_and_hides_nothing(name: str, tmp_path: Path) -> None:
    data, code, line = ERRORS[name]
    fleet = make_fleet_with(tmp_path, data)
    before = read_files(fleet)
    assert (code, BAD, line) in found(fleet)
    answers_without(fleet)
    assert read_files(fleet) == before


KEPT: dict[str, tuple[bytes, str | None, int]] = {
    "byte order mark": (b"\xef\xbb\xbf" + EVENT.encode(), None, 4),
    "CRLF": (EVENT.replace("\n", "\r\n").encode(), None, 4),
    "007": (EVENT.encode() + b"note: 007\n", "needs-quotes", 4),
    "no": (EVENT.encode() + b"note: no\n", "needs-quotes", 4),
    "1e3": (EVENT.encode() + b"note: 1e3\n", "needs-quotes", 4),
    "12:30": (EVENT.encode() + b"note: 12:30\n", "needs-quotes", 4),
    "a bare date": (EVENT.encode() + b"note: 2026-05-01\n", "needs-quotes", 4),
    "a hash": (EVENT.encode() + b"note: #5 bolt\n", "value-is-comment", 4),
    "an unknown key": (EVENT.encode() + b'engine_feel: "smooth"\n', "key-unknown", 4),
    "a gap of the clock": (
        EVENT.replace("2026-05-10", "2026-03-29T02:30").encode(),
        "time-doubtful",
        4,
    ),
    "an hour that comes twice": (
        EVENT.replace("2026-05-10", "2025-10-26T02:30").encode(),
        "time-doubtful",
        4,
    ),
    "no offset": (EVENT.replace("2026-05-10", "2026-05-10T14:20").encode(), None, 4),
    "a million flights": (
        EVENT.replace("count: 2", "count: 1000000").encode(),
        "count-unlikely",
        0,
    ),
    "more than a day": (EVENT.encode() + b"minutes: 1441\n", "minutes-unlikely", 4),
    "a day to come": (EVENT.replace("2026-05-10", "2126-05-10").encode(), "date-future", 6),
}


@pytest.mark.parametrize("name", KEPT)
def test_what_can_be_read_counts_and_is_remarked_on(name: str, tmp_path: Path) -> None:
    data, code, left = KEPT[name]
    fleet = make_fleet_with(tmp_path, data)
    zoned = (fleet / "fleet.yaml").read_bytes().replace(b"UTC", b'"CET"')
    (fleet / "fleet.yaml").write_bytes(zoned)
    before = read_files(fleet)
    codes = {item for item, path, _ in found(fleet) if path == BAD} - {"flown-without-check"}
    assert codes == ({code} if code else set())
    assert run("check", fleet=fleet).exit_code == 0
    answers_whole(fleet)
    if left:
        assert flights_left(fleet) == left
    assert read_files(fleet) == before


def test_what_a_bare_word_would_become_is_shown(tmp_path: Path) -> None:
    fleet = make_fleet_with(tmp_path, EVENT.encode() + b"note: 007\nby: no\n")
    shown = run("check", fleet=fleet).out
    assert "note: 007 without quotes is read by other programs as the number 7" in shown
    assert 'mend: put it in quotes:  note: "007"' in shown
    assert "by: no without quotes is read by other programs as false" in shown


@pytest.mark.parametrize("data", [BILLION, b"a: " + b"[" * 200_000, b"x: y\n" * 10_000_000])
def test_a_bomb_costs_little_and_100_mb_at_most(data: bytes, tmp_path: Path) -> None:
    """Measured against two hundred ordinary records in the same run, not against a clock."""
    ordinary = make_fleet_with(tmp_path / "ordinary", EVENT.encode())
    event = next((ordinary / "aircraft").rglob("events/**/*.yaml"))
    for n in range(200):
        text = event.read_text("utf-8").replace('id: "', f'id: "z{n:03d}', 1)
        event.with_name(f"more-{n}.yaml").write_text(text, "utf-8")
    usual = _processor_seconds(ordinary)
    fleet = make_fleet_with(tmp_path / "bomb", data)
    del data
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    assert _processor_seconds(fleet) < 20 * usual
    # In KB on Linux; in bytes elsewhere, where the bound is the looser for it.
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 100 * 1024**2


def _processor_seconds(fleet: Path) -> float:
    started = time.process_time()
    run("due", fleet=fleet)
    return time.process_time() - started


STANDING = {
    "aircraft/heron/aircraft.yaml": b'title: "Heron"\nopening: {as_of: "x"}\n',
    "programmes/club.yaml": b'title: "Club"\ntasks:\n- id: "surface-play"\n  every: [{weeks: 1}]\n',
    "parts/pk-04/part.yaml": b'kind: "battery"\nuse: "borrowed"\n',
    "kits/grey-bird.yaml": b"- 1\n",
    "papers/permit.yaml": b'title: "Permit"\nexpires: "2026-02-30"\n',
    "fleet.yaml": b'schema: 1\nname: "Test fleet"\nhome_zone: "Nowhere/At-all"\n',
    "private.yaml": b"people: {vera: &v 1}\n",
    "stock.yaml": b"[\n",
}


@pytest.mark.parametrize("path", STANDING)
def test_a_bad_standing_file_hides_nothing_either(path: str, tmp_path: Path) -> None:
    fleet = make_fleet_with(tmp_path, STANDING[path], path)
    before = read_files(fleet)
    assert path in {file for _, file, _ in found(fleet)}
    answers_without(fleet, path)
    assert read_files(fleet) == before


def test_a_task_with_a_wrong_figure_is_not_missed_silently(tmp_path: Path) -> None:
    data = GOOD["programmes/club.yaml"].replace("amount: 10", "amount: ten").encode()
    fleet = make_fleet_with(tmp_path, data, "programmes/club.yaml")
    answers_without(fleet, "programmes/club.yaml")


def test_one_id_in_two_files_is_an_error_and_both_stay(tmp_path: Path) -> None:
    fleet = make_fleet_with(tmp_path, EVENT.replace("b2m8xw0002", "a7k2qd0001").encode())
    before = read_files(fleet)
    shown = run("check", fleet=fleet)
    assert shown.exit_code == 1
    assert "[id-twice]" in shown.out
    assert "see also: aircraft/heron/events/2026/05/2026-05-09-flights-a7k2qd0001.yaml:2:" in (
        shown.out
    )
    assert read_files(fleet) == before


def test_every_bad_file_is_shown_at_once(tmp_path: Path) -> None:
    fleet = make_fleet_with(tmp_path, b"[")
    for n, (data, _, _) in enumerate(ERRORS.values()):
        (fleet / f"{BAD.removesuffix('.yaml')}{n}.yaml").write_bytes(data)
    files = {file for _, file, _ in found(fleet)}
    assert len(files) == len(ERRORS) + 1
    assert run("due", fleet=fleet).exit_code == 1


@pytest.mark.parametrize("command", ["due", "flyday", "fleet", "check"])
def test_a_newer_fleet_is_read(command: str, tmp_path: Path) -> None:
    fleet = make_fleet_with(tmp_path, b'schema: 99\nname: "Later"\nfolds: {a: 1}\n', "fleet.yaml")
    assert run(command, fleet=fleet).exit_code == 0
