"""One name given on two laptops to two things, through the command line."""

from __future__ import annotations

from pathlib import Path

from sync_room.laptops import asks, begin, clashes, exchange, tip_of, types


def test_two_packs_of_one_name_stay_two_packs(tmp_path: Path) -> None:
    pair = begin(tmp_path)
    for root, words in zip(pair, (("bench", "S-1"), ("field laptop", "S-2")), strict=True):
        types(root, "sync", "--call-me", words[0])
        types(root, "parts", "pk", "--add", "--kind", "battery", "--use", "assigned")
        file = root / "parts/pk/part.yaml"
        file.write_text(f'{file.read_text()}serial: "{words[1]}"\n')
        types(root, "save")
    for root, count in zip(pair, ("2", "3"), strict=True):
        types(root, "charge", "pk", "--count", count)
        types(root, "fly", "heron", count, "--minutes", "9", "--pack", "pk")
    types(pair[0], "sync")
    said = types(pair[1], "sync").out
    assert "pk was added on two machines as two things" in " ".join(said.split())
    exchange(*pair)
    assert tip_of(pair[0]) == tip_of(pair[1])
    (second,) = (path.name for path in (pair[0] / "parts").iterdir() if path.name != "pk")
    for root in pair:
        assert clashes(root) == []
        found = {}
        for name in ("pk", second):
            serial = (root / f"parts/{name}/part.yaml").read_text().split('serial: "')[1][:3]
            counters = asks(root, "parts", name)["counters"]
            found[serial] = [counters[key]["since_new"]["low"] for key in ("charges", "flights")]
        assert found == {"S-1": [2, 2], "S-2": [3, 3]}
        problems = asks(root, "check")["problems"]
        assert "reference-id-unknown" not in {item["code"] for item in problems}
        (says,) = (item["says"] for item in problems if item["code"] == "name-shared")
        for word in (second, "S-1", "S-2", "bench", "field laptop"):
            assert word in says
    path = pair[1] / f"parts/{second}/part.yaml"
    path.write_text(path.read_text().replace("aliases:", "once_called:"))
    types(pair[1], "save", code=0)
    assert "name-shared" not in {item["code"] for item in asks(pair[1], "check")["problems"]}


def test_a_clash_says_which_machine_wrote_which_side(tmp_path: Path) -> None:
    pair = begin(tmp_path)
    for root, name, colour in zip(pair, ("bench", "laptop"), ("blue", "red"), strict=True):
        types(root, "sync", "--call-me", name)
        path = root / "aircraft/heron/aircraft.yaml"
        path.write_text(path.read_text().replace('"grey"', f'"{colour}"'))
        types(root, "save")
    exchange(*pair)
    for root in pair:
        (says,) = (
            item["says"]
            for item in asks(root, "check", code=1)["problems"]
            if item["code"] == "clash-open"
        )
        assert "1 is blue (bench), 2 is red (laptop)" in says
