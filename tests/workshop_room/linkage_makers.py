"""Surfaces and linkages for tests, from keys as written in a kit file."""

from __future__ import annotations

import textwrap
from typing import Any

from register.records.as_built import read_section_of
from register.records.linkages import Linkage
from register.records.surfaces import Surface
from register.text.nodes import Mapping
from register.text.parsing import parse_text
from register.trouble import Problem
from register.workshop.drive import Drive, build_drive


def read(section: str, text: str) -> tuple[Any, tuple[Problem, ...]]:
    """One section of a kit file, and its problems."""
    node = parse_text("kits/k.yaml", textwrap.dedent(text).encode()).node
    assert isinstance(node, Mapping)
    return read_section_of(node, section)


def build(surface: str = "", linkage: str = "") -> tuple[Surface, Linkage]:
    """The surface `s` with its linkage, from the keys of each in flow form, without problem."""
    text = f"surfaces:\n  s: {{{surface}}}\nlinkages:\n  s: {{{linkage}}}\n"
    surfaces, wrong = read("surfaces", text)
    linkages, worse = read("linkages", text)
    assert not wrong, wrong
    assert not worse, worse
    return surfaces["s"], linkages["s"]


def drive(
    arm: float = 20,
    horn: float = 18,
    *,
    surface: str = "chord: 60",
    more: str = "",
    arm_more: str = "",
    horn_more: str = "",
    travel: str = "degrees_per_us: 0.1, low: 1000, mid: 1500, high: 2000",
) -> tuple[Drive, Surface]:
    """A linkage upright at mid, pivots 60 mm apart, unless said otherwise."""
    made, linkage = build(
        surface,
        f"arm: {{radius: {arm}, angle: 90, at_pulse: 1500{arm_more}}}, "
        f"horn: {{radius: {horn}, offset: 0, angle: 90{horn_more}}}, "
        f"pivots: 60, travel: {{{travel}}}{more}",
    )
    found = build_drive(linkage, made)
    assert isinstance(found, Drive), found
    return found, made
