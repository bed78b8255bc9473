"""A tab in the indentation: the mend as given makes the file readable, wherever the tab stands."""

from __future__ import annotations

import pytest

from register.text.parsing import parse_text


@pytest.mark.parametrize(
    "text",
    [
        'title: "Heron"\n\tstage: "in-service"\n',
        '\ttitle: "Heron"\n',
        'positions:\n\tengine: {kind: "turbine"}\n',
        'positions:\n  engine:\n\t\tkind: "turbine"\n',
        'positions:\n  engine: {kind: "turbine"}\n\tgear: {kind: "retract"}\n',
        'tasks:\n\t- id: "a"\n',
        'tasks:\n  - id: "a"\n\ttitle: "b"\n',
        'title: "Heron"\n# a word\n\tstage: "in-service"\n',
    ],
)
def test_the_mend_of_a_tab(text: str) -> None:
    lines = text.split("\n")
    found = parse_text("aircraft/heron/aircraft.yaml", text.encode())
    for _ in range(3):
        found = parse_text("aircraft/heron/aircraft.yaml", "\n".join(lines).encode())
        if found.node is not None:
            break
        (problem,) = found.problems
        assert problem.says == "a tab stands where spaces are expected"
        lines[problem.place.line - 1] = problem.mend.partition(", and write  ")[2]
    assert found.node is not None
    assert not found.problems
