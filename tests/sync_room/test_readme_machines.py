"""README's section on several machines is a transcript: it is typed again, line by line."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from fleets import run

README = Path(__file__).parents[2] / "README.md"
BLOCK = re.compile(r"## More than one machine\n.*?```\n(?P<text>\$ .*?)```", re.DOTALL)


def test_the_section_is_what_happens(tmp_path: Path, request: pytest.FixtureRequest) -> None:
    text = README.read_text("utf-8")
    found = BLOCK.search(text)
    assert found is not None
    (tmp_path / "stick").mkdir()
    shown = ""
    for line in found["text"].splitlines():
        if line.startswith("$ "):
            result = run(*shlex.split(line[2:])[1:], cwd=tmp_path)
            assert result.exit_code == 0, (line, result)
            # However long the path is, and wherever the line was broken before it.
            said = re.sub(rf"\s+{re.escape(str(tmp_path))}", " ..", result.out)
            said = re.sub(r"amend [a-z0-9]{4,10} ", "amend a7k2 ", said)
            shown += f"{line}\n{said}"
    if request.config.getoption("--accept"):
        start, end = found.span("text")
        README.write_text(text[:start] + shown + text[end:], "utf-8")
    else:
        assert found["text"] == shown
