"""The program says what is recorded; it never passes judgement on an aircraft.

Held over the code, the documents, the example fleet and the accepted screens.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
SCANNED = ("register", "cli", "README.md", "DEVELOPERS.md", "example-fleet", "tests/golden")
PICTURES = (".png", ".jpg", ".jpeg")

FORBIDDEN = re.compile(
    r"\b(airworthy|certified|compliant|ok(ay)?\s+to\s+fly|safe)\b", re.IGNORECASE
)

DENIAL = 'never says "safe", "airworthy", "certified", "compliant" or "OK to fly"'
ALLOWED = {
    "README.md": (DENIAL,),
    "DEVELOPERS.md": (DENIAL,),
    # The name of a loader, in ruamel's words.
    "register/text/": ('typ="safe"',),
    # The name of a setting of git's.
    "register/git/remotes.py": ("safe.directory",),
}
"""Where a word may stand: the whole phrase, in files whose path begins so."""


def find_forbidden(name: str, text: str) -> list[str]:
    """Each forbidden word of a text with what surrounds it, denials left out."""
    plain = " ".join(text.split())
    for start, phrases in ALLOWED.items():
        if name.startswith(start):
            for phrase in phrases:
                plain = plain.replace(phrase, "")
    return [
        f"{name}: …{plain[max(0, hit.start() - 30) : hit.end() + 30]}…"
        for hit in FORBIDDEN.finditer(plain)
    ]


def read_scanned() -> dict[str, str]:
    """The text of every file held to this law, by path from the root."""
    texts = {}
    for top in SCANNED:
        found = ROOT / top
        for path in [found] if found.is_file() else sorted(found.rglob("*")):
            parts = path.relative_to(ROOT).parts
            if path.is_file() and "__pycache__" not in parts and path.suffix not in PICTURES:
                texts["/".join(parts)] = path.read_bytes().decode()
    return texts


def test_no_file_passes_judgement() -> None:
    texts = read_scanned()
    assert {"README.md", "register/trouble.py", "cli/__init__.py"} <= texts.keys()
    found = [line for name, text in texts.items() for line in find_forbidden(name, text)]
    assert not found, "\n".join(found)


def test_the_readme_says_so() -> None:
    assert DENIAL in " ".join((ROOT / "README.md").read_text("utf-8").split())


@pytest.mark.parametrize(
    "text",
    ["It is Safe.", "heron: airworthy", "certified", "compliant", "ok  to\nfly", 'typ="safe"'],
)
def test_judgements_are_found(text: str) -> None:
    assert len(find_forbidden("cli/render/tables.py", text)) == 1


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("README.md", f"tailsheaf {DENIAL}.".replace(" or ", "\nor ")),
        ("register/text/parsing.py", 'YAML(typ="safe")'),
        ("cli/render/tables.py", "failsafe set to idle; safety pin; unsafe_text"),
    ],
)
def test_denials_and_other_words_pass(name: str, text: str) -> None:
    assert find_forbidden(name, text) == []


def test_a_denial_excuses_nothing_else() -> None:
    assert len(find_forbidden("README.md", f"It {DENIAL}. Your aircraft is safe.")) == 1
