"""Law: parsing and writing again gives the same bytes; an edit touches only its own."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from register.text.editing import edit_set, read_plain
from register.text.emitting import render_yaml
from register.text.nodes import Mapping, Node, Plain, Scalar, Sequence
from register.text.parsing import parse_text

EXAMPLE = Path(__file__).parents[2] / "example-fleet"
WRITTEN = sorted(EXAMPLE.rglob("events/**/*.yaml"))
BY_HAND = sorted(
    path
    for pattern in (
        "*.yaml",
        "kits/*.yaml",
        "programmes/*.yaml",
        "papers/*.yaml",
        "aircraft/*/*.yaml",
    )
    for path in EXAMPLE.glob(pattern)
)

KEYS = st.from_regex(r"[a-z][a-z_]{0,8}", fullmatch=True)
VALUES = st.recursive(
    st.one_of(
        st.text(st.characters(exclude_categories=["Cs"]), max_size=24),
        st.integers(-(10**9), 10**9),
        st.decimals("-1e6", "1e6", places=2).map(lambda value: value + Decimal("0.01")),
        st.booleans(),
    ),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(KEYS, inner, max_size=4),
    max_leaves=12,
)


def rewrite(data: bytes) -> bytes:
    """Parse, and write again in the canonical form."""
    parsed = parse_text("record.yaml", data)
    assert not parsed.problems
    assert parsed.node is not None
    plain = read_plain(parsed.node)
    assert isinstance(plain, dict)
    return render_yaml(plain).encode()


def test_every_record_of_the_example_is_written_as_it_was_read() -> None:
    assert len(WRITTEN) > 600
    for path in WRITTEN:
        data = path.read_bytes()
        assert rewrite(data) == data, path


@given(st.dictionaries(KEYS, VALUES, min_size=1, max_size=6))
def test_whatever_is_written_is_written_the_same_again(record: dict[str, Plain]) -> None:
    data = render_yaml(record).encode()
    if parse_text("record.yaml", data).problems:
        # Text with control characters is written, and remarked on when read.
        return
    assert rewrite(data) == data


def scalars(
    node: Node, path: tuple[str | int, ...] = ()
) -> list[tuple[tuple[str | int, ...], Scalar]]:
    """Every single value of a tree, with the path to it."""
    if isinstance(node, Scalar):
        return [(path, node)]
    if isinstance(node, Mapping):
        inner = [(entry.key, entry.value) for entry in node.entries]
    else:
        assert isinstance(node, Sequence)
        inner = list(enumerate(node.items))  # type: ignore[arg-type]
    return [found for key, value in inner for found in scalars(value, (*path, key))]


@pytest.mark.parametrize("path", BY_HAND, ids=lambda path: path.name)
def test_setting_a_value_to_itself_changes_no_byte(path: Path) -> None:
    data = path.read_bytes()
    node = parse_text(path.name, data).node
    assert node is not None
    quoted = [found for found in scalars(node) if not found[1].plain and "\n" not in found[1].text]
    for place, scalar in quoted[:: max(len(quoted) // 12, 1)]:
        assert edit_set(path.name, data, place, scalar.text) == data


@pytest.mark.parametrize("path", BY_HAND, ids=lambda path: path.name)
def test_setting_another_value_changes_its_line_alone(path: Path) -> None:
    data = path.read_bytes()
    node = parse_text(path.name, data).node
    assert node is not None
    quoted = [found for found in scalars(node) if not found[1].plain and "\n" not in found[1].text]
    place, scalar = quoted[len(quoted) // 2]
    changed = edit_set(path.name, data, place, "another")
    before, after = data.split(b"\n"), changed.split(b"\n")
    assert len(before) == len(after)
    different = [n for n, (a, b) in enumerate(zip(before, after, strict=True)) if a != b]
    assert different == [scalar.place.line - 1]
