"""What full-size practice asks of the record of a directive, held against our notices.

Sources, from memory of the public texts, not read again here:

* US 14 CFR 91.417(a)(2)(v): the current status of applicable directives, for each the method of
  compliance, and if it involves recurring action the time and date when the next is required.
* US 14 CFR 91.419(a): these records go with the aircraft when it is sold; and FAA AC 43-9C,
  paragraph 9, which advises a separate directive record for each appliance (engine, propeller)
  so that it can go along when the appliance is removed.
* US 14 CFR 39.11 and 39.15: what a directive may ask (an inspection, a repair), and that it
  applies to each product identified though an individual one was changed in the area.

Nothing of this binds a model; it is the practice that "per part, and it moves" is taken from.
"""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from laws.sheets import Sheets

from register.findings.notices import NoticeState, view_states

#: Action as written, what was answered, whether anything is still to come, and whether it is open.
ROWS: tuple[tuple[dict[str, Any], str | None, bool, bool], ...] = (
    ({"action": "once"}, None, False, True),
    ({"action": "once"}, "clear", False, False),
    ({"action": "once"}, "repaired", False, False),
    ({"action": "recurring"}, "clear", True, False),
    ({"action": "recurring"}, "repaired", True, False),
    ({"action": "until-repaired"}, "clear", True, False),
    ({"action": "until-repaired"}, "found", False, True),
    ({"action": "until-repaired"}, "repaired", False, False),
)


def begin(**notice: Any) -> Sheets:
    """An engine that moves between two aircraft of one kit, and a notice of engines."""
    sheets = Sheets()
    asks = {"title": "Bearing", "applies": {"part_kind": "turbine"}, **notice}
    sheets.data["kits/jet.yaml"] = {"title": "Jet", "notices": {"bearing": asks}}
    for name in ("heron", "swift"):
        sheets.aircraft(name, kit="jet")
    sheets.part("tu-2", "turbine")
    sheets.add("install", "2026-03-01", part="tu-2", aircraft="heron", position="engine")
    return sheets


def state_of(sheets: Sheets, on: str) -> NoticeState:
    """The engine's own line."""
    found = [
        state
        for state in view_states(sheets.ledger(on), date.fromisoformat(on))
        if state.subject == ("part", "tu-2")
    ]
    assert len(found) == 1
    return found[0]


@pytest.mark.parametrize(("notice", "answer", "recurs", "is_open"), ROWS)
def test_status_method_and_when_next(
    notice: dict[str, Any], answer: str | None, recurs: bool, is_open: bool
) -> None:
    """91.417(a)(2)(v): status, how it was met, and time and date of the next, where it recurs."""
    every = [{"counter": "flights", "amount": 20}, {"months": 6}]
    keys = notice if notice["action"] == "once" else {**notice, "every": every}
    sheets = begin(**keys)
    if answer is not None:
        sheets.add(
            "notice-answer", "2026-03-10T12:00Z", notice="bearing", subject="tu-2",
            result=answer, text="looked at with the borescope",
        )  # fmt: skip
    sheets.fly("2026-03-12", 3)
    found = state_of(sheets, "2026-03-13")
    assert found.is_open == is_open
    if answer is not None:
        assert found.looks[-1].text == "looked at with the borescope"
    lefts = [limit.left.low for limit in found.limits if limit.left is not None]
    counts = [int(left) for left in lefts if left is not None]
    days = [limit.day for limit in found.limits if limit.day is not None]
    assert (counts, days) == (([17], [date(2026, 9, 10)]) if recurs else ([], []))


def test_the_record_goes_along_with_the_engine() -> None:
    """AC 43-9C, 9: removed and fitted elsewhere, it keeps its answers and what is left."""
    every = [{"counter": "flights", "amount": 20}]
    sheets = begin(action="recurring", every=every)
    sheets.add(
        "notice-answer", "2026-03-10T12:00Z", notice="bearing", subject="tu-2", result="clear",
        text="quiet",
    )  # fmt: skip
    sheets.fly("2026-03-12", 6)
    sheets.add("remove", "2026-03-20", part="tu-2")
    sheets.fly("2026-03-21", 9)
    sheets.add("install", "2026-04-01", part="tu-2", aircraft="swift", position="engine")
    sheets.fly("2026-04-02", 5, aircraft="swift")
    found = state_of(sheets, "2026-04-03")
    assert found.asked.hosts == ("swift",)
    assert [look.text for look in found.looks] == ["quiet"]
    assert found.limits[0].left is not None
    assert found.limits[0].left.low == 20 - 6 - 5


def test_a_changed_product_is_still_asked() -> None:
    """39.15: an alteration in the area does not by itself end the duty to answer."""
    sheets = begin(action="once")
    sheets.add(
        "modification", "2026-03-05", aircraft="heron", part="tu-2", text="other bearing",
        state="fixed",
    )  # fmt: skip
    assert state_of(sheets, "2026-03-06").is_open
