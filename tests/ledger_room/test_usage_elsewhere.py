"""What a part gained in aircraft of another owner counts, exactly as it was handed over."""

from __future__ import annotations

from decimal import Decimal

from register.ledger.ledger import Ledger
from register.records.gathering import build_records
from register.records.values import Span
from register.text.parsing import parse_text


def _ledger(files: dict[str, str]) -> Ledger:
    nodes = [(path, parse_text(path, text.encode()).node) for path, text in files.items()]
    records = build_records(nodes)
    assert not records.problems
    return Ledger(records)


def test_it_adds_to_the_part_and_to_no_aircraft() -> None:
    ledger = _ledger(
        {
            "fleet.yaml": 'schema: 1\nname: "x"\n',
            "aircraft/robin/aircraft.yaml": 'title: "Robin"\n',
            "parts/te-1/part.yaml": 'kind: "turbine"\nopening:\n'
            "  counters: {engine-minutes: 60, flights: 0, minutes: 0}\n",
            "parts/te-1/events/2026/05/a.yaml": (
                'record: "usage-elsewhere"\nid: "aaaa111111"\nwhen: "2026-05-02"\n'
                'part: "te-1"\nsince: "2026-04-01"\nuntil: "2026-05-02"\ncounters:\n'
                "  engine-minutes: {value: 95.5, known: estimated}\n"
                "  flights: 12\n  minutes: {low: 80, high: 84, known: known}\n"
            ),
        }
    )
    part = ("part", "te-1")
    assert ledger.value(part, "engine-minutes") == Span(
        Decimal("155.5"), Decimal("155.5"), "estimated"
    )
    assert ledger.value(part, "flights") == Span.exact(12)
    assert ledger.value(part, "minutes") == Span(Decimal(80), Decimal(84))
    assert ledger.value(("aircraft", "robin"), "flights") == Span.exact(0)


def test_a_bound_that_is_not_known_stays_open() -> None:
    ledger = _ledger(
        {
            "fleet.yaml": 'schema: 1\nname: "x"\n',
            "parts/te-1/part.yaml": 'kind: "turbine"\n',
            "parts/te-1/events/2026/05/a.yaml": (
                'record: "usage-elsewhere"\nid: "aaaa111111"\nwhen: "2026-05-02"\n'
                'part: "te-1"\ncounters: {engine-minutes: {low: 30, known: unknown}}\n'
            ),
        }
    )
    assert ledger.value(("part", "te-1"), "engine-minutes") == Span(Decimal(30), None, "unknown")
