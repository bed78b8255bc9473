"""The fast reader reads nothing otherwise than the careful one."""

from __future__ import annotations

import subprocess
import sys
from decimal import Decimal

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from register.text.canonical import read_canonical
from register.text.composing import compose_text
from register.text.emitting import render_yaml
from register.text.guard import check_bytes
from register.text.nodes import Mapping, Node, Plain, Scalar
from register.trouble import Problem, RegisterError

FILE = "aircraft/heron/aircraft.yaml"

RECORD = """\
record: "flights"
id: "a7k2qd9x3m"
# how the day went
count: 3
minutes: 24.5
each: [7, 8, 9]
uses:
  - "pack-1"
  - "pack-2"
opening:
  counters:
    flights:
      value: 150
      known: true
  tasks:
    - task: "leak"
      at:
        flights: 100
    - task: "wash"

snags: []
note: "gusty, \\"left\\" wing low"
"""

_INDENTS = st.sampled_from(["", "", "  ", "  ", "    ", "      ", " ", "   ", "\t"])
_DASHES = st.sampled_from(["", "", "", "- ", "- ", "-", "- - ", "-  "])
_KEYS = st.sampled_from(
    ["a: ", "b: ", "c: ", "a:", "b:", '"q r": ', '"é": ', '"e\u0301": ', '"\\u00e9": ', "", "d : "]
) | st.sampled_from(
    ["? ", "a b: ", "a:  ", "null: ", "on: ", "größe: ", "'s': ", "<<: ", "-x: ", "a.b-c: "]
)
_PLAIN_VALUES = st.sampled_from(
    ['"x"', "1", "-2.5", "007", "yes", "a b", "[]", "{}", "[1, 2]", '["a", b]', "", "[a,b]", '"']
)
_ODD_VALUES = st.sampled_from(
    ["# c", "#c", '"x" # c', "1 #c", "1 # c", "a  b", "x:", "x: y", "a, b", "[1, 2", "[[1]]", "|"]
) | st.sampled_from(
    ["{a: 1}", "&x 1", "*x", "!t 1", "@a", "%a", "- 1", "--- x", "---", "...", "a/b-c_d+e", "é ß"]
)
_HOSTILE_VALUES = st.sampled_from(
    ['"a\\nb"', '"\\ud83d"', '"\\x41"', '"\\""', '"\\\\"', '"a" b', "'x'", "it's", "a(b)", "?x"]
) | st.sampled_from(
    [" 1", "1 ", "\t1", "1\t", '"\t"', "~", "null", ">", "12:30", "[ 1]", "[1,]", '"a', "-", "--"]
)
_VALUES = _PLAIN_VALUES | _ODD_VALUES | _HOSTILE_VALUES
_LINES = st.builds(lambda *parts: "".join(parts), _INDENTS, _DASHES, _KEYS, _VALUES) | (
    st.sampled_from(["", "  ", "# c", "   # c", "---", "...", "%YAML 1.2", "\t", '# "', "a: |"])
)
_ENDS = st.sampled_from(["\n", "", "\n\n", "\n# c", "\n  "])
HOSTILE = st.builds(lambda lines, end: "\n".join(lines) + end, st.lists(_LINES, max_size=9), _ENDS)

_GOOD_VALUES = st.sampled_from(
    ['"x"', "1", "-2.5", "007", "a b", "[]", "{}", "[1, 2]", '["a", b]', '"\\u00e9"', "", "", ""]
)


@st.composite
def near_canonical(draw: st.DrawFn) -> str:
    """Lines that mostly fit each other, so that most texts are accepted and compared."""
    lines: list[str] = []
    columns = [0]
    lists = [False]
    for number in range(draw(st.integers(1, 12))):
        if lines and lines[-1].endswith((":", "-")) and draw(st.booleans()):
            columns.append(columns[-1] + 2)
            lists.append(draw(st.booleans()))
        keep = draw(st.integers(1, len(columns)) | st.just(len(columns)))
        del columns[keep:], lists[keep:]
        value = draw(_GOOD_VALUES)
        key = f"k{number}:" + (f" {value}" if value else "")
        if not lists[-1]:
            lines.append(" " * columns[-1] + key)
        elif draw(st.booleans()):
            lines.append(" " * columns[-1] + f"- {key}")
            columns.append(columns[-1] + 2)
            lists.append(False)
        else:
            lines.append(" " * columns[-1] + f"- {value}".rstrip())
        if draw(st.integers(0, 9)) == 0:
            lines.append(draw(st.sampled_from(["", "  # c", "# c: d", "   "])))
    if draw(st.integers(0, 3)) == 0:
        lines[draw(st.integers(0, len(lines) - 1))] = draw(_LINES)
    return "\n".join(lines) + draw(_ENDS)


