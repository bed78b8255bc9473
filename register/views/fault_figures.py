"""The estimators behind `faults`: growth, likeness of the fleet, cumulative means, comparisons."""

from __future__ import annotations

from collections import Counter

from msgspec import Struct

from register.faults.alike import Likeness, compare_units
from register.faults.concluding import FOUND, count_words, figure_words
from register.faults.cumulative import estimate_cumulative
from register.faults.extra import load_special
from register.faults.grouping import PER, Group, Sorter
from register.faults.results import Curve, p_words
from register.faults.service import gather_faults
from register.faults.trend import Growth, estimate_growth
from register.faults.two_rates import RateComparison, compare_rates
from register.ledger.ledger import Ledger
from register.views.faults import FaultLine, FaultsAsked, scope_of


class KitCurve(Struct, frozen=True):
    """Faults of an aircraft of a kit up to a place on the scale of use."""

    kit: str
    aircraft: tuple[str, ...]
    curve: Curve


class GroupFigures(Struct, frozen=True):
    """What is computed of one group beyond the plain view."""

    line: FaultLine
    growth: Growth | None
    #: Names of the aircraft compared, in the order of the likeness.
    compared: tuple[str, ...]
    likeness: Likeness | None
    likeness_says: str
    curves: tuple[KitCurve, ...]


def view_figures(ledger: Ledger, lines: tuple[FaultLine, ...]) -> tuple[GroupFigures, ...]:
    """Figures of each group that has faults in service and use to count them against.

    Raises RegisterError (CANNOT_RUN) where numpy and scipy are not installed.
    """
    load_special()
    return tuple(_figures(ledger, line) for line in lines if line.count and line.group.exposure)


def _figures(ledger: Ledger, line: FaultLine) -> GroupFigures:
    group = line.group
    used = [one for one in group.exposed if one.watch is not None]
    watches = group.watches
    likeness = None
    if len(used) > 1:
        likeness = compare_units([one.occasions for one in used], [one.exposure for one in used])
    names = tuple(one.aircraft for one in used)
    counted = count_words(group) + ("" if group.occasions == line.count else ",")
    return GroupFigures(
        line,
        estimate_growth(watches[0]) if len(watches) == 1 else None,
        names,
        likeness,
        _likeness_words(names, likeness, counted),
        _curves(ledger, group),
    )


def _curves(ledger: Ledger, group: Group) -> tuple[KitCurve, ...]:
    records = ledger.records
    by_kit: dict[str, list[str]] = {}
    watches = {one.aircraft: watch for one in group.exposed if (watch := one.every) is not None}
    for name in watches:
        kit = records.find_kit(records.aircraft[name].kit)
        if kit is not None:
            by_kit.setdefault(kit.name, []).append(name)
    found = []
    for kit_name, names in sorted(by_kit.items()):
        listed = [watches[name] for name in names]
        if len(listed) > 1 and any(watch.times for watch in listed):
            found.append(KitCurve(kit_name, tuple(names), estimate_cumulative(listed)))
    return tuple(found)


def _likeness_words(names: tuple[str, ...], likeness: Likeness | None, counted: str) -> str:
    """Whether one aircraft is unlike its sisters, or it is chance."""
    if likeness is None:
        return ""
    test, odd = likeness.ratio_test, likeness.oddest
    if test.too_few or odd is None:
        return (
            f"whether one aircraft is unlike the others: too few to tell ({counted} on "
            f"{len(names)} aircraft)"
        )
    p = test.p if test.p is not None else 1.0
    name = names[odd.unit]
    if p < FOUND and odd.p < FOUND:
        ratio = odd.against_rest.ratio
        times = f"{figure_words(ratio.value)} times" if ratio.value is not None else "many times"
        return f"{name} is unlike the others: {times} their rate (p {p_words(odd.p)})"
    if p < FOUND:
        return f"the aircraft are not alike (p {p_words(p)}), but no single one stands out"
    return f"no aircraft is seen to be unlike the others; {name} differs most, p {p_words(odd.p)}"


class Compared(Struct, frozen=True):
    """One group on both sides: count and use of each, and the ratio where both were used."""

    label: str
    counter: str
    first: tuple[int, float]
    second: tuple[int, float]
    result: RateComparison | None


class CompareView(Struct, frozen=True):
    """The answer to `faults --compare`: all faults first, then each group."""

    names: tuple[str, str]
    kind: str
    rows: tuple[Compared, ...]
    says: str


def view_compare(
    ledger: Ledger, asked: FaultsAsked, kind: str, names: tuple[str, str]
) -> CompareView:
    """Two aircraft, or two seasons. Raises RegisterError (CANNOT_RUN) without the extra."""
    scope = scope_of(ledger, asked)
    if kind == "aircraft":
        scope = type(scope)(
            names, scope.since, scope.until, scope.part, scope.chapter, scope.mode, False
        )
    sorter = Sorter(ledger, gather_faults(ledger), scope, compares=True)
    groups = [*sorter.group(()), *sorter.group(asked.by)]
    rows = [_compare(group, kind, names) for group in groups if group.faults]
    if not rows:
        return CompareView(names, kind, (), "No faults in service on either side.")
    return CompareView(names, kind, tuple(rows), _compare_words(rows[0], names))


def _compare(group: Group, kind: str, names: tuple[str, str]) -> Compared:
    if kind == "aircraft":
        sides = {one.aircraft: (one.count, one.exposure) for one in group.exposed}
    else:
        sides = {str(year): (count, used) for year, count, used in group.seasons}
    first, second = (sides.get(name, (0, 0.0)) for name in names)
    result = None
    if first[1] > 0 and second[1] > 0:
        # Several faults of one aircraft and day are one occasion, and no evidence of a rate each.
        days = {(fault.aircraft, fault.day, fault.season) for fault in group.faults}
        at = Counter(str(season) if kind == "season" else name for name, _, season in days)
        result = compare_rates((at[names[0]], first[1]), (at[names[1]], second[1]))
    return Compared(group.label or "all faults", group.counter, first, second, result)


def _compare_words(row: Compared, names: tuple[str, str]) -> str:
    """What may be said of all faults together."""
    if row.result is None:
        idle = [
            name for name, side in zip(names, (row.first, row.second), strict=True) if not side[1]
        ]
        return f"{' and '.join(idle)}: no use is recorded, so nothing can be compared."
    ratio, test = row.result.ratio, row.result.conditional
    ends = (
        f"between {figure_words(ratio.low or 0)} and "
        f"{'any' if ratio.high is None else figure_words(ratio.high)} times that of {names[1]}"
    )
    if test.too_few:
        return f"Too few to tell: the rate of {names[0]} is {ends}."
    p = test.p if test.p is not None else 1.0
    if p < FOUND:
        more = "higher" if test.direction > 0 else "lower"
        return f"The rate of {names[0]} is {more}: {ends} (p {p_words(p)}, conditional test)."
    return (
        f"No difference is seen (p {p_words(p)}, conditional test); the rate of {names[0]} is "
        f"{ends}. A threefold one would more often have been seen than missed."
    )


def per_words(counter: str) -> str:
    """What a rate is counted in: 100 flights, 10 engine hours."""
    return PER[counter][1]
