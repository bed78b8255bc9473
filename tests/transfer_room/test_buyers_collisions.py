"""The buyer's fleet has the same names already: all of it is said before anything is written."""

from __future__ import annotations

import zipfile
from pathlib import Path

import pytest
from transfer_room.seller import JET, Person, make_seller

from fleets import make_fleet, read_files
from register.git.apply import save_paths
from register.git.commit import init_repository

DAY = "2026-05-03"
OWN = {
    "programmes/story.yaml": 'id: "prgown0001"\ntitle: "Own programme"\ntasks: []\n',
    "kits/jet-kit.yaml": 'id: "kown000001"\ntitle: "Other kit"\n',
    "aircraft/gj/aircraft.yaml": JET.format(id="own0000001", title="Green Jet", mark="OP-7K"),
    "parts/sv-22/part.yaml": 'id: "own0000022"\nkind: "servo"\n',
    "parts/pk-04/part.yaml": 'id: "own0000004"\nkind: "battery"\nuse: "assigned"\n',
}


@pytest.fixture
def pair(tmp_path: Path) -> tuple[Person, Person, Path]:
    """Seller, buyer, and the file of the first handover."""
    seller = make_seller(tmp_path / "seller")
    fleet = make_fleet(tmp_path / "buyer", OWN)
    init_repository(fleet)
    save_paths(fleet, sorted({**OWN, "fleet.yaml": ""}), "Begin")
    buyer = Person(fleet)
    buyer.says("2026-04-01", "install", "sv-22", "gj", "flap-servo")
    buyer.says("2026-04-02", "fly", "gj", "5", "--minutes", "31", "--pack", "pk-04")
    file = tmp_path / "first.tailsheaf"
    seller.says("2026-05-02", "handover", "gj", str(file))
    return seller, buyer, file


def test_every_collision_is_said_first(pair: tuple[Person, Person, Path]) -> None:
    """Names, registration; and not a byte is written."""
    _, buyer, file = pair
    before, head = read_files(buyer.fleet), buyer.git("for-each-ref")
    view = buyer.asks(DAY, "receive", str(file))
    collides = {name["there"]: name["here"] for name in view["names"] if name["collides"]}
    assert collides == {
        "gj": "gj-2", "sv-22": "sv-22-2", "pk-04": "pk-04-2", "jet-kit": "jet-kit-2",
        "story": "story-2",
    }  # fmt: skip
    assert view["registrations"] == ["OP-7K is the registration of gj here too"]
    assert view["can_take"] is True
    assert read_files(buyer.fleet) == before
    assert buyer.git("for-each-ref") == head


def test_names_are_chosen_and_old_ones_still_resolve(pair: tuple[Person, Person, Path]) -> None:
    """`--as` and `--name`; every reference in the history; own counters to the digit."""
    seller, buyer, file = pair
    own = buyer.totals(DAY, "sv-22", "pk-04"), buyer.counters(DAY, "gj")
    buyer.says(DAY, "receive", str(file), "--take", "--as", "grey", "--name", "sv-22=flap-1")
    assert (buyer.totals(DAY, "sv-22", "pk-04"), buyer.counters(DAY, "gj")) == own
    assert buyer.counters(DAY, "grey") == seller.counters(DAY, "gj")
    assert buyer.totals(DAY, "flap-1")["flap-1"] == seller.totals(DAY, "sv-22")["sv-22"]
    assert buyer.totals(DAY, "tu-07") == seller.totals(DAY, "tu-07")
    problems = buyer.asks(DAY, "check")["problems"]
    assert [found for found in problems if "unknown" in found["code"]] == []
    assert [found for found in problems if found["level"] == "error"] == []
    records = buyer.asks(DAY, "history", "grey", "--all")["records"]
    assert sum(one["kind"] == "change-of-owner" for one in records) == 1
    # The own aircraft is meant by its name; a name that only the past knows is still understood.
    assert buyer.asks(DAY, "aircraft", "gj")["title"] == "Green Jet"
    buyer.says(DAY, "withdraw", next(o["id"] for o in records if o["kind"] == "change-of-owner"))


