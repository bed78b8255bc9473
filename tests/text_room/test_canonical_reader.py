"""The fast reader reads nothing otherwise than the careful one."""

from __future__ import annotations

import subprocess
import sys
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from register.text.canonical import read_canonical
from register.text.composing import compose_text
from register.text.emitting import render_yaml
from register.text.guard import check_bytes
from register.text.nodes import Mapping, Node, Plain, Scalar
from register.text.parsing import parse_text
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

PROGRAMME = """\
# One task is one block.
title: "Fan jet"
groups:
  - {name: "field", title: "At the field"}
  - {name: "papers", title: "Papers, and \\"records\\" {all}"}

tasks:
  - id: "pack-capacity"                 # every registered battery, flight packs too
    on: {part_kind: "battery"}
    every:
      - {counter: "charges", amount: 50}   # or half a year

      - {months: 6, early_days: 30}
    start: {when: "install", kinds: ["receiver", "ecu"], not: [{a: 1, b: [[2, x], {}]}, []]}
    # in percent
    reading:                            # one, for now
      - name: "capacity"
        low: 80     # habit
        high: 1.6   #
        steps: [7, 8, 6]
positions:
  engine: {kind: "turbine", required: true}
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

_COMMENTS = st.sampled_from(["", "", "", " # c", "   ## c", "  #", ' # "c" {', " #c", "# c", "  "])
_GOOD_VALUES = st.sampled_from(
    ['"x"', "1", "-2.5", "007", "a b", "[]", "{}", "[1, 2]", '["a", b]', '"\\u00e9"', "", "", ""]
)
_FLOW_KEYS = st.sampled_from(
    ["a", "b", "c", "d", "e", "a.b-c", '"q r"', '"é"', '"e\u0301"', "null"]
)
_FLOW_VALUES = st.sampled_from(
    [
        '"x"',
        '"a, b: {c}] # d"',
        '"\\"q\\""',
        "1",
        "-2.5",
        "true",
        "a b",
        "a (b) -c",
        "é/2",
        "2026-05-01",
    ]
)
_COMMAS = st.sampled_from([", ", ", ", ", ", ", ", ",", " , ", ",  "])
_GAPS = st.sampled_from(["", "", "", "", " ", "  "])
_DAMAGE = st.sampled_from(
    [
        "",
        " ",
        ",",
        ", ",
        ":",
        ": ",
        "{",
        "}",
        "[",
        "]",
        "[]",
        "{}",
        '"',
        "'",
        "#",
        " #",
        " # c",
        "\n",
    ]
) | st.sampled_from(
    ["\n  ", "&a ", "*a", "!t ", "? ", "- ", "-", "|", "%", "\t", "\\", "a: 1, ", "<<: "]
)


@st.composite
def _flow_lists(draw: st.DrawFn, inner: st.SearchStrategy[str]) -> str:
    items = draw(st.lists(inner, max_size=4))
    return f"[{draw(_GAPS)}{draw(_COMMAS).join(items)}{draw(_GAPS)}]"


@st.composite
def _flow_mappings(draw: st.DrawFn, inner: st.SearchStrategy[str]) -> str:
    keys = draw(st.lists(_FLOW_KEYS, max_size=4, unique=draw(st.integers(0, 9)) > 0))
    pairs = [f"{key}: {draw(inner)}" for key in keys]
    return f"{{{draw(_GAPS)}{draw(_COMMAS).join(pairs)}{draw(_GAPS)}}}"


FLOW = st.recursive(
    _FLOW_VALUES, lambda inner: _flow_lists(inner) | _flow_mappings(inner), max_leaves=10
)


@st.composite
def damaged(draw: st.DrawFn, text: str) -> str:
    """The text with one or two small changes."""
    for _ in range(draw(st.integers(1, 2))):
        at = draw(st.integers(0, len(text)))
        put = draw(_DAMAGE | st.text(max_size=2))
        text = text[:at] + put + text[at + draw(st.integers(0, 3)) :]
    return text


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
        value = draw(_GOOD_VALUES | FLOW)
        value += draw(_COMMENTS) if draw(st.integers(0, 3)) == 0 else ""
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


def test_a_programme_by_hand_is_read_with_its_places() -> None:
    node = read_canonical(FILE, PROGRAMME)
    assert node is not None
    assert node == careful(PROGRAMME)


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


@settings(max_examples=500, deadline=None)
@given(st.sampled_from([RECORD, PROGRAMME]).flatmap(damaged))
def test_a_damaged_record_is_read_the_same_or_declined(text: str) -> None:
    node = read_canonical(FILE, text)
    if node is not None:
        assert careful(text) == node


@settings(max_examples=500, deadline=None)
@given(FLOW.flatmap(damaged), _COMMENTS)
@example("[a, b", "")
@example("[a #b]", "")
@example("{a: 1, a: 2}", "")
@example("[1, ]", "")
@example("{a: 1}}", "")
@example("{a: 1}: b", "")
@example("{a: 1} b", "")
@example("[a: 1]", "")
@example("{a}", "")
@example("{a: , b: 1}", "")
@example("{a:1}", "")
@example('{"a":1}', "")
@example("[1,000]", "")
def test_a_damaged_value_between_brackets_is_read_the_same_or_declined(
    value: str, comment: str
) -> None:
    for text in (f"k: {value}{comment}\n", f"k:\n  - {value}{comment}\n  - m: {value}\n"):
        node = read_canonical(FILE, text)
        if node is not None:
            assert careful(text) == node


@settings(max_examples=300, deadline=None)
@given(FLOW, st.sampled_from(["", " # c", "    #", "   ## {"]))
def test_values_between_brackets_are_accepted(value: str, comment: str) -> None:
    text = f"k: {value}{comment}\nm:\n  - {value}\n  - n: {value}\n"
    judged = careful(text)
    if isinstance(judged, Mapping):
        assert read_canonical(FILE, text) == judged
    else:
        # Keys drawn twice within one mapping.
        assert isinstance(judged, list)
        assert {problem.code for problem in judged} == {"yaml-duplicate-key"}


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("a: 1 #5 is better\n", "value-cut-by-comment"),
        ("a:\n  - 1 #5\n", "value-cut-by-comment"),
        ("a: #5\n", "value-is-comment"),
        ("a: # five\nb: 1\n", "value-is-comment"),
        ("a:\n  - # five\n", "value-is-comment"),
        ("a: {b: 1, b: 2}\n", "yaml-duplicate-key"),
    ],
)
def test_a_comment_or_key_that_is_doubtful_is_left_to_the_careful_reader(
    text: str, code: str
) -> None:
    assert read_canonical(FILE, text) is None
    assert [problem.code for problem in parse_text(FILE, text.encode()).problems] == [code]


def test_a_comment_after_a_key_is_no_value_when_lines_follow() -> None:
    text = "a:   # five\n  b: 1\nc: # d\n  - # e\n    f: 2 # g\n"
    assert read_canonical(FILE, text) == careful(text)
    assert isinstance(careful(text), Mapping)


def test_every_starter_and_the_whole_example_fleet_are_accepted() -> None:
    top = Path(__file__).parents[2]
    paths = [*(top / "register/starters").glob("*.yaml"), *(top / "example-fleet").rglob("*.yaml")]
    assert len(paths) > 100
    texts = {path: path.read_text("utf-8") for path in paths}
    assert [path for path, text in texts.items() if read_canonical(FILE, text) is None] == []
    # The careful reader takes seconds for all of them: those with brackets, and a few more.
    chosen = [path for path in paths if "{" in texts[path]]
    for path in chosen + paths[::40]:
        assert read_canonical(FILE, texts[path]) == careful(texts[path]), path


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
    for brackets in (
        "{a: " * (deep - 2) + "1" + "}" * (deep - 2),
        "[" * (deep - 2) + "]" * (deep - 2),
    ):
        text = f"a:\n  b: {brackets}\n"
        assert (read_canonical(FILE, text) is not None) == (deep <= 12)
        assert isinstance(careful(text), Mapping) == (deep <= 12)


def test_reading_a_canonical_record_imports_no_yaml_library() -> None:
    code = (
        "import sys\n"
        "from register.text.parsing import parse_text\n"
        f"assert parse_text('f', {RECORD.encode()!r}).node is not None\n"
        f"assert parse_text('f', {PROGRAMME.encode()!r}).node is not None\n"
        "assert not [name for name in sys.modules if name.startswith('ruamel')]\n"
        "parse_text('f', b\"a: 'b'\")\n"
        "assert 'ruamel.yaml' in sys.modules\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
