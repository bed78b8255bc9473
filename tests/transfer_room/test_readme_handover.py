"""README's handover section is a transcript: it is typed again, line by line."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from fleets import run

README = Path(__file__).parents[2] / "README.md"
BLOCK = re.compile(r"## Handing an aircraft over\n.*?```\n(?P<text>\$ .*?)```", re.DOTALL)


def play(folder: Path, text: str) -> str:
    """Each line beginning with $ typed in `folder`, with what it answered below it."""
    shown = []
    for line in text.splitlines():
        if not line.startswith("$ "):
            continue
        words = shlex.split(line[2:])
        assert words[0] == "tailsheaf"
        result = run(*words[1:], cwd=folder)
        assert result.exit_code == 0, (line, result)
        shown.append(f"{line}\n{result.out.replace(str(folder), '..')}")
    return "".join(shown)


def test_the_section_is_what_happens(tmp_path: Path, request: pytest.FixtureRequest) -> None:
    """The seller has the example fleet in `mine`, the buyer an empty one in `theirs`."""
    text = README.read_text("utf-8")
    found = BLOCK.search(text)
    assert found is not None
    for words in (("mine", "--example"), ("theirs",)):
        assert run("init", *words, cwd=tmp_path).exit_code == 0
    shown = play(tmp_path, found["text"])
    # Sizes of packed bytes depend on the libraries that packed them.
    shown = re.sub(r"\d+ kB", "96 kB", shown)
    if request.config.getoption("--accept"):
        start, end = found.span("text")
        README.write_text(text[:start] + shown + text[end:], "utf-8")
    else:
        assert found["text"] == shown
