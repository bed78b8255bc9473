"""The printed skeletons: nothing in them is refused, and nothing the readers know is missing."""

from __future__ import annotations

import ast
import inspect
import re
from collections.abc import Callable, Iterable
from pathlib import Path
from types import ModuleType

import pytest

from fleets import Golden, make_fleet, run, run_json
from register.records import (
    access,
    air,
    as_built,
    balance,
    colours,
    joints,
    lines,
    linkages,
    notices,
    outlines,
    programmes,
    rods,
    surfaces,
    workshop_bodies,
    zones,
)
from register.records.programmes import build_programme
from register.records.values import BASIS_KINDS
from register.starters.skeletons import (
    SECTIONS,
    read_programme_skeleton,
    read_skeleton,
    read_skeletons,
)
from register.text.nodes import Entry, Mapping, Node, Scalar, Sequence
from register.text.parsing import parse_text
from register.trouble import Problem, RegisterError

#: Mappings whose keys are names of the owner's own.
NAMED = {
    *((section,) for section in SECTIONS if section not in ("outline", "balance")),
    *(("balance", key) for key in ("arms", "tracks", "items", "ballast")),
    *(("outline", key) for key in ("plan", "side")),
    ("linkages", "*", "arm", "holes"),
    ("tasks", "start", "after"),
}
#: Mappings of which the skeleton says that their keys are those of another.
ALIKE: dict[tuple[str, ...], tuple[str, ...]] = {
    ("balance", "ballast", "*"): ("balance", "items", "*"),
    ("tasks", "first"): ("tasks", "every"),
    ("tasks", "revisions", "every"): ("tasks", "every"),
    ("tasks", "revisions", "first"): ("tasks", "every"),
}
MODULES: dict[str, tuple[ModuleType, ...]] = {
    "outline": (outlines,),
    "zones": (zones,),
    "colours": (colours,),
    "surfaces": (surfaces,),
    "linkages": (linkages, rods),
    "joints": (joints,),
    "lines": (lines,),
    "access": (access,),
    "notices": (notices,),
    "balance": (balance,),
    "air": (air,),
    "programme": (programmes,),
}
WORDS: dict[str, tuple[Iterable[str], ...]] = {
    "zones": (workshop_bodies.HANDS,),
    "surfaces": (surfaces.KINDS, surfaces.MOVES, surfaces.WAYS, workshop_bodies.MEASURES),
    "linkages": (
        linkages.SIDES,
        linkages.TORQUE_UNITS,
        rods.ROD_MEANINGS,
        rods.HANDS_OF_THREAD,
    ),
    "joints": (
        joints.HEADS,
        joints.MATERIALS,
        joints.LOCKS,
        joints.INTO,
        joints.FRICTIONS,
        joints.TORQUE_UNITS,
    ),
    "lines": (lines.MEDIA,),
    "notices": (notices.KINDS, notices.ACTIONS, notices.SIDES, BASIS_KINDS),
    "balance": (balance.MASS_KINDS, balance.LIMIT_TANKS),
    "programme": (programmes.RESETS, programmes.STARTS, BASIS_KINDS),
}

#: The places that the skeletons name, as `kit --position` enters them.
POSITIONS = """\
title: "Skua, sport jet"
positions:
  regulator: {kind: "voltage-regulator", required: false}
  receiver: {kind: "receiver"}
  main-gear-left: {kind: "retract"}
  aileron-servo-left: {kind: "servo"}
  tab-servo: {kind: "servo"}
  brake-servo: {kind: "servo"}
"""

Asked = dict[tuple[str, ...], set[str]]


def parse(text: str) -> Mapping:
    parsed = parse_text("x.yaml", text.encode())
    assert parsed.node is not None
    assert not parsed.problems
    return parsed.node


