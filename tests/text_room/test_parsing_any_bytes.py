"""Any bytes give an answer; every refused part of YAML has its name, place and mend."""

from __future__ import annotations

import random
import time
import tracemalloc

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from register.text.nodes import Mapping, Node, Scalar, Sequence
from register.text.parsing import MAX_BYTES, Parsed, parse_text, reads_as, split_lines
from register.trouble import Place

FILE = "kits/tern.yaml"


def found(text: str) -> list[tuple[str, int, int]]:
    """Code, line and column of each problem."""
    return [
        (p.code, p.place.line, p.place.column) for p in parse_text(FILE, text.encode()).problems
    ]


def value_of(parsed: Parsed, key: str) -> Node:
    assert parsed.node is not None
    node = parsed.node.get(key)
    assert node is not None
    return node


def check_shape(data: bytes, parsed: Parsed) -> None:
    """What holds of every answer: an error or a tree, and places inside the file."""
    errors = [problem for problem in parsed.problems if problem.level == "error"]
    assert parsed.node is not None or errors
    lines = max(data.count(b"\n"), len(split_lines(data))) + 1
    for problem in parsed.problems:
        assert problem.says
        assert problem.mend
        assert problem.place.file == FILE
        assert 1 <= problem.place.line <= lines
        assert problem.place.column >= 1
    assert list(parsed.problems) == sorted(parsed.problems, key=lambda problem: problem.order)


@pytest.mark.parametrize(
    ("text", "problems"),
    [
        ("a: !!python/object/apply:os.system [x]\n", [("yaml-tag", 1, 4)]),
        ("a: !foo 1\n", [("yaml-tag", 1, 4)]),
        ("a: !u!foo 1\n", [("yaml-tag", 1, 4)]),
        ("a: &x 1\nb: *x\n", [("yaml-anchor", 1, 4), ("yaml-anchor", 2, 4)]),
        ("a: *x\n", [("yaml-anchor", 1, 4)]),
        ("<<: {b: 1}\n", [("yaml-anchor", 1, 1)]),
        ("%YAML 1.1\n---\na: no\n", [("yaml-directive", 1, 1)]),
        ("%TAG ! x\n---\na: 1\n", [("yaml-directive", 1, 1)]),
        ("%FOO\n---\na: 1\n", [("yaml-directive", 1, 1)]),
        ("a: 1\n---\nb: 2\n", [("yaml-documents", 2, 1)]),
        ("a: 1\nb: 2\na: 3\n", [("yaml-duplicate-key", 3, 1)]),
        ("a:\n  b: 1\n  b: 1\n", [("yaml-duplicate-key", 3, 3)]),
        ('"é": 1\n"e\u0301": 2\n', [("yaml-duplicate-key", 2, 1)]),
        ("[a]: 1\n", [("yaml-key", 1, 1)]),
        (": 1\n", [("yaml-key", 1, 1)]),
        ("", [("yaml-empty", 1, 1)]),
        ("# only words\n\n", [("yaml-empty", 1, 1)]),
        ("null\n", [("yaml-empty", 1, 1)]),
        ("---\n", [("yaml-empty", 1, 1)]),
        ("- a\n- b\n", [("yaml-not-a-mapping", 1, 1)]),
        ("just words\n", [("yaml-not-a-mapping", 1, 1)]),
        ("a:\n\tb: 1\n", [("yaml-syntax", 2, 1)]),
        ("a: 1\nb: [1, 2\nc: 3\n", [("yaml-syntax", 2, 4)]),
        ("a: {b: 1\n", [("yaml-syntax", 1, 4)]),
        ('a: 1\nb: "words\nc: 3\n', [("yaml-syntax", 2, 4)]),
        ("a: b: c\n", [("yaml-syntax", 1, 5)]),
        ("a: @home\n", [("yaml-syntax", 1, 4)]),
        ("a: %x\n", [("yaml-syntax", 1, 4)]),
        ("a: `x`\n", [("yaml-syntax", 1, 4)]),
        ('a: "x" y\n', [("yaml-syntax", 1, 8)]),
        ('a: "\\q"\n', [("yaml-syntax", 1, 6)]),
        ("a: - b\n", [("yaml-syntax", 1, 4)]),
        ("a: 1\n  b: 2\n", [("yaml-syntax", 2, 4)]),
        ("a: 1\nwords\nb: 2\n", [("yaml-syntax", 2, 1)]),
        ("  a: 1\nb: 2\n", [("yaml-syntax", 2, 1)]),
        ("a: #5 bolt\n", [("value-is-comment", 1, 4)]),
        ("a:\n  - #5 bolt\n", [("value-is-comment", 2, 5)]),
        ("a: bolt #5\n", [("value-cut-by-comment", 1, 9)]),
        ("a: bolt # the fifth\n", []),
        ("a:\n  # c\n  b: 1\n", []),
        ("a: 1\n<<<<<<< HEAD\nb: 2\n=======\nb: 3\n>>>>>>> other\n", [("conflict-markers", 2, 1)]),
        ("a: 1\nb: \x1b[31mred\n", [("control-character", 2, 4)]),
        ("a: x\x85y\n", [("line-separator", 1, 5)]),
        ("a: x\u2028y\u2029z\n", [("line-separator", 1, 5), ("line-separator", 1, 7)]),
        ("a: 1\rb: 2\n", [("control-character", 1, 5)]),
        ("a: \ufeffx\n", [("control-character", 1, 4)]),
        ('a: 1\nb: "\\ud83d"\n', [("lone-surrogate", 2, 4)]),
        ('a: "\\e[31m"\n', [("control-character", 1, 4)]),
        ("a: 1\x00\n", [("nul-byte", 1, 5)]),
    ],
)
def test_each_wrong_text_is_named_in_its_place(
    text: str, problems: list[tuple[str, int, int]]
) -> None:
    assert found(text) == problems
    check_shape(text.encode(), parse_text(FILE, text.encode()))


