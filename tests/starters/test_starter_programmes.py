"""The starter programmes as data: complete, marked with their bases, and hand-editable."""

from __future__ import annotations

import io
import re

import pytest
from ruamel.yaml import YAML
from ruamel.yaml.nodes import MappingNode, Node, ScalarNode, SequenceNode
from starters.first_items import CLASS_ITEMS, CORE, OF_CLASS, PETROL_ENGINE
from starters.starter_files import as_list, every_starter, load, tasks_of

from register.records.kinds import PART_KINDS
from register.records.programmes import RESETS, STARTS
from register.starters.catalogue import read_starter, starter_names
from register.trouble import Exit, RegisterError

COUNTERS = {
    "flights",
    "landings",
    "minutes",
    "engine-minutes",
    "engine-starts",
    "gear-cycles",
    "charges",
    "tows",
}
EVERY_MODEL_LISTS = {
    "hard-landing",
    "nose-over",
    "tip-strike",
    "lost-signal",
    "flutter",
    "over-speed",
    "fluid-leak",
    "crash",
    "radio-change",
    "pack-abuse",
    "outside-damage",
    "new-owner",
    "hard-weather",
    "component-swap",
    "storage",
    "return-from-storage",
}
CLASS_LISTS = {
    "turbine-jet": {"flame-out", "hot-start", "ran-dry", "debris-strike", "cold-weather"},
    "fan-jet": {"cut-out", "over-temperature", "debris-strike"},
    "petrol-giant": {"engine-stop", "hot-run", "lean-run", "propeller-strike"},
    "glider-tug": {"engine-stop", "hot-run", "lean-run", "propeller-strike"},
}

TASK_KEYS = (
    "id",
    "title",
    "group",
    "list",
    "on",
    "every",
    "first",
    "reset",
    "life",
    "start",
    "grounds",
    "reading",
    "basis",
    "if_out",
    "caution",
)


def blocks_of(name: str) -> dict[str, str]:
    """The text of each task as it stands in the file, comments included."""
    text = read_starter(name).decode("utf-8")
    parts = re.split(r"(?m)^(?=  - id: )", text)[1:]
    found: dict[str, str] = {}
    for part in parts:
        match = re.match(r'  - id: "([^"]+)"', part)
        assert match is not None
        lines = part.splitlines()
        found[match[1]] = "\n".join(line for line in lines if line[:4] != "  # ").strip()
    return found


def test_the_catalogue_lists_the_four_in_order() -> None:
    assert starter_names() == ("fan-jet", "glider-tug", "petrol-giant", "turbine-jet")


@pytest.mark.parametrize("name", ["", "jet", "../records", "fan-jet.yaml", "Fan-Jet"])
def test_an_unknown_starter_is_refused_with_the_names(name: str) -> None:
    with pytest.raises(RegisterError) as caught:
        read_starter(name)
    assert caught.value.exit_code is Exit.USAGE
    assert "turbine-jet" in caught.value.mend


@every_starter
def test_bytes_are_utf8_with_plain_line_ends(name: str) -> None:
    data = read_starter(name)
    assert b"\r" not in data
    assert b"\t" not in data
    assert data.endswith(b"\n")
    assert not data.startswith(b"\xef\xbb\xbf")
    assert data.decode("utf-8").startswith("# ")


@every_starter
def test_the_head_says_what_the_file_is(name: str) -> None:
    whole = load(name)
    assert whole["starter"] == name
    assert whole["version"] == 1
    assert whole["title"].endswith("starter programme")
    assert "id" not in whole, "the program gives the id when it copies the file"
    for word in ("starting point", "common-practice", "maker's manual", "law"):
        assert word in whole["about"]


@every_starter
def test_every_item_of_a_first_programme_has_its_tasks(name: str) -> None:
    tasks = tasks_of(name)
    assert len(CORE) == 24
    assert len(OF_CLASS[name]) == CLASS_ITEMS[name]
    wanted = [task for item in (*CORE, *OF_CLASS[name]) for task in item]
    assert [task for task in wanted if task not in tasks] == []