def watch(node: Mapping, asked: Asked) -> Mapping:
    """The same tree, which notes what each of its mappings is asked for."""
    paths: dict[int, tuple[str, ...]] = {}

    class Watched(Mapping):
        def get(self, key: str) -> Node | None:
            asked.setdefault(paths[id(self)], set()).add(key)
            return super().get(key)

    def go(node: Node, path: tuple[str, ...]) -> Node:
        if isinstance(node, Mapping):
            entries = tuple(
                Entry(key, place, go(value, (*path, "*" if path in NAMED else key)))
                for key, place, value in node.entries
            )
            made = Watched(node.place, entries)
            paths[id(made)] = path
            return made
        if isinstance(node, Sequence):
            return Sequence(node.place, tuple(go(item, path) for item in node.items))
        return node

    made = go(node, ())
    assert isinstance(made, Mapping)
    return made


def keys_at(node: Node, path: tuple[str, ...] = ()) -> Iterable[tuple[tuple[str, ...], str]]:
    if isinstance(node, Mapping):
        for entry in node.entries:
            yield path, entry.key
            yield from keys_at(entry.value, (*path, "*" if path in NAMED else entry.key))
    elif isinstance(node, Sequence):
        for item in node.items:
            yield from keys_at(item, path)


def find_missing(text: str, read: Callable[[Mapping], object], top: Iterable[str]) -> set[str]:
    """Keys that were asked for and stand nowhere at that place, nor in a comment."""
    node = parse(text)
    asked: Asked = {}
    read(watch(node, asked))
    shown: Asked = {}
    for path, key in keys_at(node):
        shown.setdefault(path, set()).add(key)
    for path, like in ALIKE.items():
        shown[path] = shown.get(path, set()) | shown.get(like, set())
    comments = set(
        re.findall(r"([a-z_]+):", " ".join(line.partition("#")[2] for line in text.split("\n")))
    )
    return {
        ".".join((*path, key))
        for path, keys in asked.items()
        if path not in NAMED
        for key in keys - shown.get(path, set()) - comments
        if path or key in top
    }


def known_beside(modules: Iterable[ModuleType]) -> set[str]:
    """Keys that a reader lets stand without reading them: those it hands to `odd_keys`."""
    found = set()
    for module in modules:
        for call in ast.walk(ast.parse(inspect.getsource(module))):
            if (
                isinstance(call, ast.Call)
                and isinstance(call.func, ast.Attribute)
                and call.func.attr == "odd_keys"
            ):
                for item in ast.walk(call.args[0]):
                    if isinstance(item, ast.Constant) and isinstance(item.value, str):
                        found.add(item.value)
    return found


def read_whole(node: Mapping, section: str) -> tuple[Problem, ...]:
    return as_built.read_section_of(node, section)[1]


def test_there_is_one_for_each_section_that_is_read() -> None:
    assert sorted(SECTIONS) == sorted(as_built.SECTIONS)


@pytest.mark.parametrize("section", SECTIONS)
def test_each_is_read_without_a_problem(section: str) -> None:
    text = read_skeleton(section).text
    node = parse(text)
    assert [entry.key for entry in node.entries] == [section]
    # A linkage moves a surface; what else one names of another is held by all together.
    beside = read_skeleton("surfaces").text if section == "linkages" else ""
    assert read_whole(parse(text + beside), section) == ()


@pytest.mark.parametrize("section", SECTIONS)
def test_no_key_of_a_reader_is_missing(section: str) -> None:
    text = read_skeleton(section).text

    def read(node: Mapping) -> object:
        return read_whole(node, section)

    assert find_missing(text, read, (section,)) == set()
    assert known_beside(MODULES[section]) <= set(re.findall(r"([a-z_]+):", text))


def test_a_key_that_is_missing_is_found() -> None:
    text = read_skeleton("joints").text
    without = "".join(
        line for line in text.splitlines(keepends=True) if "least_holding" not in line
    )
    found = find_missing(without, lambda node: read_whole(node, "joints"), ("joints",))
    assert found == {"joints.*.least_holding"}