@pytest.mark.parametrize(
    ("text", "mend"),
    [
        ("serial: @home\n", 'serial: "@home"'),
        ("note: wing: left\n", 'note: "wing: left"'),
        ("note: #5 bolt\n", 'note: "#5 bolt"'),
        ("note: screw #5 lost\n", 'note: "screw #5 lost"'),
        ("notes:\n  - #5 bolt\n", '- "#5 bolt"'),
        ("note: *urgent* look\n", 'write the value itself, or put text in quotes: "*urgent*"'),
        ("note: 50 % : so\n", 'note: "50 % : so"'),
    ],
)
def test_the_mend_is_a_ready_line(text: str, mend: str) -> None:
    assert parse_text(FILE, text.encode()).problems[0].mend == mend


def test_a_duplicate_key_keeps_the_first_and_names_it() -> None:
    parsed = parse_text(FILE, b"a: 1\nb: 2\na: 3\n")
    assert value_of(parsed, "a") == Scalar(Place(FILE, 1, 4, 5), "1", plain=True)
    assert parsed.problems[0].related == (Place(FILE, 1, 1, 2),)


@pytest.mark.parametrize(
    ("data", "code"),
    [
        ("a: 1\n".encode("utf-16"), "not-utf8"),
        ("a: some words\n".encode("utf-16-le"), "not-utf8"),
        ("a: größe\n".encode("latin-1"), "not-utf8"),
        (b"a: \xed\xa0\xbd\n", "not-utf8"),
    ],
)
def test_other_encodings_are_named(data: bytes, code: str) -> None:
    parsed = parse_text(FILE, data)
    assert (parsed.node, [problem.code for problem in parsed.problems]) == (None, [code])


def test_the_byte_that_is_not_utf8_has_its_place() -> None:
    place = parse_text(FILE, "a: 1\nb: größe\n".encode("latin-1")).problems[0].place
    assert (place.line, place.column) == (2, 6)


@pytest.mark.parametrize("body", [b"a: 'x'\nb: [1, {c: d}]\n", b'a: "x"\nb: 1\n'])
def test_byte_order_mark_and_crlf_change_nothing(body: bytes) -> None:
    plain = parse_text(FILE, body)
    assert plain.node is not None
    assert parse_text(FILE, b"\xef\xbb\xbf" + body) == plain
    assert parse_text(FILE, body.replace(b"\n", b"\r\n")) == plain


