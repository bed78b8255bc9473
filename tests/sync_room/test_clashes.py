"""What two machines changed, and not alike: both sides kept, one command settles it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from sync_room.laptops import asks, begin, clashes, codes, edit, exchange, tip_of, types

HERON = "aircraft/heron/aircraft.yaml"
PROGRAMME = """
    title: "Short"
    tasks:
      - id: "oil"
        title: "Oil the gear"
        on: "aircraft"
        every:
          - {counter: "flights", amount: 10}
        basis: {kind: "owner"}
    """


@pytest.fixture
def pair(tmp_path: Path) -> tuple[Path, Path]:
    """Two laptops with a programme besides."""
    return begin(tmp_path, {"programmes/short.yaml": PROGRAMME, "kits/jet.yaml": 'title: "Jet"\n'})


def _differ(pair: tuple[Path, Path], path: str, old: str, one: str, two: str) -> str:
    """Both edit one value, not alike, and exchange; the id of the clash."""
    edit(pair[0], path, old, one)
    edit(pair[1], path, old, two)
    exchange(*pair)
    assert tip_of(pair[0]) == tip_of(pair[1])
    (id_,) = clashes(pair[0])
    for root in pair:
        assert codes(root).count("clash-open") == 1
    return id_


def _all_hold(pair: tuple[Path, Path], path: str, words: str) -> None:
    exchange(*pair)
    assert tip_of(pair[0]) == tip_of(pair[1])
    for root in pair:
        assert words in (root / path).read_text()
        assert clashes(root) == []
        assert "clash-open" not in codes(root)


@pytest.mark.parametrize(
    ("choice", "words"),
    [("1", '"blue"'), ("2", '"red"'), ("sky grey", '"sky grey"'), ("=2", '"2"')],
)
def test_settled_by_either_side_or_a_third_value(
    pair: tuple[Path, Path], choice: str, words: str
) -> None:
    id_ = _differ(pair, HERON, '"grey"', '"blue"', '"red"')
    assert 'upper: "blue"' in (pair[0] / HERON).read_text()
    said = types(pair[1], "sync", "--settle", id_[:5], choice).out
    assert "settled: aircraft/heron/aircraft.yaml: colours / upper is" in said
    _all_hold(pair, HERON, f"upper: {words}")
    types(pair[0], "sync", "--settle", id_, "1", code=4)


def test_the_lower_interval_stands_and_a_number_stays_a_number(pair: tuple[Path, Path]) -> None:
    id_ = _differ(pair, "programmes/short.yaml", "amount: 10", "amount: 25", "amount: 8")
    assert "amount: 8}" in (pair[0] / "programmes/short.yaml").read_text()
    types(pair[0], "sync", "--settle", id_, "often", code=2)
    types(pair[0], "sync", "--settle", id_, "12")
    _all_hold(pair, "programmes/short.yaml", "amount: 12}")


def test_settled_differently_on_both_it_is_open_again_and_the_first_stands(
    pair: tuple[Path, Path],
) -> None:
    id_ = _differ(pair, HERON, '"grey"', '"blue"', '"red"')
    types(pair[0], "sync", "--settle", id_, "1")
    types(pair[1], "sync", "--settle", id_, "2")
    exchange(*pair)
    assert tip_of(pair[0]) == tip_of(pair[1])
    assert clashes(pair[0]) == clashes(pair[1]) == [id_]
    assert 'upper: "blue"' in (pair[1] / HERON).read_text()
    types(pair[1], "sync", "--settle", id_, "2")
    _all_hold(pair, HERON, 'upper: "red"')


AMOUNT = "programmes/short.yaml"


def _told(root: Path) -> list[str]:
    found = asks(root, "check", code=1)["problems"]
    # Machines without a name of their own are told by a random one.
    return [
        re.sub(r" \(m-[a-z0-9]+\)", "", item["says"])
        for item in found
        if item["code"] == "clash-open"
    ]


def test_answered_differently_the_answers_are_what_is_asked(pair: tuple[Path, Path]) -> None:
    id_ = _differ(pair, AMOUNT, "amount: 10", "amount: 25", "amount: 8")
    types(pair[0], "sync", "--settle", id_, "=21")
    types(pair[1], "sync", "--settle", id_, "=14")
    exchange(*pair)
    for root in pair:
        assert "amount: 14}" in (root / AMOUNT).read_text()
        (says,) = _told(root)
        assert "1 is 14, 2 is 21; 1 stands" in says
    types(pair[0], "sync", "--settle", id_, "2")
    _all_hold(pair, AMOUNT, "amount: 21}")


def test_one_answer_is_that_all_stays_and_it_is_asked_again(pair: tuple[Path, Path]) -> None:
    """The one that answers with what stands changes nothing in the file."""
    id_ = _differ(pair, HERON, '"grey"', '"blue"', '"red"')
    types(pair[0], "sync", "--settle", id_, "1")
    types(pair[1], "sync", "--settle", id_, "sky")
    exchange(*pair)
    for root in pair:
        assert 'upper: "blue"' in (root / HERON).read_text()
        assert "1 is blue, 2 is sky; 1 stands" in _told(root)[0]


def test_what_stands_is_what_the_file_says(pair: tuple[Path, Path]) -> None:
    _differ(pair, HERON, '"grey"', '"blue"', '"red"')
    for now, words in (('"red"', "; 2 stands"), ('"pink"', "; the file says pink now")):
        text = (pair[0] / HERON).read_text()
        for old in ('"blue"', '"red"'):
            text = text.replace(f"upper: {old}", f"upper: {now}")
        (pair[0] / HERON).write_text(text)
        assert words in _told(pair[0])[0]


def test_one_place_changed_apart_twice_is_told_once_and_ended_by_one_answer(
    pair: tuple[Path, Path],
) -> None:
    _differ(pair, HERON, '"grey"', '"blue"', '"red"')
    edit(pair[0], HERON, '"blue"', '"cyan"')
    edit(pair[1], HERON, '"blue"', '"mauve"')
    exchange(*pair)
    assert len(clashes(pair[0])) == 2
    for root in pair:
        (says,) = _told(root)
        assert all(colour in says for colour in ("blue", "red", "cyan", "mauve"))
        assert says.count("stands") == 1
    types(pair[1], "sync", "--settle", clashes(pair[1])[0], "=green")
    _all_hold(pair, HERON, 'upper: "green"')


def test_a_file_kept_on_one_and_removed_on_the_other_is_asked_again(
    pair: tuple[Path, Path],
) -> None:
    (pair[0] / "kits/jet.yaml").unlink()
    types(pair[0], "save")
    edit(pair[1], "kits/jet.yaml", '"Jet"', '"Large jet"')
    exchange(*pair)
    (id_,) = clashes(pair[0])
    types(pair[0], "sync", "--settle", id_, "1")
    types(pair[1], "sync", "--settle", id_, "2")
    exchange(*pair)
    for root in pair:
        assert clashes(root) == [id_]
        assert (root / "kits/jet.yaml").is_file()
        assert "2 stands" in _told(root)[0]
    types(pair[0], "sync", "--settle", id_, "1")
    exchange(*pair)
    assert not (pair[1] / "kits/jet.yaml").exists()


def test_settled_alike_on_both_it_is_settled(pair: tuple[Path, Path]) -> None:
    id_ = _differ(pair, HERON, '"grey"', '"blue"', '"red"')
    for root in pair:
        types(root, "sync", "--settle", id_, "2")
    _all_hold(pair, HERON, 'upper: "red"')


@pytest.mark.parametrize("choice", ["1", "2"])
def test_removed_on_one_and_edited_on_the_other_is_kept_and_asked(
    pair: tuple[Path, Path], choice: str
) -> None:
    (pair[0] / "kits/jet.yaml").unlink()
    types(pair[0], "save")
    edit(pair[1], "kits/jet.yaml", '"Jet"', '"Large jet"')
    exchange(*pair)
    (id_,) = clashes(pair[0])
    assert (pair[0] / "kits/jet.yaml").is_file()
    types(pair[0], "sync", "--settle", id_, choice)
    exchange(*pair)
    for root in pair:
        assert (root / "kits/jet.yaml").exists() == (choice == "2")
        assert "clash-open" not in codes(root)
        assert "not-in-history" not in codes(root)


def test_a_removal_does_not_take_an_edit_that_is_not_saved(pair: tuple[Path, Path]) -> None:
    (pair[0] / "kits/jet.yaml").unlink()
    types(pair[0], "save")
    edit(pair[1], "kits/jet.yaml", '"Jet"', '"Large jet"')
    exchange(*pair)
    (id_,) = clashes(pair[0])
    with (pair[0] / "kits/jet.yaml").open("a") as file:
        file.write("# by hand\n")
    types(pair[0], "sync", "--settle", id_, "1", code=4)
    assert "# by hand" in (pair[0] / "kits/jet.yaml").read_text()


def test_an_item_taken_out_of_a_list_and_changed(pair: tuple[Path, Path]) -> None:
    other = '      - {counter: "flights", amount: 10}\n      - {months: 6}\n'
    edit(pair[0], "programmes/short.yaml", '      - {counter: "flights", amount: 10}\n', other)
    exchange(*pair)
    edit(pair[0], "programmes/short.yaml", '      - {counter: "flights", amount: 10}\n', "")
    edit(pair[1], "programmes/short.yaml", "amount: 10", "amount: 15")
    exchange(*pair)
    assert tip_of(pair[0]) == tip_of(pair[1])
    (id_,) = clashes(pair[0])
    types(pair[1], "sync", "--settle", id_, "1")
    exchange(*pair)
    assert "clash-open" not in codes(pair[0])


def test_one_event_edited_by_hand_on_both_keeps_both_values(pair: tuple[Path, Path]) -> None:
    types(pair[0], "fly", "heron", "--minutes", "7")
    exchange(*pair)
    (path,) = (p.relative_to(pair[0]) for p in pair[0].rglob("*-flights-*.yaml"))
    id_ = _differ(pair, str(path), "minutes: 7", "minutes: 8", "minutes: 9")
    text = (pair[1] / f"clashes/{id_}.yaml").read_text()
    assert "one: 8" in text
    assert "two: 9" in text
    types(pair[1], "sync", "--settle", id_, "2")
    _all_hold(pair, str(path), "minutes: 9")


def test_a_file_that_cannot_be_read_is_a_whole_clash(pair: tuple[Path, Path]) -> None:
    for root, words in zip(pair, ("colours: [", "colours: {"), strict=True):
        path = root / HERON
        path.write_text(path.read_text().replace("colours:", words))
        types(root, "save", code=1)
    exchange_quietly(pair)
    (id_,) = clashes(pair[0])
    types(pair[0], "sync", "--settle", id_, "red", code=2)
    types(pair[0], "sync", "--settle", id_, "2")
    exchange_quietly(pair)
    assert tip_of(pair[0]) == tip_of(pair[1])
    assert clashes(pair[1]) == []


def exchange_quietly(pair: tuple[Path, Path]) -> None:
    """Sync where the records hold errors: it works, and the code says so."""
    from fleets import run

    for root in (*pair, *pair):
        assert run("sync", cwd=root).exit_code in (0, 1)


def test_conflict_markers_of_a_merge_by_hand_are_named(pair: tuple[Path, Path]) -> None:
    path = pair[0] / HERON
    path.write_text(
        path.read_text().replace(
            '  upper: "grey"\n',
            '<<<<<<< ours\n  upper: "grey"\n=======\n  upper: "blue"\n>>>>>>> theirs\n',
        )
    )
    assert "conflict-markers" in codes(pair[0])
