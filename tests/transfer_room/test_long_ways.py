"""A handover and its receipt say what they are at, and until when each machine's records reach."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from transfer_room.seller import Person

from fleets import make_fleet
from register.desk import open_fleet
from register.git.apply import save_paths
from register.git.commit import init_repository
from register.handing import Wish, pack, prepare
from register.receiving import opened_arrival
from register.storage.parcel import pack_parcel
from register.transfer.incoming import Wanted

JET = 'id: "g000000001"\ntitle: "Grey Jet"\nstage: "in-service"\n'


def note(id_: str, day: str, machine: str) -> tuple[str, str]:
    """One note typed on a machine on its day."""
    return f"aircraft/gj/events/2026/04/{day}-note-{id_}.yaml", (
        f'record: "note"\nid: "{id_}"\nwhen: "{day}"\naircraft: "gj.g000000001"\ntext: "x"\n'
        f'typed: "{day}T20:00:00+00:00"\nmachine: "{machine}"\nseq: 1\n'
    )


@pytest.fixture
def seller(tmp_path: Path) -> Person:
    """A jet of which two machines told."""
    notes = dict((
        note("n000000001", "2026-04-01", "m-a"), note("n000000002", "2026-04-09", "m-a"),
        note("n000000003", "2026-04-05", "m-b"),
    ))  # fmt: skip
    fleet = make_fleet(tmp_path, {"aircraft/gj/aircraft.yaml": JET, **notes})
    init_repository(fleet)
    save_paths(fleet, ["fleet.yaml", "aircraft/gj/aircraft.yaml", *notes], "Begin")
    return Person(fleet)


def test_the_dossier_says_until_when_each_machine_told(seller: Person, tmp_path: Path) -> None:
    """So a buyer sees which machine may hold more."""
    seller.says("2026-05-02", "handover", "gj", "--dossier", tmp_path / "d.txt")
    said = " ".join((tmp_path / "d.txt").read_text("utf-8").split())
    assert "on 2 machines, and the last here from each are of 2026-04-09 and 2026-04-05;" in said


def test_each_stage_is_told(seller: Person, tmp_path: Path) -> None:
    """In its order, and nothing runs on in silence."""
    said: list[str] = []

    def tell(says: str, _done: int, _of: int) -> None:
        said.append(says)

    fleet, day = open_fleet(seller.fleet), date(2026, 5, 2)
    prepared = prepare(fleet, Wish("gj"), day, tell)
    packed = pack(fleet, prepared, "x", day, {}, tell=tell)
    assert said == [
        "reading the history", "rewriting the history", "reading back what would go",
        "writing the new history", "checking it", "searching it for private words",
    ]  # fmt: skip
    said.clear()
    buyer = make_fleet(tmp_path / "buyer")
    init_repository(buyer)
    save_paths(buyer, ["fleet.yaml"], "Begin")
    data = pack_parcel(packed.members)
    with opened_arrival(open_fleet(buyer), data, Wanted({}), tell) as arrival:
        assert arrival.aircraft == "gj"
    assert said == ["checking the history", "reading the records", "holding it beside this fleet"]
