"""Merging files: comments and lines are kept, a clash holds both values."""

from __future__ import annotations

from hashlib import sha1

from hypothesis import given
from hypothesis import strategies as st

from register.merge.texts import merge_texts
from register.merge.trees import merge_trees
from register.text.document import open_document, read_plain

BASE = b"""\
# The grey one.
title: "Heron"  # as on the label
kit: "longreach-90"
colours:
  upper: "light grey"
  # matt below
  lower: "white"
limits:
  - {id: "a", amount: 10}
"""


def _plain(data: bytes) -> object:
    return read_plain(open_document("x.yaml", data).root)


def test_comments_of_both_sides_stay() -> None:
    one = BASE.replace(b'upper: "light grey"', b'upper: "dark grey"  # repainted')
    two = BASE.replace(b'kit: "longreach-90"', b'kit: "longreach-90"\nlot: "L7"  # from the box')
    merged = merge_texts("x.yaml", BASE, one, two)
    assert merged.clashes == ()
    for words in (b"# repainted", b"# from the box", b"# matt below", b"# as on the label"):
        assert merged.data.count(words) == 1
    assert merged == merge_texts("x.yaml", BASE, two, one)


def test_neighbouring_lines_are_no_conflict() -> None:
    one = BASE.replace(b'title: "Heron"', b'title: "Heron two"')
    two = BASE.replace(b'kit: "longreach-90"', b'kit: "longreach-95"  # the later one')
    merged = merge_texts("x.yaml", BASE, one, two)
    assert merged.clashes == ()
    found = _plain(merged.data)
    assert isinstance(found, dict)
    assert (found["title"], found["kit"]) == ("Heron two", "longreach-95")
    assert b"# the later one" in merged.data
    assert b"# as on the label" in merged.data


def test_one_value_changed_twice_is_asked() -> None:
    one = BASE.replace(b'"white"', b'"cream"')
    two = BASE.replace(b'"white"', b'"ivory"')
    merged = merge_texts("x.yaml", BASE, one, two)
    assert [(clash.path, clash.base, clash.one, clash.two) for clash in merged.clashes] == [
        (("colours", "lower"), "white", "cream", "ivory")
    ]
    assert b'"cream"' in merged.data


def test_a_side_that_cannot_be_read_is_kept_whole() -> None:
    merged = merge_texts("x.yaml", BASE, BASE + b"\tbad: [\n", BASE + b'lot: "L7"\n')
    assert merged.whole
    assert {merged.clashes[0].one, merged.clashes[0].two} == {
        (BASE + b"\tbad: [\n").decode(),
        (BASE + b'lot: "L7"\n').decode(),
    }


KEYS = ["title", "kit", "lot", "note", "colours"]
FILES = st.dictionaries(st.sampled_from(KEYS), st.sampled_from(["a", "b", "7", "no"]), min_size=1)


def _write(values: dict[str, str], comment: str) -> bytes:
    lines = [f'{key}: "{value}"' for key, value in values.items()]
    return "\n".join([comment, *lines, ""]).encode()


@given(FILES, FILES, FILES, st.booleans())
def test_the_merge_of_two_is_that_of_two_swapped(
    base: dict[str, str], one: dict[str, str], two: dict[str, str], together: bool
) -> None:
    past = _write(base, "# past") if together else None
    sides = _write(one, "# one"), _write(two, "# two")
    merged = merge_texts("x.yaml", past, *sides)
    assert merged == merge_texts("x.yaml", past, sides[1], sides[0])
    if sides[0] != sides[1] and not merged.whole and past not in sides:
        assert b"# one" in merged.data
        assert b"# two" in merged.data


def _name(data: bytes) -> str:
    return sha1(data, usedforsecurity=False).hexdigest()


def test_folders_meet_and_nothing_acknowledged_goes() -> None:
    blobs = {_name(text): text for text in (b'a: "1"\n', b'a: "2"\n', b'a: "3"\n', b'b: "1"\n')}
    old, new, other, event = (_name(text) for text in blobs.values())
    base = {"kits/k.yaml": old, "kits/gone.yaml": old}
    one = {"kits/k.yaml": new, "kits/gone.yaml": old, "aircraft/x/events/e.yaml": event}
    two = {"kits/k.yaml": other, "aircraft/x/events/f.yaml": event}
    merged = merge_trees(base, one, two, blobs.__getitem__, _name)
    assert merged == merge_trees(base, two, one, blobs.__getitem__, _name)
    assert set(merged.tree) == {
        "kits/k.yaml",
        "aircraft/x/events/e.yaml",
        "aircraft/x/events/f.yaml",
        f"clashes/{merged.clashes[0].id}.yaml",
    }
    assert merged.clashes[0].file == "kits/k.yaml"


def test_removed_there_and_changed_here_is_kept_and_asked() -> None:
    blobs = {_name(text): text for text in (b'a: "1"\n', b'a: "2"\n')}
    old, new = blobs
    merged = merge_trees({"e.yaml": old}, {"e.yaml": new}, {}, blobs.__getitem__, _name)
    assert merged.tree["e.yaml"] == new
    assert [clash.file for clash in merged.clashes] == ["e.yaml"]
