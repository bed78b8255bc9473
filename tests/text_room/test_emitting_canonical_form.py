"""What is written is the one canonical form, and reads back as the same data."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from register.text.editing import read_plain
from register.text.emitting import render_yaml
from register.text.nodes import Plain
from register.text.parsing import parse_text
from register.trouble import RegisterError

SCALARS: st.SearchStrategy[Plain] = (
    st.text(max_size=10)
    | st.text(alphabet='"\\\n\t\r\x1b\x85\u2028\u2029\ufeff\u202e #:-', max_size=6)
    | st.integers()
    | st.booleans()
    | st.none()
    | st.decimals(allow_nan=False, allow_infinity=False, min_value=-(10**30), max_value=10**30)
)
NAMES = st.from_regex(re.compile(r"[a-z_][a-z0-9_-]{0,8}", re.ASCII), fullmatch=True) | st.text(
    alphabet='ab 1:#"\\', min_size=1, max_size=5
)
DATA: st.SearchStrategy[dict[str, Plain]] = st.dictionaries(
    NAMES,
    st.recursive(
        SCALARS,
        lambda inner: st.lists(inner, max_size=4) | st.dictionaries(NAMES, inner, max_size=4),
        max_leaves=10,
    ),
    max_size=5,
)


def without_none(value: Plain) -> Plain:
    """The data as the writer promises to keep it: keys without a value are left out."""
    if isinstance(value, dict):
        return {key: without_none(item) for key, item in value.items() if item is not None}
    if isinstance(value, list):
        return [without_none(item) for item in value]
    return value


def same(one: Plain, other: Plain) -> bool:
    """Equal, and of the same type: 1 is not true."""
    if isinstance(one, dict) and isinstance(other, dict):
        return list(one) == list(other) and all(same(one[key], other[key]) for key in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(same, one, other))
    if isinstance(one, (bool, str)) or isinstance(other, (bool, str)):
        return type(one) is type(other) and one == other
    return one == other


@settings(max_examples=250, deadline=None)
@given(DATA)
@example({"a": [None, {"b": None}, [], [[]], [[1], ["x"]]]})
@example({"on": "no", "null": True, "12": "12:30", "a b": "#5 bolt"})
@example({"a": "\x85\u2028\U0001f600\x7f\x9b\ufffe"})
def test_what_is_written_reads_back_the_same(data: dict[str, Plain]) -> None:
    text = render_yaml(data)
    parsed = parse_text("f", text.encode())
    assert [problem for problem in parsed.problems if problem.level == "error"] == []
    assert parsed.node is not None
    assert same(read_plain(parsed.node), without_none(data))


@settings(max_examples=60, deadline=None)
@given(DATA)
def test_the_text_is_lines_without_hidden_characters(data: dict[str, Plain]) -> None:
    text = render_yaml(data)
    assert text.endswith("\n")
    assert not text.endswith("\n\n")
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\ufeff]", text)
    assert not re.search(r"[ \t]$", text, re.MULTILINE)


def test_the_canonical_form() -> None:
    data: dict[str, Plain] = {
        "record": "flights",
        "when": "2026-05-16",
        "count": 3,
        "minutes": Decimal("24.50"),
        "each": [7, 8, 6],
        "checked": True,
        "uses": ["pack-1", "pack-2"],
        "after": None,
        "snags": [],
        "extra": {},
        "opening": {"counters": {"flights": {"value": 150, "known": None}}},
        "tasks": [{"task": "leak", "at": {"flights": 100}}, {"task": "wash"}],
        "note": 'a "b" \\ c\nd',
    }
    assert render_yaml(data) == (
        'record: "flights"\n'
        'when: "2026-05-16"\n'
        "count: 3\n"
        "minutes: 24.50\n"
        "each: [7, 8, 6]\n"
        "checked: true\n"
        "uses:\n"
        '  - "pack-1"\n'
        '  - "pack-2"\n'
        "snags: []\n"
        "extra: {}\n"
        "opening:\n"
        "  counters:\n"
        "    flights:\n"
        "      value: 150\n"
        "tasks:\n"
        '  - task: "leak"\n'
        "    at:\n"
        "      flights: 100\n"
        '  - task: "wash"\n'
        'note: "a \\"b\\" \\\\ c\\nd"\n'
    )


@pytest.mark.parametrize(
    ("data", "code"),
    [
        ({"a": "\ud83d"}, "lone-surrogate"),
        ({"\udc00": 1}, "lone-surrogate"),
        ({"a": Decimal("NaN")}, "number-impossible"),
        ({"a": [Decimal("Infinity")]}, "number-impossible"),
        ({"a": Decimal("1E+999999")}, "number-impossible"),
        ({"a": 10**5000}, "number-impossible"),
        ({"k" * 101: 1}, "key-too-long"),
    ],
)
def test_data_no_file_can_hold_is_refused(data: dict[str, Plain], code: str) -> None:
    with pytest.raises(RegisterError) as caught:
        render_yaml(data)
    assert caught.value.code == code