def test_a_name_that_is_taken_is_mended_with_the_option_for_it(
    pair: tuple[Person, Person, Path],
) -> None:
    """The aircraft's by `--as`, all others by `--name`; the line offered works."""
    _, buyer, file = pair
    for words in (("--as", "gj"), ("--name", "gj=gj")):
        said = buyer.says(DAY, "receive", str(file), *words, exit_code=2).err
        assert "--as gj-2" in said
        assert "--name" not in said
    said = buyer.says(DAY, "receive", str(file), "--name", "tu-07=sv-22", exit_code=2).err
    assert "--name tu-07=sv-22-3" in said
    buyer.says(DAY, "receive", str(file), "--as", "gj-2", "--name", "tu-07=sv-22-3")


def test_an_edit_that_nobody_saved_is_named_as_what_it_is(
    pair: tuple[Person, Person, Path], tmp_path: Path
) -> None:
    """No word of other machines or of sync: the owner is receiving a file."""
    seller, buyer, file = pair
    buyer.says(DAY, "receive", str(file), "--take")
    own = buyer.fleet / "aircraft/gj-2/aircraft.yaml"
    own.write_text(own.read_text("utf-8") + 'colour_of_mine: "green"\n', "utf-8")
    there = seller.fleet / "aircraft/gj/aircraft.yaml"
    there.write_text(there.read_text("utf-8").replace("Grey Jet", "Grey Jet, repainted"), "utf-8")
    seller.says("2026-05-05", "save")
    later = tmp_path / "later.tailsheaf"
    seller.says("2026-05-05", "handover", "gj", str(later))
    said = buyer.says("2026-05-06", "receive", str(later), "--take", exit_code=4).err
    assert "aircraft/gj-2/aircraft.yaml" in said
    assert "tailsheaf save" in said
    for wrong in ("machine", "sync"):
        assert wrong not in said
    buyer.says("2026-05-06", "save")
    buyer.says("2026-05-06", "receive", str(later), "--take")
    assert "colour_of_mine" in own.read_text("utf-8")


def test_an_old_name_can_be_typed(pair: tuple[Person, Person, Path]) -> None:
    """Where nothing here bears it."""
    _, buyer, file = pair
    buyer.says(DAY, "receive", str(file), "--take", "--as", "grey", "--name", "tu-07=engine-1")
    assert buyer.asks(DAY, "parts", "tu-07")["part"] == "engine-1"
    buyer.says(DAY, "engine-run", "tu-07", "3")
    assert "engine-1" in buyer.says(DAY, "history", "tu-07").out


def test_twice_changes_nothing_and_a_later_file_adds_what_is_new(
    pair: tuple[Person, Person, Path], tmp_path: Path
) -> None:
    """One flight more: exactly that one; what was done here meanwhile stays."""
    seller, buyer, file = pair
    buyer.says(DAY, "receive", str(file), "--take")
    head, files = buyer.git("rev-parse", "HEAD"), read_files(buyer.fleet)
    assert "nothing new" in buyer.says(DAY, "receive", str(file), "--take").out
    assert (buyer.git("rev-parse", "HEAD"), read_files(buyer.fleet)) == (head, files)
    buyer.says("2026-05-04", "fly", "gj-2", "2", "--minutes", "13")
    seller.says("2026-05-05", "fly", "gj", "1", "--minutes", "7", "--at", "2026-05-02")
    later = tmp_path / "later.tailsheaf"
    seller.says("2026-05-05", "handover", "gj", str(later))
    view = buyer.asks("2026-05-06", "receive", str(later))
    assert view["update"] is True
    assert (view["records"]["new"], view["records"]["changed"]) == (1, [])
    assert (view["records"]["ours"], view["records"]["gone"]) == (0, [])
    done = buyer.asks("2026-05-06", "receive", str(later), "--take")
    assert [path for path in done["added"] if "/events/" not in path] == []
    assert len(done["added"]) == 1
    assert buyer.counters("2026-05-06", "gj-2")["flights"]["low"] == 4 + 1 + 2
    assert done["totals_differ"] == []
    refused = buyer.says("2026-05-06", "receive", str(file), "--take", exit_code=4)
    assert "older" in refused.err


