"""Two things that got one name on two machines are both kept, alike in any order of merging."""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from hashlib import sha1

import pytest

from register.merge.trees import Merged, merge_trees
from register.text.document import open_document, read_plain


class Blobs:
    """Blobs by id, as git has them."""

    def __init__(self) -> None:
        self.known: dict[str, bytes] = {}

    def name(self, data: bytes) -> str:
        """The id of these bytes, which are kept."""
        id_ = sha1(data, usedforsecurity=False).hexdigest()
        self.known[id_] = data
        return id_

    def tree(self, files: Mapping[str, str]) -> dict[str, str]:
        """A folder with these texts."""
        return {path: self.name(text.encode()) for path, text in files.items()}

    def merge(self, *trees: Mapping[str, str]) -> dict[str, str]:
        """The merged folder; it must be that of the sides swapped."""
        base, one, two = trees
        merged = merge_trees(base, one, two, self.known.__getitem__, self.name)
        assert merged == merge_trees(base, two, one, self.known.__getitem__, self.name)
        return _quiet(merged).tree


def _quiet(merged: Merged) -> Merged:
    assert merged.clashes == ()
    return merged


def _part(id_: str, *events: str, more: str = "") -> dict[str, str]:
    files = {f"parts/pk/events/2026/05/{name}.yaml": f'id: "{name}"\n' for name in events}
    return {"parts/pk/part.yaml": f'id: "{id_}"\nserial: "S-{id_}"\n{more}', **files}


ONE, TWO, THREE = "aaaa000001", "bbbb000001", "cccc000001"


@pytest.mark.parametrize(("folder", "main"), [("parts", "part"), ("aircraft", "aircraft")])
def test_both_are_kept_and_the_second_is_renamed_with_all_it_has(folder: str, main: str) -> None:
    blobs = Blobs()
    sides = [
        blobs.tree(
            {
                f"{folder}/pk/{main}.yaml": f'id: "{id_}"\nserial: "S-{id_}"\n',
                f"{folder}/pk/events/2026/05/{id_[0]}.yaml": "x: 1\n",
            }
        )
        for id_ in (ONE, TWO)
    ]
    merged = blobs.merge({}, *sides)
    assert set(merged) == {
        f"{folder}/pk-bbbb/{main}.yaml",
        f"{folder}/pk-bbbb/events/2026/05/b.yaml",
        f"{folder}/pk/{main}.yaml",
        f"{folder}/pk/events/2026/05/a.yaml",
    }
    assert merged[f"{folder}/pk/{main}.yaml"] == sides[0][f"{folder}/pk/{main}.yaml"]
    path = f"{folder}/pk-bbbb/{main}.yaml"
    found = read_plain(open_document(path, blobs.known[merged[path]]).root)
    assert found == {"id": TWO, "serial": f"S-{TWO}", "aliases": ["pk"]}


def test_any_order_of_three_gives_the_same() -> None:
    blobs = Blobs()
    sides = [blobs.tree(_part(id_, id_[0])) for id_ in (THREE, ONE, TWO)]
    found = []
    for first, second, third in itertools.permutations(sides):
        found.append(blobs.merge({}, blobs.merge({}, first, second), third))
    assert all(tree == found[0] for tree in found)
    assert {path.split("/")[1] for path in found[0]} == {"pk", "pk-bbbb", "pk-cccc"}


def test_what_was_written_meanwhile_goes_where_its_thing_went() -> None:
    blobs = Blobs()
    one, two = blobs.tree(_part(ONE, "a")), blobs.tree(_part(TWO, "b"))
    joined = blobs.merge({}, one, two)
    later = blobs.tree(_part(TWO, "b", "d", more='lot: "L7"\n'))
    merged = blobs.merge(two, joined, later)
    assert "parts/pk-bbbb/events/2026/05/d.yaml" in merged
    assert b'lot: "L7"' in blobs.known[merged["parts/pk-bbbb/part.yaml"]]
    assert merged["parts/pk/part.yaml"] == one["parts/pk/part.yaml"]


def test_a_folder_renamed_by_hand_meets_what_was_written_under_its_old_name() -> None:
    blobs = Blobs()
    base = blobs.tree(_part(ONE, "a"))
    renamed = {path.replace("/pk/", "/pk-left/"): id_ for path, id_ in base.items()}
    written = {**base, **blobs.tree({"parts/pk/events/2026/05/z.yaml": "z: 1\n"})}
    merged = blobs.merge(base, renamed, written)
    assert sorted(merged) == [
        "parts/pk-left/events/2026/05/a.yaml",
        "parts/pk-left/events/2026/05/z.yaml",
        "parts/pk-left/part.yaml",
    ]


def test_an_id_given_on_both_sides_to_what_had_none_is_no_question() -> None:
    blobs = Blobs()
    base = blobs.tree({"parts/pk/part.yaml": 'serial: "S1"\n'})
    sides = [blobs.tree({"parts/pk/part.yaml": f'serial: "S1"\nid: "{x}"\n'}) for x in (TWO, ONE)]
    merged = blobs.merge(base, *sides)
    assert blobs.known[merged["parts/pk/part.yaml"]] == f'serial: "S1"\nid: "{ONE}"\n'.encode()


def test_a_question_about_what_is_renamed_goes_with_it() -> None:
    blobs = Blobs()
    one = blobs.tree(_part(ONE))
    asked = 'clash: "kbmqvwhdta"\nfile: "parts/pk/part.yaml"\nkey: ["lot"]\nstands: 1\none: "x"\n'
    two = blobs.tree({**_part(TWO), "clashes/kbmqvwhdta.yaml": asked})
    merged = blobs.merge({}, one, two)
    assert b'"parts/pk-bbbb/part.yaml"' in blobs.known[merged["clashes/kbmqvwhdta.yaml"]]
