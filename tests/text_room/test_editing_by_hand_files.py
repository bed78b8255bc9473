"""Edits of hand-made files: the value changes, everything else stays byte for byte."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from register.text.editing import edit_append, edit_remove, edit_set, read_plain
from register.text.nodes import Plain
from register.text.parsing import parse_text
from register.trouble import Exit, RegisterError

FILE = "aircraft/heron/aircraft.yaml"

HERON = """\
# The heron, second airframe of the kit.
id: k7q3x9mw2a   # never change this
title: "Heron"

programmes: [yearly, jets]   # in this order
stage: in-service
opening:
  as_of: '2025-03-01'
  # read from the old notebook
  counters:
    flights: {value: 150, known: true}
    landings:
      value: 160
      known: estimated   # a guess
  tasks:
    # the big one
    - task: leak
      at: {flights: 100}
    - task: wash
    # still to come: the hinges
positions:
  engine: {kind: turbine, required: true}
colour_of_the_nose: signal red
remarks: |
  The left wing
  # is not a comment here
  was replaced.
lines: []
spare:
# the end
"""


def data_of(data: bytes) -> Plain:
    node = parse_text(FILE, data).node
    assert node is not None
    return read_plain(node)


def changed_lines(before: str, after: bytes) -> tuple[list[str], list[str]]:
    """The lines only in the one and only in the other text, equal ends taken away."""
    old, new = before.splitlines(), after.decode().splitlines()
    while old and new and old[0] == new[0]:
        del old[0], new[0]
    while old and new and old[-1] == new[-1]:
        del old[-1], new[-1]
    return old, new


@pytest.mark.parametrize(
    ("path", "value", "old", "new"),
    [
        (("title",), "Heron II", ['title: "Heron"'], ['title: "Heron II"']),
        (
            ("id",),
            "x9",
            ["id: k7q3x9mw2a   # never change this"],
            ['id: "x9"   # never change this'],
        ),
        (
            ("opening", "counters", "landings", "known"),
            True,
            ["      known: estimated   # a guess"],
            ["      known: true   # a guess"],
        ),
        (
            ("opening", "counters", "flights", "value"),
            151,
            ["    flights: {value: 150, known: true}"],
            ["    flights: {value: 151, known: true}"],
        ),
        (
            ("opening", "counters", "flights", "note"),
            "a, b",
            ["    flights: {value: 150, known: true}"],
            ['    flights: {value: 150, known: true, note: "a, b"}'],
        ),
        (("opening", "counters", "tows"), {"value": 1}, [], ["    tows:", "      value: 1"]),
        (("opening", "tasks", 1, "subject"), "tank", [], ['      subject: "tank"']),
        (("opening", "tasks", 0, "task"), "fuel", ["    - task: leak"], ['    - task: "fuel"']),
        (("positions", "gear"), {}, [], ["  gear: {}"]),
        (("spare",), "bolt", ["spare:"], ['spare: "bolt"']),
        (("spare", "deep", "er"), 1, [], ["  deep:", "    er: 1"]),
        (("spare",), ["a", "b"], [], ['  - "a"', '  - "b"']),
        (("lines",), [7, 8], ["lines: []"], ["lines: [7, 8]"]),
        (
            ("programmes",),
            ["yearly"],
            ["programmes: [yearly, jets]   # in this order"],
            ["programmes:   # in this order", '  - "yearly"'],
        ),
        (
            ("remarks",),
            "none",
            ["remarks: |", "  The left wing", "  # is not a comment here", "  was replaced."],
            ['remarks: "none"'],
        ),
        (("new_key",), "x", [], ['new_key: "x"']),
        (("stage",), None, ["stage: in-service"], ["stage:"]),
    ],
)
def test_setting_changes_only_the_value(
    path: tuple[str | int, ...], value: Plain, old: list[str], new: list[str]
) -> None:
    after = edit_set(FILE, HERON.encode(), path, value)
    assert changed_lines(HERON, after) == (old, new)


@pytest.mark.parametrize(
    ("path", "item", "old", "new"),
    [
        (
            ("programmes",),
            "tug",
            ["programmes: [yearly, jets]   # in this order"],
            ['programmes: [yearly, jets, "tug"]   # in this order'],
        ),
        (("lines",), "air", ["lines: []"], ["lines:", '  - "air"']),
        (("lines",), 3, ["lines: []"], ["lines: [3]"]),
        (("spare",), "pin", [], ['  - "pin"']),
        (("joints",), {"name": "wing"}, [], ["joints:", '  - name: "wing"']),
        (("opening", "tasks"), {"task": "x"}, [], ['    - task: "x"']),
        (("opening", "as_list"), 1, [], ["  as_list: [1]"]),
    ],
)
def test_appending_adds_only_the_item(
    path: tuple[str | int, ...], item: Plain, old: list[str], new: list[str]
) -> None:
    after = edit_append(FILE, HERON.encode(), path, item)
    assert changed_lines(HERON, after) == (old, new)


@pytest.mark.parametrize(
    ("path", "old", "new"),
    [
        (("title",), ['title: "Heron"'], []),
        (
            ("programmes", 0),
            ["programmes: [yearly, jets]   # in this order"],
            ["programmes: [jets]   # in this order"],
        ),
        (
            ("programmes", 1),
            ["programmes: [yearly, jets]   # in this order"],
            ["programmes: [yearly]   # in this order"],
        ),
        (("opening", "tasks", 1), ["    - task: wash"], []),
        (("opening", "tasks", 0), ["    - task: leak", "      at: {flights: 100}"], []),
        (
            ("opening", "tasks", 0, "at"),
            ["      at: {flights: 100}"],
            [],
        ),
        (
            ("opening", "tasks", 0, "task"),
            ["    - task: leak", "      at: {flights: 100}"],
            ["    - at: {flights: 100}"],
        ),
        (
            ("opening", "tasks", 1, "task"),
            ["    - task: wash"],
            ["    - {}"],
        ),
        (
            ("remarks",),
            ["remarks: |", "  The left wing", "  # is not a comment here", "  was replaced."],
            [],
        ),
        (("positions", "engine"), ["positions:", "  engine: {kind: turbine, required: true}"],
         ["positions: {}"]),
    ],
)  # fmt: skip
def test_removing_takes_only_its_own_lines(
    path: tuple[str | int, ...], old: list[str], new: list[str]
) -> None:
    after = edit_remove(FILE, HERON.encode(), path)
    assert changed_lines(HERON, after) == (old, new)


def test_a_comment_inside_what_is_removed_stays() -> None:
    text = "a: 1\nb:\n  # about c\n  c: 2\n  d: 3\ne: 4\n"
    assert edit_remove(FILE, text.encode(), ("b",)) == b"a: 1\n  # about c\ne: 4\n"


def test_an_item_lands_before_the_comment_that_follows() -> None:
    text = "a:\n- x\n# about b\nb: 1\n"
    assert edit_append(FILE, text.encode(), ("a",), "y") == b'a:\n- x\n- "y"\n# about b\nb: 1\n'


def test_the_files_own_indentation_is_kept() -> None:
    text = "a:\n    b: 1\nc:\n- 1\n"
    after = edit_set(FILE, text.encode(), ("d",), {"e": {"f": ["x"]}})
    assert after.decode() == text + 'd:\n    e:\n        f:\n        - "x"\n'


@pytest.mark.parametrize("bom", [b"", b"\xef\xbb\xbf"])
def test_byte_order_mark_and_crlf_stay(bom: bytes) -> None:
    before = bom + b"a: 1\r\n# c\r\nb: 2\r\n"
    assert edit_set(FILE, before, ("a",), 3) == bom + b"a: 3\r\n# c\r\nb: 2\r\n"
    assert edit_set(FILE, before, ("d",), [True]) == before + b"d:\r\n  - true\r\n"
    assert edit_remove(FILE, before, ("b",)) == bom + b"a: 1\r\n# c\r\n"


def test_mixed_line_ends_stay_where_nothing_changes() -> None:
    before = b"a: 1\nb: 2\r\nc: 3\nd: 4\r\ne: 5"
    assert edit_set(FILE, before, ("c",), 9) == b"a: 1\nb: 2\r\nc: 9\nd: 4\r\ne: 5"
    assert edit_set(FILE, before, ("f",), 6) == before + b"\nf: 6"


def test_a_last_line_without_end_gets_one_when_lines_follow() -> None:
    assert edit_set(FILE, b"a: 1\r\nb: 2", ("c",), 3) == b"a: 1\r\nb: 2\r\nc: 3"


@pytest.mark.parametrize(
    ("text", "path"),
    [
        # The comment stands inside what would be replaced.
        ("a:\n  # about b\n  b: 1\nc: 2\n", ("a",)),
        ("a: |  # about a\n  text\n", ("a",)),
        ("? a\n: 1\nb: 2\n", ("a", 0)),
        ("a:\n  - b  # kept\n  - c\n", ("a",)),
    ],
)
def test_an_edit_that_cannot_be_proved_is_refused(text: str, path: tuple[str | int, ...]) -> None:
    with pytest.raises(RegisterError) as caught:
        edit_set(FILE, text.encode(), path, "new")
    assert caught.value.code in ("edit-unsure", "edit-no-such-place")


def test_an_unsure_edit_says_to_do_it_by_hand() -> None:
    with pytest.raises(RegisterError) as caught:
        edit_set(FILE, b"a:\n  # about b\n  b: 1\n", ("a",), 1)
    assert (caught.value.code, caught.value.exit_code) == ("edit-unsure", Exit.REFUSED)
    assert "text editor" in caught.value.mend


@pytest.mark.parametrize("data", [b"", b"# only\n", b"a: [1\n", b"a: 1\na: 2\n", b"\xff", b"- 1\n"])
def test_a_file_with_errors_is_not_edited(data: bytes) -> None:
    with pytest.raises(RegisterError) as caught:
        edit_set(FILE, data, ("a",), 1)
    assert (caught.value.code, caught.value.exit_code) == ("edit-unreadable", Exit.REFUSED)


@pytest.mark.parametrize("path", [(), ("title", "x"), ("programmes", 7), ("opening", 0), ("x", 0)])
def test_a_path_that_leads_nowhere_is_an_error(path: tuple[str | int, ...]) -> None:
    assert attempt(lambda: edit_set(FILE, HERON.encode(), path, 1)) == "edit-no-such-place"
    assert attempt(lambda: edit_remove(FILE, HERON.encode(), path)) == "edit-no-such-place"


def test_appending_to_a_text_is_an_error() -> None:
    with pytest.raises(RegisterError) as caught:
        edit_append(FILE, HERON.encode(), ("title",), 1)
    assert caught.value.code == "edit-no-such-place"


def test_plain_values_keep_what_is_text() -> None:
    node = parse_text(FILE, b"a: 007\nb: no\nc: 12\nd: 1.50\ne: true\nf:\ng: '5'\nh: 1e3\n").node
    assert node is not None
    assert {key: str(value) for key, value in _items(read_plain(node))} == {
        "a": "007", "b": "no", "c": "12", "d": "1.50", "e": "True", "f": "None", "g": "5",
        "h": "1e3",
    }  # fmt: skip
    assert isinstance(_get(read_plain(node), "c"), int)
    assert isinstance(_get(read_plain(node), "g"), str)


def _items(value: Plain) -> list[tuple[str, Plain]]:
    assert isinstance(value, dict)
    return list(value.items())


def _get(value: Plain, key: str) -> Plain:
    assert isinstance(value, dict)
    return value[key]


PATHS: st.SearchStrategy[tuple[str | int, ...]] = (
    st.sampled_from(["title", "programmes", "opening", "new", "spare", "remarks", "lines"]).map(
        lambda key: (key,)
    )
    | st.sampled_from(["tasks", "counters", "other"]).map(lambda key: ("opening", key))
    | st.sampled_from(
        [("programmes", 0), ("opening", "tasks", 0), ("opening", "tasks", 1), ("positions",)]
    )
    | st.sampled_from(
        [("opening", "tasks", 1, "task"), ("opening", "counters", "flights"), ("spare", "x", "y")]
    )
    | st.sampled_from([("opening", "counters", "landings"), ("positions", "engine", "kind")])
    | st.just(("opening", "tasks", 0, "at"))
)
VALUES: st.SearchStrategy[Plain] = st.recursive(
    st.text(max_size=6) | st.integers() | st.booleans(),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from("abc"), inner, max_size=3)
    ),
    max_leaves=6,
)


@settings(max_examples=200, deadline=None)
@given(PATHS, VALUES, st.booleans())
@example(("spare",), [["a"], []], True)
def test_an_edit_gives_what_was_meant_or_is_refused(
    path: tuple[str | int, ...], value: Plain, crlf: bool
) -> None:
    before = HERON.replace("\n", "\r\n").encode() if crlf else HERON.encode()
    after = attempt(lambda: edit_set(FILE, before, path, value))
    if isinstance(after, str):
        assert after == "edit-unsure"
        return
    assert follow(data_of(after), path) == value
    if not crlf:
        old, new = changed_lines(HERON, after)
        assert len(old) <= 20
        assert after.decode().count("\n") == HERON.count("\n") - len(old) + len(new)
    comments = [line for line in HERON.splitlines() if line.strip().startswith("# ")]
    kept = [line for line in after.decode().splitlines() if line.strip().startswith("# ")]
    if path != ("remarks",):
        assert kept == comments


@settings(max_examples=100, deadline=None)
@given(PATHS, VALUES)
def test_an_appended_item_is_the_last_one(path: tuple[str | int, ...], item: Plain) -> None:
    after = attempt(lambda: edit_append(FILE, HERON.encode(), path, item))
    if isinstance(after, str):
        assert after in ("edit-unsure", "edit-no-such-place")
        return
    found = follow(data_of(after), path)
    assert isinstance(found, list)
    assert found[-1] == item


def attempt(edit: Callable[[], bytes]) -> bytes | str:
    """The new bytes, or the code of the refusal."""
    try:
        return edit()
    except RegisterError as error:
        return error.code


def follow(data: Plain, path: tuple[str | int, ...]) -> Plain:
    for part in path:
        if isinstance(data, list):
            assert isinstance(part, int)
            data = data[part]
        else:
            assert isinstance(data, dict)
            data = data[str(part)]
    return data