def test_use_elsewhere_that_is_told_anew_replaces_what_was_told(
    pair: tuple[Person, Person, Path], tmp_path: Path
) -> None:
    """The seller finds that the engine's flights elsewhere never were: the record goes."""
    seller, buyer, file = pair
    buyer.says(DAY, "receive", str(file), "--take")
    assert buyer.totals(DAY, "tu-07")["tu-07"]["engine-minutes"]["low"] == 163
    records = seller.asks(DAY, "history", "rj", "--all")["records"]
    flown = [one["id"] for one in records if one["kind"] == "flights"]
    seller.says(DAY, "withdraw", flown[0])
    later = tmp_path / "later.tailsheaf"
    seller.says(DAY, "handover", "gj", str(later))
    done = buyer.asks("2026-05-06", "receive", str(later), "--take")
    assert [path for path in done["removed"] if "usage-elsewhere" in path] == done["removed"]
    assert len(done["removed"]) == 1
    assert done["totals_differ"] == []
    assert buyer.totals(DAY, "tu-07") == seller.totals(DAY, "tu-07")


def test_an_altered_file_is_refused(pair: tuple[Person, Person, Path], tmp_path: Path) -> None:
    """One byte of the manifest, or another history under the same manifest."""
    _, buyer, file = pair
    before = read_files(buyer.fleet)
    with zipfile.ZipFile(file) as parcel:
        members = {name: parcel.read(name) for name in parcel.namelist()}
    for name in ("manifest.json", "history.bundle"):
        data = bytearray(members[name])
        at = data.index(b'"files": {') + 30 if name == "manifest.json" else len(data) // 2
        data[at] = data[at] ^ 1
        bad = tmp_path / "bad.tailsheaf"
        with zipfile.ZipFile(bad, "w") as parcel:
            for other, content in {**members, name: bytes(data)}.items():
                parcel.writestr(other, content)
        buyer.says(DAY, "receive", str(bad), "--take", exit_code=4)
    assert read_files(buyer.fleet) == before


def test_an_aircraft_that_comes_back(pair: tuple[Person, Person, Path], tmp_path: Path) -> None:
    """What the seller wrote stays in the seller's own words; what happened away is added."""
    seller, buyer, file = pair
    buyer.says(DAY, "receive", str(file), "--take", "--as", "grey")
    buyer.says("2026-05-10", "fly", "grey", "3", "--minutes", "20")
    back = tmp_path / "back.tailsheaf"
    buyer.says("2026-06-01", "handover", "grey", str(back))
    view = seller.asks("2026-06-02", "receive", str(back))
    assert view["returns"] is True
    assert view["records"]["collisions"] == []
    seller.says("2026-06-02", "receive", str(back), "--take")
    assert seller.counters("2026-06-02", "gj") == buyer.counters("2026-06-01", "grey")
    assert seller.totals("2026-06-02", "tu-07") == buyer.totals("2026-06-01", "tu-07")
    assert "4137.55" in (seller.fleet / "aircraft/gj/aircraft.yaml").read_text()
    assert seller.asks("2026-06-02", "aircraft", "gj")["stage"] == "in-service"
    seller.says("2026-06-03", "fly", "gj", "1", "--minutes", "7")


def test_what_makes_other_days_due_is_said_with_the_line_to_set_it(
    pair: tuple[Person, Person, Path], tmp_path: Path
) -> None:
    """The season's gap, its start and what counts as soon are the buyer's own to choose."""
    seller, buyer, first = pair
    assert buyer.asks(DAY, "receive", str(first))["fleet_differs"] == []
    text = (seller.fleet / "fleet.yaml").read_text("utf-8")
    more = 'season_gap_days: 45\nseason_start: "04-01"\nsoon: {days: 21}\n'
    (seller.fleet / "fleet.yaml").write_text(text + more, "utf-8")
    seller.says("2026-05-02", "save")
    file = tmp_path / "second.tailsheaf"
    seller.says("2026-05-02", "handover", "gj", str(file))
    lines = [
        "season_gap_days: 45  (here: none)",
        'season_start: "04-01"  (here: 03-01)',
        "soon: {days: 21, flights: 5, minutes: 60}  (here: days: 14, flights: 5, minutes: 60)",
    ]
    assert buyer.asks(DAY, "receive", str(file))["fleet_differs"] == lines
    for words in ((), ("--take", "--as", "grey")):
        shown = " ".join(buyer.says(DAY, "receive", str(file), *words).out.split())
        for line in lines:
            assert " ".join(line.split()) in shown
        assert shown.count("tasks fall due on other days than there, where fleet.yaml says") == 1
    fleet = (buyer.fleet / "fleet.yaml").read_text("utf-8")
    assert "season" not in fleet
