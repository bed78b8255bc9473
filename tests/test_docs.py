"""The documents say what the program does: commands, screens and exit codes."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from cli.commands.table import COMMANDS
from fleets import run
from register.trouble import Exit

ROOT = Path(__file__).parents[1]
README = ROOT / "README.md"
#: Screens of the example fleet: each is one line typed and all that was answered.
SCREEN = re.compile(
    r"```\n\$ tailsheaf (?P<line>(?:flyday|worklist|throws|faults) [^\n]*)\n(?P<screen>.*?)```",
    re.DOTALL,
)


def test_every_command_stands_in_the_readme() -> None:
    text = README.read_text("utf-8")
    table = text[text.index("## All commands") :]
    missing = [item.name for item in COMMANDS if f"`{item.name}`" not in table]
    assert not missing


def test_the_readme_names_no_command_that_is_not_there() -> None:
    text = README.read_text("utf-8")
    typed = set(re.findall(r"^tailsheaf ([a-z-]+)", text, re.MULTILINE))
    assert typed
    assert typed <= {item.name for item in COMMANDS}


def test_the_readme_screens_are_what_is_shown(request: pytest.FixtureRequest) -> None:
    text = README.read_text("utf-8")
    assert [found["line"].split()[0] for found in SCREEN.finditer(text)] == [
        "flyday",
        "worklist",
        "throws",
        "faults",
    ]

    def show(found: re.Match[str]) -> str:
        shown = run("--fleet", ROOT / "example-fleet", *found["line"].split()).out
        return f"```\n$ tailsheaf {found['line']}\n{shown}```"

    now = SCREEN.sub(show, text)
    if request.config.getoption("--accept"):
        README.write_text(now, "utf-8")
    else:
        assert now == text


def test_every_exit_code_is_explained() -> None:
    text = README.read_text("utf-8")
    for code in Exit:
        assert re.search(rf"^\|[^|]*\b{int(code)}\b", text, re.MULTILINE), code


@pytest.mark.parametrize("item", COMMANDS, ids=lambda item: item.name)
def test_every_help_ends_in_an_example(item: object) -> None:
    result = run(item.name, "--help")  # type: ignore[attr-defined]
    assert result.exit_code == 0, result
    assert f"Example: tailsheaf {item.name}" in " ".join(result.out.split())  # type: ignore[attr-defined]