@pytest.mark.parametrize("word", ["007", "no", "1e3", "12:30", "2026-05-16", "1_000", "~", "0x1F"])
@pytest.mark.parametrize("form", ["a: {}\n", "a: {}  # c\n", "a: [{}]\n", "{{a: {}}}\n"])
def test_plain_values_keep_their_characters(word: str, form: str) -> None:
    node = value_of(parse_text(FILE, form.format(word).encode()), "a")
    scalar = node.items[0] if isinstance(node, Sequence) else node
    assert isinstance(scalar, Scalar)
    assert (scalar.text, scalar.plain) == (word, True)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("a: 'it''s'\n", "it's"),
        ('a: "x\\ty"\n', "x\ty"),
        ("a: |\n  one\n  two\n", "one\ntwo\n"),
        ("a: >-\n  one\n  two\n", "one two"),
    ],
)
def test_quoted_and_block_texts_are_not_plain(text: str, value: str) -> None:
    node = value_of(parse_text(FILE, text.encode()), "a")
    assert isinstance(node, Scalar)
    assert (node.text, node.plain) == (value, False)


def test_places_of_brackets_and_empty_values() -> None:
    text = b"every: [{counter: flights, amount: 25}, 8]\nnone:   # c\nlong: [1,\n  2]\n"
    parsed = parse_text(FILE, text)
    every = value_of(parsed, "every")
    assert isinstance(every, Sequence)
    assert every.place == Place(FILE, 1, 8, 43)
    first = every.items[0]
    assert isinstance(first, Mapping)
    assert first.place == Place(FILE, 1, 9, 39)
    assert first.entries[1].key_place == Place(FILE, 1, 28, 34)
    assert first.entries[1].value.place == Place(FILE, 1, 36, 38)
    assert value_of(parsed, "none") == Scalar(Place(FILE, 2, 6, 6), "", plain=True)
    assert value_of(parsed, "long").place == Place(FILE, 3, 7, 0)


def deep_nest(count: int) -> bytes:
    return b"a: " + b"[" * count + b"]" * count


def alias_bomb() -> bytes:
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x, x]"]
    for level in range(1, 30):
        items = ", ".join([f"*a{level - 1}"] * 10)
        lines.append(f"a{level}: &a{level} [{items}]")
    return "\n".join(lines).encode()


HEAVY = {
    "deep brackets": deep_nest(3_000),
    "very deep brackets": deep_nest(100_000),
    "deep blocks": b"".join(b" " * level + b"a:\n" for level in range(700)),
    "deep dashes": b"- " * 100_000,
    "alias bomb": alias_bomb(),
    "merge bomb": b"a: &a {x: 1}\n" + b"b: {<<: [*a, *a, *a]}\n" * 10_000,
    "open quote": b'a: "' + b"word " * 50_000,
    "one long word": b"a: " + b"x" * 250_000,
    "same key": b"a: 'b'\n" * 30_000,
    "many keys": b"".join(b"k%d: 'b'\n" % at for at in range(20_000)),
    "conflict markers": b"<<<<<<< x\n" * 20_000,
    "control characters": b"a: \x01\n" * 50_000,
    "spaces": b" " * 250_000 + b"'",
    "hash signs": b"#" * 250_000 + b"\x01",
    "colons": b"a:" * 100_000,
    "question marks": b"? " * 100_000,
    "ampersands": b"a: &x\n" * 40_000,
    "commas": b"a: [" + b"1," * 120_000 + b"'']",
}


@pytest.mark.parametrize("name", HEAVY)
def test_bombs_are_refused_quickly(name: str) -> None:
    data = HEAVY[name]
    started = time.process_time()
    parsed = parse_text(FILE, data)
    spent = time.process_time() - started
    assert any(problem.level == "error" for problem in parsed.problems) or name == "one long word"
    assert len(parsed.problems) <= 60
    assert spent < 2.0


def test_a_large_file_is_refused_without_being_copied() -> None:
    data = b"a: 1\n" * 10_000_000
    tracemalloc.start()
    parsed = parse_text(FILE, data)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert [problem.code for problem in parsed.problems] == ["file-too-large"]
    assert peak < 1_000_000
    assert len(data) > MAX_BYTES