# Nested on purpose, so that most of what is drawn is accepted and compared.
_SCALARS: st.SearchStrategy[Plain] = (
    st.text(max_size=8)
    | st.integers()
    | st.booleans()
    | st.decimals(allow_nan=False, allow_infinity=False, places=3)
)
_NAMES = st.text(min_size=1, max_size=6) | st.sampled_from(["a", "on", "null", "no", "é", "007"])
DATA = st.dictionaries(
    _NAMES,
    st.recursive(
        _SCALARS,
        lambda inner: st.lists(inner, max_size=4) | st.dictionaries(_NAMES, inner, max_size=4),
        max_leaves=12,
    ),
    min_size=1,
    max_size=6,
)


def careful(text: str) -> Node | list[Problem] | None:
    """What the careful reader makes of a text: its tree, or why it is refused."""
    checked, problems = check_bytes(FILE, text.encode())
    if checked is None:
        return list(problems)
    composed = compose_text(FILE, checked)
    return composed.problems if composed.problems else composed.node


def render_or_none(data: dict[str, Plain]) -> str | None:
    try:
        return render_yaml(data)
    except RegisterError:
        return None


def test_a_record_is_read_with_its_places() -> None:
    node = read_canonical(FILE, RECORD)
    assert node is not None
    assert node == careful(RECORD)
    note = node.get("note")
    assert isinstance(note, Scalar)
    assert (note.text, note.plain) == ('gusty, "left" wing low', False)
    assert (note.place.line, note.place.column, note.place.end_column) == (22, 7, 33)


@settings(max_examples=600, deadline=None)
@given(near_canonical() | HOSTILE)
@example('"é": 1\n"e\u0301": 2\n')
@example("a: b\n  c\n")
@example("a: b\n\n# c\n  d: e\n")
@example("a:\n  - b: 1\n    c: 2\n  -\n  - d\n")
@example("a:\n  -\n    - 1\n  - - 2\n")
@example("a:\n- 1\n")
@example("a:\n\n  # c\n  b:\nc:\n")
def test_near_canonical_text_is_read_the_same_or_declined(text: str) -> None:
    node = read_canonical(FILE, text)
    if node is not None:
        assert careful(text) == node


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_a_damaged_record_is_read_the_same_or_declined(data: st.DataObject) -> None:
    at = data.draw(st.integers(0, len(RECORD)))
    cut = data.draw(st.integers(0, 3))
    put = data.draw(st.text(max_size=3) | st.sampled_from(["\n", "  ", ": ", "#", '"', "- ", "\\"]))
    text = RECORD[:at] + put + RECORD[at + cut :]
    node = read_canonical(FILE, text)
    if node is not None:
        assert careful(text) == node


@settings(max_examples=300, deadline=None)
@given(DATA)
@example({"a": {"b": [{"c": [[1, "x"], []]}, {}]}})
@example({"n": [Decimal("1E+3"), Decimal("-0.0")], "m": list(range(20))})
def test_whatever_we_write_is_accepted(data: dict[str, Plain]) -> None:
    text = render_or_none(data)
    if text is None:
        return
    judged = careful(text)
    if isinstance(judged, Mapping):
        assert read_canonical(FILE, text) == judged
    elif isinstance(judged, list):
        # Keys that differ only in how an accent is composed, and nesting too deep.
        assert {problem.code for problem in judged} <= {"yaml-duplicate-key", "yaml-depth"}


@pytest.mark.parametrize("deep", [11, 12, 13])
def test_both_readers_stop_at_the_same_depth(deep: int) -> None:
    text = "".join(f"{'  ' * level}a:\n" for level in range(deep - 1))
    text += "  " * (deep - 1) + "a: 1\n"
    assert (read_canonical(FILE, text) is not None) == (deep <= 12)
    assert isinstance(careful(text), Mapping) == (deep <= 12)


def test_reading_a_canonical_record_imports_no_yaml_library() -> None:
    code = (
        "import sys\n"
        "from register.text.parsing import parse_text\n"
        f"assert parse_text('f', {RECORD.encode()!r}).node is not None\n"
        "assert not [name for name in sys.modules if name.startswith('ruamel')]\n"
        "parse_text('f', b\"a: 'b'\")\n"
        "assert 'ruamel.yaml' in sys.modules\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
