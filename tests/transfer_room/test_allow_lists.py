"""Every key that a reader knows either goes to a new owner or stays for a reason given here."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from fleets import run, run_json
from register import records
from register.desk import open_fleet
from register.handing import Wish, prepare
from register.records.body_readers import READERS
from register.transfer import allowed
from register.transfer.fields import Keys
from register.transfer.vocabulary import keys_of

#: Key -> why it does not go. A key that is new must be added to an allow-list or here.
STAYS = {
    "aliases": "names that earlier owners gave",
    "stayed": "written by the handover itself, for a part that stays behind",
    "machines": "titles of the owner's devices",
    "people": "private.yaml stays whole",
    "prices": "private.yaml stays whole",
    "spending": "private.yaml stays whole",
    "never": "private.yaml stays whole",
    "where": "where something lies at home",
    "wanted": "stock stays whole",
    "covers": "papers are personal and do not transfer",
    "valid": "papers are personal and do not transfer",
    "expires": "papers are personal and do not transfer",
    "fault_words": "the owner's own words for systems, over all aircraft",
    "systems": "the owner's own words for systems, over all aircraft",
    "thresholds": "the owner's own figures, over all aircraft",
    "raised_from": "a record that may be of another aircraft",
    "by_one": "an open question between the owner's machines",
    "by_two": "an open question between the owner's machines",
    "clash": "an open question between the owner's machines",
    "file": "an open question between the owner's machines",
    "key": "an open question between the owner's machines",
    "one": "an open question between the owner's machines",
    "two": "an open question between the owner's machines",
    "settled": "an open question between the owner's machines",
    "stands": "an open question between the owner's machines",
}
#: Those of an amendment, which the rewriter treats by itself; and a unit's name.
_BY_ITSELF = {"amends", "set", "inlbf"}
_METHODS = {"split", "startswith", "endswith", "join", "replace", "partition", "rpartition",
            "strip", "removesuffix", "count"} - {"count"}  # fmt: skip


def read_keys() -> Iterator[tuple[str, str]]:
    """Every word that a module of the readers asks a mapping for."""
    for path in sorted(Path(records.__file__).parent.glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Attribute):
                continue
            first = node.args[0] if node.args else None
            if isinstance(first, ast.Constant) and isinstance(first.value, str):
                word = first.value
                if word.replace("_", "").isalpha() and node.func.attr not in _METHODS:
                    yield word, path.name


def allowed_keys() -> set[str]:
    """Every key of every allow-list."""
    lists = (*allowed.EVENTS.values(), allowed.COMMON, allowed.PART, allowed.FLEET, allowed.KIT,
             allowed.AIRCRAFT, allowed.PROGRAMME_FILE)  # fmt: skip
    return {key for rules in lists for key in keys_of(Keys(rules))}


def test_every_key_goes_or_stays_for_a_reason() -> None:
    """A key added to a reader fails here until somebody decides."""
    known = allowed_keys()
    asked = dict(read_keys())
    assert len(asked) > 150
    undecided = {key: where for key, where in asked.items()
                 if key not in known and key not in STAYS and key not in _BY_ITSELF}  # fmt: skip
    assert undecided == {}
    assert set(STAYS) <= set(asked), "no reader asks for it any more"


def test_every_kind_of_record_has_an_allow_list() -> None:
    """An amendment goes by the list of what it amends."""
    assert set(READERS) - {"amendment"} == set(allowed.EVENTS)


@pytest.fixture(scope="module")
def example(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the example fleet goes."""
    return tmp_path_factory.mktemp("example") / "fleet"


LOOKS = (
    ("throws",), ("fasteners",), ("balance",), ("leak",), ("damage",), ("notices",), ("modify",),
    ("kit",),
)  # fmt: skip
#: What says where a record lies, or what it is called here.
#: Spares and shared packs stay, which changes the mass since weighing; a kit may have others too.
_PLACES = {
    "since_weighing",
    "aircraft",
    "spares",
    "in_stock",
    "stock",
    "record",
    "path",
    "file",
    "place",
    "line",
    "by",
    "aliases",
    "unread",
}


def test_an_aircraft_reads_the_same_as_built(tmp_path: Path, example: Path) -> None:
    """The example's aircraft, before and after: every answer about how it was built."""
    result = run("init", str(example), "--example", cwd=tmp_path)
    assert result.exit_code == 0, result
    file, buyer = tmp_path / "heron.tailsheaf", tmp_path / "buyer"
    run_json("handover", "heron", str(file), "--copy", fleet=example)
    assert run("init", str(buyer), cwd=tmp_path).exit_code == 0
    assert run_json("receive", str(file), "--take", fleet=buyer)["totals_differ"] == []
    for words in LOOKS:
        subject = "longreach-90" if words == ("kit",) else "heron"
        here = run_json(*words, subject, fleet=example)
        there = run_json(*words, subject, fleet=buyer)
        assert strip(there) == strip(here), words


def strip(data: object) -> object:
    """An answer without what depends on where it is asked."""
    if isinstance(data, dict):
        return {key: strip(value) for key, value in data.items() if key not in _PLACES}
    if isinstance(data, list):
        return [strip(item) for item in data]
    return data


def test_the_example_loses_no_key_that_a_reader_knows(tmp_path: Path) -> None:
    """Of each of its aircraft, nothing is dropped but what stays for a reason."""
    fleet_dir = tmp_path / "fleet"
    assert run("init", str(fleet_dir), "--example", cwd=tmp_path).exit_code == 0
    fleet = open_fleet(fleet_dir)
    known = {key for key, _ in read_keys()} - set(STAYS)
    for aircraft in fleet.records.aircraft:
        prepared = prepare(fleet, Wish(aircraft), date(2026, 5, 16))
        lost = {key for key in prepared.dropped if key.rpartition(".")[2] in known}
        assert lost <= {"name"}, aircraft