@every_starter
def test_every_task_is_of_an_item_or_of_a_list(name: str) -> None:
    listed = {task for item in (*CORE, *OF_CLASS[name]) for task in item}
    stray = [id_ for id_, task in tasks_of(name).items() if (id_ in listed) == ("list" in task)]
    assert stray == []


@every_starter
def test_ids_are_unique_and_easy_to_type(name: str) -> None:
    ids = [task["id"] for task in load(name)["tasks"]]
    assert len(ids) == len(set(ids))
    assert [id_ for id_ in ids if not re.fullmatch(r"[a-z][a-z0-9]*(-[a-z0-9]+)*", id_)] == []
    assert [id_ for id_ in ids if len(id_) > 30] == []


@every_starter
def test_tasks_stand_in_a_declared_group_and_no_group_is_empty(name: str) -> None:
    groups = [group["name"] for group in load(name)["groups"]]
    assert len(groups) == len(set(groups))
    assert {task["group"] for task in tasks_of(name).values()} == set(groups)


@every_starter
def test_a_task_has_only_known_keys_and_something_that_opens_it(name: str) -> None:
    known = TASK_KEYS
    for id_, task in tasks_of(name).items():
        assert set(task) <= set(known), id_
        assert tuple(task) == tuple(key for key in known if key in task), f"{id_}: order of keys"
        assert "every" in task or "start" in task, id_
        assert ("every" in task) == ("reset" in task), id_
        assert task.get("reset", "from-done") in RESETS, id_
        assert isinstance(task["grounds"], bool), id_
        assert 0 < len(task["title"]) <= 70, id_
        assert task["if_out"].strip(), id_


@every_starter
def test_subjects_are_the_aircraft_its_engine_or_a_known_kind(name: str) -> None:
    for id_, task in tasks_of(name).items():
        on = task["on"]
        if on != "aircraft":
            assert on == {"position": "engine"} or on["part_kind"] in PART_KINDS, id_


@every_starter
def test_intervals_name_a_counter_or_a_stretch_of_calendar(name: str) -> None:
    for id_, task in tasks_of(name).items():
        for side in (*task.get("every", ()), *task.get("first", ())):
            if "counter" in side:
                assert side["counter"] in COUNTERS, id_
                assert set(side) <= {"counter", "amount", "early", "late"}, id_
                assert side.get("amount", 1) > 0, id_
            else:
                assert set(side) - {"early_days", "late_days"} in ({"months"}, {"days"}), id_


@every_starter
def test_starts_use_known_words(name: str) -> None:
    keys = {
        "season": {"valid_days"},
        "gap": {"days"},
        "layup": {"days"},
        "paper": {"warn_days"},
        "incident": {"what"},
        "install": {"kinds"},
        "work": {"kinds"},
    }
    for id_, task in tasks_of(name).items():
        for start in as_list(task.get("start")):
            when = start["when"]
            assert when in STARTS, id_
            assert set(start) - {"when", "after"} == keys.get(when, set()), id_
            assert set(start.get("kinds", ())) <= set(PART_KINDS), id_
            assert all(re.fullmatch(r"[a-z]+(-[a-z]+)*", w) for w in start.get("what", ())), id_


@every_starter
def test_the_lists_after_events_have_several_answers(name: str) -> None:
    sizes: dict[str, int] = {}
    for task in tasks_of(name).values():
        if "list" in task:
            sizes[task["list"]] = sizes.get(task["list"], 0) + 1
    assert set(sizes) == EVERY_MODEL_LISTS | CLASS_LISTS[name]
    single = {list_ for list_, size in sizes.items() if size == 1}
    assert single <= {"pack-abuse", "cold-weather"}


@every_starter
def test_storage_opens_by_layup_and_coming_back_by_a_gap(name: str) -> None:
    for id_, task in tasks_of(name).items():
        if task.get("list") == "storage":
            assert task["start"] == {"when": "layup", "days": 30}, id_
        if task.get("list") == "return-from-storage":
            assert task["start"] == {"when": "gap", "days": 30}, id_


