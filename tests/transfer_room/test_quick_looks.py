"""What is passed by quickly is what the slow way would have passed by."""

from __future__ import annotations

import subprocess
from pathlib import Path

from hypothesis import example, given
from hypothesis import strategies as st

from register.git.wrapper import find_git
from register.text.emitting import render_yaml
from register.transfer.masking import PRIVATE_KEYS, collect_marked, make_tokens
from register.transfer.objects import texts_of
from register.transfer.past import read_revision
from register.transfer.scanning import Scanner
from register.transfer.seeking import may_be_private

KEYS = st.sampled_from(sorted(PRIVATE_KEYS)).flatmap(
    lambda key: st.sampled_from((key, key.upper(), key.title(), f"{key}s", f"x{key}"))
)
VALUES = st.text(st.sampled_from("abcé 1:\\\"'"), max_size=8)
RECORDS = st.dictionaries(
    st.one_of(KEYS, st.sampled_from(("text", "when"))),
    st.one_of(VALUES, st.dictionaries(KEYS, VALUES, max_size=2), st.lists(VALUES, max_size=2)),
    max_size=4,
)


@given(RECORDS)
def test_no_record_with_a_private_value_is_passed_by(record: dict[str, object]) -> None:
    found: set[str] = set()
    data = render_yaml(record).encode()  # type: ignore[arg-type]
    plain = read_revision("aircraft/gj/aircraft.yaml", data)
    assert plain is not None
    collect_marked(plain, found)
    assert may_be_private("aircraft/gj/aircraft.yaml", data) or not found


def test_a_key_written_with_escapes_is_not_passed_by() -> None:
    assert may_be_private("kits/a.yaml", b'"c\\u006fst": "900 to a friend"\n')
    assert not may_be_private("kits/a.yaml", b'text: "the cost of it"\n')


@given(
    st.sampled_from(("Ky", "Ivo", "Zoë", "Dick in")),
    st.text(st.sampled_from("kyivozëdcnKYIVOZËDCN \N{KELVIN SIGN}ſıİ.-"), max_size=12),
)
@example("Ivo", "\N{LATIN SMALL LETTER DOTLESS I}vo")
def test_a_short_word_is_found_wherever_it_stands_alone(word: str, around: str) -> None:
    scanner = Scanner(make_tokens((word,), (), (), frozenset()))
    for form in (word, word.upper(), word.lower()):
        text = f"{around} {form} {around}".encode()
        assert list(scanner.scan("a text", text))


def test_a_dotless_letter_hides_no_word() -> None:
    scanner = Scanner(make_tokens(("Ivo",), (), (), frozenset()))
    dotless = "seen by \N{LATIN SMALL LETTER DOTLESS I}vo".encode()
    assert list(scanner.scan("a text", dotless))


def test_the_names_of_a_tree_of_git(tmp_path: Path) -> None:
    """git's own object: names with spaces and other letters, and ids with any byte in them."""

    def git(*args: str, fed: bytes = b"") -> bytes:
        command = [find_git(), "-C", str(tmp_path), *args]
        return subprocess.run(command, input=fed, check=True, capture_output=True).stdout

    git("init", "-q", "--bare", ".")
    names = [f"{number} a b" for number in range(300)] + ["zé.yaml"]
    lines = []
    for name in names:
        id_ = git("hash-object", "-w", "--stdin", fed=name.encode()).strip().decode()
        lines.append(f"100644 blob {id_}\t{name}\n")
    tree = git("mktree", fed="".join(lines).encode()).strip().decode()
    data = git("cat-file", "tree", tree)
    assert b"\0" in data.replace(b"\0", b"", len(names))
    assert sorted(texts_of("tree", data).decode().split("\n")) == sorted(names)


def test_what_is_no_tree_is_searched_as_it_is() -> None:
    assert b"Hilda" in texts_of("tree", b"100644 a\0" + b"x" * 20 + b"Hilda")
