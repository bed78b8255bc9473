"""What a part gained in aircraft of another owner counts, exactly as it was handed over."""

from __future__ import annotations

from decimal import Decimal

import pytest

from register.ledger.ledger import Ledger
from register.ledger.stand_ins import digest_id
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


def _usage(id_: str, *stands_for: str, flights: int = 5) -> str:
    words = " ".join(digest_id(one) for one in stands_for)
    return (
        f'record: "usage-elsewhere"\nid: "{id_}"\nwhen: "2026-05-02"\npart: "pk"\n'
        f'counters: {{flights: {flights}}}\nstands_for: "{words}"\n'
    )


def _flown(id_: str, count: int, more: str = 'uses: ["pk"]\n') -> str:
    return (
        f'record: "flights"\nid: "{id_}"\nwhen: "2026-05-01"\naircraft: "robin"\n'
        f"count: {count}\n{more}"
    )


def _flights(*events: str) -> Span:
    files = {
        "fleet.yaml": 'schema: 1\nname: "x"\n',
        "aircraft/robin/aircraft.yaml": 'title: "Robin"\n',
        "parts/pk/part.yaml": 'kind: "battery"\nuse: "assigned"\n',
        "parts/tu/part.yaml": 'kind: "turbine"\n',
    }
    for number, text in enumerate(events):
        files[f"parts/pk/events/2026/05/{number}.yaml"] = text
    return _ledger(files).value(("part", "pk"), "flights")


ONE, TWO = "aaaa000001", "aaaa000002"


@pytest.mark.parametrize(
    ("records", "low", "high"),
    [
        ([], 5, 5),
        ([_flown(ONE, 2)], 2, 7),
        ([_flown(ONE, 2), _flown(TWO, 3)], 5, 5),
        # Withdrawn here, or amended not to have used it: somebody knew better.
        ([_flown(ONE, 2), _flown(TWO, 3), f'record: "withdrawal"\nid: "wwww000001"\n'
          f'when: "2026-05-03"\nwithdraws: "{TWO}"\n'], 2, 2),
        ([_flown(ONE, 2), _flown(TWO, 3), f'record: "amendment"\nid: "wwww000001"\n'
          f'when: "2026-05-03"\namends: "{TWO}"\nset: {{uses: []}}\n'], 2, 2),
        # Here, but the way to the part is not: as if they were not here.
        ([_flown(ONE, 2, "uses: []\n"), _flown(TWO, 3, "uses: []\n")], 5, 5),
    ],
)  # fmt: skip
def test_what_is_told_here_too_counts_once(records: list[str], low: int, high: int) -> None:
    assert _flights(_usage("vvvv000001", ONE, TWO), *records) == Span(Decimal(low), Decimal(high))


def test_told_by_two_owners_counts_once() -> None:
    """The finer telling counts; of two alike the one that tells of more; else a range."""
    whole, first = _usage("vvvv000001", ONE, TWO), _usage("vvvv000002", ONE, flights=2)
    last = _usage("vvvv000003", TWO, flights=3)
    assert _flights(whole, first, last) == Span.exact(5)
    assert _flights(whole, _usage("vvvv000000", ONE, TWO, flights=6)) == Span.exact(6)
    assert _flights(whole, first) == Span(Decimal(2), Decimal(7))


def test_what_a_host_gained_elsewhere_is_not_of_what_sits_in_it() -> None:
    """Each part that was handed over tells of its own."""
    ledger = _ledger(
        {
            "fleet.yaml": 'schema: 1\nname: "x"\n',
            "parts/tu/part.yaml": 'kind: "turbine"\n',
            "parts/pump/part.yaml": 'kind: "pump"\n',
            "parts/pump/events/2026/05/a.yaml": (
                'record: "install"\nid: "aaaa111110"\nwhen: "2026-05-01"\npart: "pump"\n'
                'into: "tu"\n'
            ),
            "parts/tu/events/2026/05/a.yaml": (
                'record: "usage-elsewhere"\nid: "aaaa111111"\nwhen: "2026-05-02"\n'
                'part: "tu"\ncounters: {flights: 4}\n'
            ),
            "parts/pump/events/2026/05/b.yaml": (
                'record: "usage-elsewhere"\nid: "aaaa111112"\nwhen: "2026-05-02"\n'
                'part: "pump"\ncounters: {flights: 3}\n'
            ),
        }
    )
    assert ledger.value(("part", "pump"), "flights") == Span.exact(3)
    assert ledger.value(("part", "tu"), "flights") == Span.exact(4)