@every_starter
def test_fasteners_are_looked_at_again_after_one_flight(name: str) -> None:
    starts = as_list(tasks_of(name)["swap-fasteners"]["start"])
    assert [start["when"] for start in starts] == ["install", "work"]
    assert all(start["after"] == {"flights": 1} for start in starts)


def test_the_core_reads_the_same_in_all_four() -> None:
    first, *others = (blocks_of(name) for name in starter_names())
    shared = [task for item in CORE for task in item]
    for other in others:
        for id_ in shared:
            assert other[id_] == first[id_], id_


def test_lists_for_every_model_read_the_same_where_they_share_an_id() -> None:
    first, *others = (blocks_of(name) for name in starter_names())
    for id_ in ("flutter-hinges", "hard-landing-struts", "swap-failsafe", "storage-packs"):
        assert all(other[id_] == first[id_] for other in others), id_


def test_the_tug_halves_the_flights_of_the_petrol_giant() -> None:
    giant, tug = tasks_of("petrol-giant"), tasks_of("glider-tug")
    halved = []
    for id_ in (task for item in PETROL_ENGINE for task in item):
        for own, other in zip(tug[id_].get("every", ()), giant[id_].get("every", ()), strict=True):
            if own.get("counter") == "flights":
                assert own["amount"] == other["amount"] // 2, id_
                assert "half" in tug[id_]["basis"]["reference"], id_
                halved.append(id_)
            else:
                assert own == other, id_
        assert tug[id_].get("reading") == giant[id_].get("reading"), id_
        assert tug[id_].get("start") == giant[id_].get("start"), id_
    assert halved == [
        "propeller-bolts-torque",
        "engine-mount",
        "silencer",
        "static-speed",
        "baffles-cowl",
    ]


def test_the_tug_counts_tows() -> None:
    assert tasks_of("glider-tug")["tow-release-wear"]["every"] == [
        {"counter": "tows", "amount": 25}
    ]


@every_starter
def test_work_that_can_hurt_carries_a_caution(name: str) -> None:
    """Running engines, propellers, pressurised air, packs under test, loaded tow lines."""
    wanted = {
        "turbine-jet": ("gear-air-gauge", "leak-down", "turbine-look", "fuel-tanks"),
        "fan-jet": ("fan-rotor", "static-power", "arming-plug", "flight-pack-health"),
        "petrol-giant": ("ignition-kill", "propeller-blades", "static-speed", "petrol-tank"),
        "glider-tug": ("tow-release-pull", "tow-line-day", "propeller-bolts-torque"),
    }[name]
    tasks = tasks_of(name)
    for id_ in (*wanted, "failsafe", "range-check", "pack-capacity", "pack-abuse-quarantine"):
        assert tasks[id_].get("caution", "").strip(), id_


@every_starter
def test_the_words_a_notebook_must_not_say_are_absent(name: str) -> None:
    text = read_starter(name).decode("utf-8").lower()
    assert re.findall(r"\b(safe|safely|airworthy|certified|compliant|ok to fly)\b", text) == []


@every_starter
def test_texts_are_quoted_and_figures_are_not(name: str) -> None:
    """Keys stay plain; a text in double quotes can hold any character a person types."""
    root = YAML(pure=True).compose(io.BytesIO(read_starter(name)))
    wrong: list[str] = []

    def walk(node: Node) -> None:
        if isinstance(node, MappingNode):
            for key, value in node.value:
                if key.style is not None or not re.fullmatch(r"[a-z_]+", key.value):
                    wrong.append(f"key {key.value} on line {key.start_mark.line + 1}")
                walk(value)
        elif isinstance(node, SequenceNode):
            for item in node.value:
                walk(item)
        elif isinstance(node, ScalarNode):
            is_figure = re.fullmatch(r"-?\d+(\.\d+)?|true|false", node.value) is not None
            if is_figure == (node.style == '"'):
                wrong.append(f"{node.value} on line {node.start_mark.line + 1}")

    walk(root)
    assert wrong == []