@settings(max_examples=400, deadline=None)
@given(st.binary(max_size=300) | st.text(max_size=200).map(str.encode))
@example(b"\xff\xfe")
@example(b"\x00" * 10)
@example(b'a: "\\U00110000"')
@example(b"? ? ?")
@example(b"a: !<\n")
@example(b"{a: , ,}")
def test_any_bytes_give_an_answer(data: bytes) -> None:
    check_shape(data, parse_text(FILE, data))


PIECES = [
    *("a", "b: ", "key: ", ": ", "- ", "\n", "\n  ", "\n    ", "[", "]", "{", "}", ", ", '"', "'"),
    *("#", " # ", "&x ", "*x", "!t ", "!!str ", "|\n", ">-\n", "%YAML 1.1\n", "---\n", "...\n"),
    *("\t", "\\", "\\x4", "\\ud83d", "? ", "<<: ", "@", "`", "12:30", "~", "\r\n", "\u2028", "é"),
    *("\ufeff", "\x07", "<<<<<<< a\n", "=======\n", ">>>>>>> b\n", "null", "%", "|+2\n", "!<", "&"),
]


@settings(max_examples=800, deadline=None)
@given(st.lists(st.sampled_from(PIECES), max_size=25).map("".join))
@example("? |\n  a\n: b\n")
@example("a: |+2\n\n\n")
def test_any_pieces_of_yaml_give_an_answer(text: str) -> None:
    check_shape(text.encode(), parse_text(FILE, text.encode()))


def test_a_record_with_any_byte_changed_gives_an_answer() -> None:
    record = b'record: "flights"\nid: a7k2\neach: [7, 8]\nuses:\n  - "p" # c\nnote: |\n  x\n  y\n'
    chance = random.Random(20260516)
    for _ in range(600):
        data = bytearray(record)
        for _ in range(chance.randint(1, 3)):
            data[chance.randrange(len(data))] = chance.randrange(256)
        check_shape(bytes(data), parse_text(FILE, bytes(data)))
    for at in range(len(record)):
        check_shape(record[:at], parse_text(FILE, record[:at]))


# Sources: YAML 1.2.2 section 10.3.2, and the YAML 1.1 types bool, int, float, timestamp.
@pytest.mark.parametrize(
    ("text", "other"),
    [
        ("007", "the number 7"),
        ("3", "the number 3"),
        ("-3", "the number -3"),
        ("010", "the number 10 (or 8 in base 8)"),
        ("1e3", "the number 1000"),
        ("1_000", "the number 1000"),
        ("1.50", "the number 1.50"),
        (".5", "the number 0.5"),
        ("1e400", "the number 1E+400"),
        ("0x1F", "the number 31"),
        ("0o17", "the number 15"),
        ("0b101", "the number 5"),
        ("12345678", "the number 12345678"),
        ("1e234567", "the number 1E+234567"),
        (".inf", "infinity"),
        (".NaN", "not a number"),
        ("no", "false"),
        ("Off", "false"),
        ("y", "true"),
        ("TRUE", "true"),
        ("yEs", None),
        ("", "nothing"),
        ("~", "nothing"),
        ("null", "nothing"),
        ("2026-05-16", "a date"),
        ("2026-05-16T14:20:00+02:00", "a date and time"),
        ("2026-05-16 14:20", None),
        ("12:30", "750 (minutes as base 60)"),
        ("1:30:00", "5400 (seconds as base 60)"),
        ("07:30", None),
        ("a7k2qd9x3m", None),
        ("in-service", None),
        ("1.2.3", None),
        ("9" * 5000, "a number"),
        ("-", None),
        (".", None),
        ("_", None),
        ("0x", None),
    ],
)
def test_what_other_readers_make_of_a_word(text: str, other: str | None) -> None:
    assert reads_as(text) == other


@settings(max_examples=500, deadline=None)
@given(st.text(alphabet="0123456789_.:eE+-xobna~tT Z", max_size=14))
def test_reads_as_answers_every_text(text: str) -> None:
    assert reads_as(text) != ""


def test_split_lines_shows_any_bytes() -> None:
    assert split_lines(b"\xef\xbb\xbfa: 1\r\nb: \xe9\n") == ["a: 1", "b: \ufffd", ""]
    assert split_lines("a\nb".encode("utf-16")) == ["a", "b"]
