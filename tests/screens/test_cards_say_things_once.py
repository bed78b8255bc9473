"""The pocket card: no caution twice, and no line to type where there is nothing to type on."""

from __future__ import annotations

from pathlib import Path

from event_fleet import FILES, make_event_fleet

from fleets import run

CAUTIONS = """
    id: prgjet0001
    tasks:
      - id: mounts
        every: [{counter: flights, amount: 1}]
        caution: "Model held or tied down; nobody in line."
      - id: intake
        every: [{counter: flights, amount: 1}]
        caution: "Model tied down; intake clear."
      - {id: spar, grounds: true, every: [{months: 6}]}
      - {id: fin, grounds: true, every: [{months: 6}]}
"""


def test_a_caution_is_said_once_and_wholly(tmp_path: Path) -> None:
    assert "programmes/jet.yaml" in FILES
    fleet = make_event_fleet(tmp_path, {"programmes/jet.yaml": CAUTIONS})
    out = run("flyday", "2027-05-16", "--card", fleet=fleet).out
    assert "! Model held or tied down; nobody in line." in out
    assert "! Intake clear." in out
    assert out.count("tied down") == 1
    assert "tailsheaf due" not in out