@pytest.mark.parametrize("name", [*SECTIONS, "programme"])
def test_every_word_of_a_choice_is_named_and_every_line_fits(name: str) -> None:
    text = (read_programme_skeleton() if name == "programme" else read_skeleton(name)).text
    plain = " ".join(text.replace("#", " ").split())
    for words in WORDS.get(name, ()):
        for word in words:
            assert re.search(rf"(?<![\w-]){re.escape(word)}(?![\w-])", plain), word
    assert max(map(len, text.splitlines())) <= 80
    assert text.startswith(f"# {name}: ")
    assert text.endswith("\n")


def test_the_programme_has_every_key_and_no_problem() -> None:
    text = read_programme_skeleton().text
    assert build_programme("x.yaml", "x", parse(text))[1] == ()

    def read(node: Mapping) -> object:
        return build_programme("x.yaml", "x", node)

    top = ("id", "title", "starter", "groups", "tasks")
    assert find_missing(text, read, top) == set()
    assert known_beside(MODULES["programme"]) <= set(re.findall(r"([a-z_]+):", text))


def make_whole(folder: Path) -> Path:
    """A fleet whose kit is all skeletons one below the other, and that follows the programme."""
    return make_fleet(
        folder,
        {
            "kits/skua.yaml": POSITIONS + "".join(item.text for item in read_skeletons()),
            "programmes/own.yaml": read_programme_skeleton().text,
            "stock.yaml": 'items:\n  screw-m4x14-cap: {title: "M4 x 14", count: 9}\n',
            "aircraft/tern/aircraft.yaml": 'title: "Tern"\nkit: "skua"\nprogrammes: ["own"]\n',
            "fleet.yaml": 'schema: 1\nname: "Test fleet"\nhome_zone: UTC\n'
            'part_kinds: {voltage-regulator: ["flights"], gearbox: ["flights"]}\n',
        },
    )


def test_all_together_make_a_kit_without_a_problem(tmp_path: Path) -> None:
    fleet = make_whole(tmp_path)
    assert run_json("check", fleet=fleet)["problems"] == []


@pytest.mark.parametrize(
    ("words", "shown"),
    [
        (("throws", "tern"), "aileron-left"),
        (("fasteners", "tern"), "hatch-screws"),
        (("balance", "tern"), "never weighed"),
        (("leak", "tern"), "gear-air"),
        (("damage", "tern"), "no damage"),
        (("notices", "tern"), "tail-screw"),
        (("worklist", "tern"), "Tern"),
        (("programme", "own"), "regulator-heat"),
        (("due", "tern", "--all"), "morning-look"),
    ],
)
def test_they_work(tmp_path: Path, words: tuple[str, ...], shown: str) -> None:
    result = run(*words, fleet=make_whole(tmp_path))
    assert result.exit_code in (0, 1)
    assert shown in result.out
    assert not result.err


def test_they_are_printed_anywhere(golden: Golden) -> None:
    golden("kit-skeletons", run("kit", "--skeleton").out)
    for item in read_skeletons():
        shown = run("kit", "--skeleton", f" {item.name.upper()} ")
        assert (shown.exit_code, shown.out, shown.err) == (0, item.text, "")
        data = run_json("kit", "--skeleton", item.name)
        assert (data["name"], data["text"]) == (item.name, item.text)
        assert item.about in run("kit", "--skeleton").out
    assert run("programme", "--skeleton").out == read_programme_skeleton().text
    listed = run_json("kit", "--skeleton")["sections"]
    assert [item["section"] for item in listed] == list(SECTIONS)


def test_a_section_that_there_is_not_is_refused_with_the_nearest() -> None:
    with pytest.raises(RegisterError) as caught:
        read_skeleton("linkage")
    assert caught.value.mend == "tailsheaf kit --skeleton linkages"
    assert run("kit", "--skeleton", "qqq").exit_code == 2


def test_scalars_alone_are_not_watched() -> None:
    """The watch changes nothing of what is read."""
    text = read_skeleton("balance").text
    asked: Asked = {}
    assert read_whole(watch(parse(text), asked), "balance") == ()
    assert "forward" in asked[("balance", "limits")]
    assert isinstance(parse("a: 1\n").get("a"), Scalar)
