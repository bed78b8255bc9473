"""A notice asks a part, not an aircraft: answers and counts go where the part goes."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from hypothesis import given
from hypothesis import strategies as st
from laws.sheets import Sheets

from register.findings.jobs import find_circles, fold_jobs
from register.findings.notices import OPEN, NoticeState, view_states
from register.ledger.ledger import Ledger
from register.records.lots import LotRange, match_lot, parse_range
from register.standing.judge import judge_aircraft

FIRST = date(2026, 3, 2)
ON = date(2026, 5, 1)
JETS = ("heron", "swift", "tern")
WINGS = ("wl-1", "wl-2")
RESULTS = ("clear", "found", "repaired", "not-applicable")


def begin(lot: str | None, **notice: Any) -> Sheets:
    """Two jets of one kit, one of none, two wings; a notice of the left ones of some lots."""
    sheets = Sheets()
    asks: dict[str, Any] = {
        "title": "Rib",
        "applies": {"part_kind": "wing", "side": "left", "lots": ["B10-B19"]},
        "action": "until-repaired",
        "every": [{"counter": "flights", "amount": 8}],
        "grounds": True,
        **notice,
    }
    sheets.data["kits/jet.yaml"] = {"title": "Jet", "notices": {"rib": asks}}
    for name in JETS[:2]:
        sheets.aircraft(name, kit="jet")
    sheets.aircraft("tern")
    lots = {} if lot is None else {"lot": lot}
    sheets.part("wl-1", "wing", side="left", **lots)
    sheets.part("wl-2", "wing", side="left", lot="B12")
    # Both were in a jet of the kit once, so both are of it wherever they are.
    for n, wing in enumerate(WINGS):
        sheets.add("install", "2026-03-01", part=wing, aircraft=JETS[n], position="left-wing")
    return sheets


@st.composite
def seasons(draw: st.DrawFn, lot: str | None = "B14") -> Sheets:
    """Flights, moves and answers over some weeks, each with its time."""
    sheets = begin(lot)
    for n in range(draw(st.integers(1, 14))):
        when = f"{(FIRST + timedelta(days=n * 2)).isoformat()}T10:00Z"
        kind = draw(st.sampled_from(["fly", "fly", "move", "shelf", "answer"]))
        wing = draw(st.sampled_from(WINGS))
        if kind == "fly":
            sheets.fly(when, draw(st.integers(1, 5)), aircraft=draw(st.sampled_from(JETS)))
        elif kind == "move":
            jet = draw(st.sampled_from(JETS))
            sheets.add("install", when, part=wing, aircraft=jet, position="left-wing")
        elif kind == "shelf":
            sheets.add("remove", when, part=wing)
        else:
            result = draw(st.sampled_from(RESULTS))
            sheets.add(
                "notice-answer", when, notice="rib", subject=wing, result=result, text="seen"
            )
    return sheets


def states(ledger: Ledger) -> dict[str, NoticeState]:
    """What each wing stands at."""
    return {state.subject[1]: state for state in view_states(ledger, ON)}


@given(seasons())
def test_the_state_is_the_parts_own(sheets: Sheets) -> None:
    """By hand: the answers of a wing, and the flights it made since the last look at it."""
    ledger = sheets.ledger()
    for wing in WINGS:
        found = states(ledger)[wing]
        events = [
            event
            for event in ledger.events
            if event.kind == "notice-answer"
            and ledger.subject_of(event.body.subject) == ("part", wing)  # type: ignore[union-attr]
        ]
        results = [event.body.result for event in events]  # type: ignore[union-attr]
        looks = [result for result in results if result != "not-applicable"]
        rest = looks[max((n for n, r in enumerate(looks) if r == "repaired"), default=-1) + 1 :]
        if results and results[-1] == "not-applicable":
            assert found.state == "not-applicable"
        elif "found" in rest:
            assert found.state == "found"
        elif not looks:
            assert found.state == "not-looked-at"
        elif looks[-1] == "repaired":
            assert found.state == "repaired"
        else:
            last = [event for event in events if event.body.result in ("clear", "repaired")][-1]  # type: ignore[union-attr]
            if looks[-1] == "clear":
                since = ledger.gained(
                    ("part", wing), "flights", ledger.orders.last_point(last.id)
                ).low
                assert found.state == ("clear" if since < 8 else "due-again")


@given(seasons())
def test_an_open_notice_is_a_reason_where_the_part_is_and_nowhere_else(sheets: Sheets) -> None:
    ledger = sheets.ledger()
    for jet in JETS:
        reasons = {
            reason.subject
            for reason in judge_aircraft(ledger, jet, ON).reasons
            if reason.kind == "notice"
        }
        here = {
            name
            for name, state in states(ledger).items()
            if jet in state.asked.hosts and state.is_open
        }
        # Clear, but the next flight would pass its count: a reason already.
        near = {
            name
            for name, state in states(ledger).items()
            if jet in state.asked.hosts and state.limits and not state.is_open
        }
        assert here <= reasons <= here | near


@given(seasons(lot=None))
def test_an_unknown_lot_is_never_clear_by_itself(sheets: Sheets) -> None:
    found = states(sheets.ledger())["wl-1"]
    if not found.looks:
        assert (found.state, found.is_open) == ("cannot-tell", True)
    assert found.asked.verdict.answer == "cannot-tell"


@given(st.sampled_from(["B14", "B99", None]), st.sampled_from([None, "left", "right"]))
def test_one_no_is_enough_and_else_one_unknown_is(lot: str | None, side: str | None) -> None:
    sheets = begin(lot)
    keys = {key: value for key, value in (("lot", lot), ("side", side)) if value is not None}
    sheets.part("wl-1", "wing", **keys)
    # Its position tells the side where its file does not.
    found = states(sheets.ledger())["wl-1"].asked.verdict.answer
    if lot == "B99" or side == "right":
        assert found == "no"
    else:
        assert found == ("cannot-tell" if lot is None else "yes")


@given(
    st.text("ABc", max_size=2),
    st.integers(0, 400),
    st.integers(0, 400),
    st.integers(0, 400),
    st.sampled_from(["-", " to ", "..", "–"]),  # noqa: RUF001
)
def test_a_lot_is_in_a_range_by_its_number(
    head: str, first: int, last: int, number: int, between: str
) -> None:
    low, high = sorted((first, last))
    found = parse_range(f"{head}{low}{between}{head}{high}")
    assert found is not None
    assert match_lot(f"{head}{number}", (found,)) == ("yes" if low <= number <= high else "no")
    assert match_lot(f"{head} {number:04d}", (found,)) == ("yes" if low <= number <= high else "no")
    assert match_lot(None, (found,)) == match_lot("unknown", (found,)) == "cannot-tell"
    assert match_lot(f"x{number}", (found,)) == ("no" if head else "cannot-tell")


@given(st.text(max_size=12), st.text(max_size=12))
def test_any_words_give_an_answer(text: str, lot: str) -> None:
    found = parse_range(text)
    assert found is None or isinstance(found, LotRange)
    if found is not None:
        assert match_lot(lot, (found,)) in ("yes", "no", "cannot-tell")
        assert match_lot(lot, ()) == "yes"


@given(st.dictionaries(st.integers(0, 6), st.lists(st.integers(0, 6), max_size=3), max_size=7))
def test_a_ring_of_jobs_is_named_just_where_there_is_one(links: dict[int, list[int]]) -> None:
    """Held to the plain definition: from a job one comes back to itself."""
    sheets = Sheets()
    for n, waits in links.items():
        ids = [f"job{other}a" for other in waits if other in links]
        sheets.add(
            "job", "2026-03-02", f"job{n}a", aircraft="heron", text=f"job {n}", waits_for=ids
        )
    ledger = sheets.ledger()
    on_a_ring = {job.id for ring in find_circles(ledger) for job in ring}
    reached = {n: {o for o in waits if o in links} for n, waits in links.items()}
    for _ in links:
        for n in links:
            reached[n] |= {far for near in reached[n] for far in reached[near]}
    back = {f"job{n}a" for n in links if n in reached[n]}
    assert on_a_ring <= back
    assert bool(on_a_ring) == bool(back)
    assert len(fold_jobs(ledger)) == len(links)


def test_every_open_state_counts_as_open() -> None:
    assert set(OPEN) == {"cannot-tell", "found", "not-looked-at", "due-again", "not-repaired"}
