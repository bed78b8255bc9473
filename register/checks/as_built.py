"""What kits and aircraft say of themselves as built: every section that can be read wrongly."""

from __future__ import annotations

from collections.abc import Iterator

from register.checks.survey import Survey
from register.records.as_built import SECTIONS, overlaid, read_section_of
from register.trouble import Problem


def check_sections_read(survey: Survey) -> Iterator[Problem]:
    """Read every section of every kit, and of every aircraft laid over its kit's."""
    records = survey.ledger.records
    nodes = [kit.node for kit in records.kits.values()]
    nodes.extend(overlaid(records, name) for name in records.aircraft)
    seen = set()
    for node in nodes:
        for section in SECTIONS:
            for problem in read_section_of(node, section)[1]:
                if problem not in seen:
                    seen.add(problem)
                    yield problem
