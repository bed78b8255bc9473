"""Laws of the balance: no datum changes it, nothing tried and undone leaves a trace."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from register.records.balance import Balance, Limits, Standing, Tank
from register.records.values import UNSTATED
from register.records.workshop_bodies import Weighing, Weight
from register.trouble import Place
from register.workshop.balance import (
    Change,
    Load,
    Row,
    Sheet,
    add_row,
    apply_changes,
    find_ballast,
    judge_cg,
    judge_class,
    list_states,
    make_row,
    take_row,
)
from register.workshop.weighing import find_faults, make_load

HERE = Place("x")
masses = st.decimals("0.001", "20", places=3)
arms = st.decimals(-2000, 2000, places=1)
sides = st.one_of(st.none(), st.decimals(-400, 400, places=1))


@st.composite
def rows(draw: st.DrawFn) -> tuple[Row, ...]:
    """Masses with names of their own."""
    count = draw(st.integers(1, 6))
    return tuple(make_row(f"r{n}", draw(masses), draw(arms), draw(sides)) for n in range(count))


def layout(shift: Decimal = Decimal(0), *, full: Decimal | None = Decimal("2.9")) -> Balance:
    """A tricycle whose arms all count from a datum that lies `shift` further back."""

    def point(name: str, arm: int, track: int) -> tuple[str, Standing]:
        return name, Standing(name, arm - shift, Decimal(track), HERE)

    points = dict([point("nose", -655, 0), point("left", 222, -305), point("right", 222, 305)])
    limits = Limits(78 - shift, 108 - shift, "any", UNSTATED, HERE)
    tank = Tank(140 - shift, Decimal(0), full, Decimal("0.2"), None, UNSTATED, HERE)
    return Balance(
        "d", points, None, limits, Decimal(4), UNSTATED, None, Decimal(0), tank, (), {}, False, {},
        None, HERE,
    )  # fmt: skip


def weigh(nose: Decimal, left: Decimal, right: Decimal, tanks: str) -> Weighing:
    """Three scales."""
    weights = (Weight("nose", nose, Decimal(0)), Weight("left", left, Decimal(0)),
               Weight("right", right, Decimal(0)))  # fmt: skip
    return Weighing(None, weights, tanks, None, None)


@given(rows(), arms)
def test_the_centre_of_gravity_moves_with_the_datum_and_by_nothing_else(
    listed: tuple[Row, ...], shift: Decimal
) -> None:
    here = Sheet(listed)
    there = Sheet(
        tuple(
            Row(
                row.name, row.mass, None if row.arm is None else row.arm - Fraction(shift), row.side
            )
            for row in listed
        )
    )
    assert here.cg is not None
    assert there.cg == here.cg - Fraction(shift)
    assert (there.mass, there.side) == (here.mass, here.side)


@given(masses, masses, masses, st.sampled_from(["empty", "full", "not-stated"]), arms)
def test_no_datum_changes_a_verdict(
    nose: Decimal, left: Decimal, right: Decimal, tanks: str, shift: Decimal
) -> None:
    body = weigh(nose, left, right, tanks)
    here, there = layout(), layout(shift)
    ours = list_states(make_load(body, here), here)
    theirs = list_states(make_load(body, there), there)
    for one, two in zip(ours, theirs, strict=True):
        assert (one.name, one.low, one.high, one.side) == (two.name, two.low, two.high, two.side)
        a, b = judge_cg(one, here), judge_cg(two, there)
        assert (a.state, a.by) == (b.state, b.by)
    assert [f.point for f in find_faults(body.weights, here)] == [
        f.point for f in find_faults(body.weights, there)
    ]


@given(rows(), masses, arms, sides)
def test_added_and_taken_away_restores_the_sheet_to_the_last_digit(
    listed: tuple[Row, ...], mass: Decimal, arm: Decimal, side: Decimal | None
) -> None:
    start = Sheet(listed)
    row = make_row("pack", mass, arm, side)
    assert take_row(add_row(start, row), row) == start
    assert add_row(take_row(start, row), row) == start


@given(rows(), st.lists(st.tuples(masses, arms, sides), max_size=5), st.randoms())
def test_several_undone_in_any_order_restore_it(
    listed: tuple[Row, ...], tried: list[tuple[Decimal, Decimal, Decimal | None]], chance: object
) -> None:
    start = Sheet(listed)
    changes = [Change("", (make_row(f"t{n}", *one),)) for n, one in enumerate(tried)]
    undone = [
        Change("", tuple(Row(r.name, -r.mass, r.arm, r.side) for r in change.rows))
        for change in changes
    ]
    chance.shuffle(undone)  # type: ignore[attr-defined]
    assert apply_changes(apply_changes(start, changes), undone) == start


@given(rows(), masses, arms, arms)
def test_moved_there_and_back_is_where_it_was(
    listed: tuple[Row, ...], mass: Decimal, start: Decimal, end: Decimal
) -> None:
    item, moved = make_row("pack", mass, start, 0), make_row("pack", mass, end, 0)
    there = add_row(take_row(Sheet((*listed, item)), item), moved)
    assert add_row(take_row(there, moved), item) == Sheet((*listed, item))


@given(rows(), arms, arms)
def test_ballast_brings_it_to_the_limit_exactly_or_is_refused(
    listed: tuple[Row, ...], limit: Decimal, arm: Decimal
) -> None:
    start = Sheet(listed)
    assert start.cg is not None
    line, where = Fraction(limit), Fraction(arm)
    needed = find_ballast(start.mass, start.cg, line, where)
    if needed is None:
        # It lies on the wrong side: more there only moves it further off.
        assert where == line or (where - line) * (line - start.cg) < 0
    elif needed:
        assert add_row(start, Row("ballast", needed, where, None)).cg == line


@given(masses, masses, st.decimals("0.1", "5", places=2))
def test_what_is_not_known_of_the_fuel_only_widens_the_answer(
    nose: Decimal, main: Decimal, full: Decimal
) -> None:
    where = layout(full=full)
    unknown = list_states(make_load(weigh(nose, main, main, "not-stated"), where), where)
    ends = [
        list_states(make_load(weigh(nose, main, main, tanks), where), where)
        for tanks in ("empty", "full")
    ]
    for name in ("tanks empty", "tanks full"):
        wide = next(state for state in unknown if state.name == name)
        for exact in (next(s for s in states if s.name == name) for states in ends):
            assert exact.mass is not None
            assert wide.high is not None
            assert wide.low <= max(exact.mass, Fraction(0)) <= wide.high
        assert wide.cg is None


@given(masses, st.decimals("0.1", "40", places=2))
def test_a_class_is_never_told_where_it_cannot_be(mass: Decimal, limit: Decimal) -> None:
    where = layout(full=None)
    load = Load(Sheet((make_row("all", mass, 100, 0),)), None, None)
    states = list_states(load, where)
    verdict = judge_class(states, "with-fuel", limit)
    assert verdict.state in ("over", "cannot-tell")
    assert judge_class(states, "dry", limit).state != "over"
