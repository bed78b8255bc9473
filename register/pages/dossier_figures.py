"""Sections of a dossier: throws, mass and balance, fasteners, lines and air."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from register.pages.blocks import (
    ATTEND,
    FINE,
    PLAIN,
    STOP,
    Block,
    Head,
    Listed,
    Pairs,
    Row,
    Section,
    Table,
    Words,
)
from register.pages.dossier_first import mass_words
from register.pages.dossier_words import NOTHING, day_of, plural
from register.records.values import Basis, format_amount
from register.views.balance import ClassLine, StateLine
from register.views.dossier import DossierView
from register.views.fasteners import JointLine, LotLine
from register.views.leaks import LeakLine
from register.views.throws import RateLines, SurfaceState, WayLine
from register.workshop.balance import ClassVerdict, Verdict, rounded
from register.workshop.throws import Difference
from register.workshop.torque import CAUTION as TORQUE_CAUTION
from register.workshop.torque import NoTorque

THROWS_CAUTION = (
    "Measure the throws on the aircraft before flying: your transmitter is not the one they "
    "were set up with. The maker's manual, your rules and the law come first."
)


def throws(view: DossierView) -> Section:
    """Throws asked and last measured, left against right, drift, and each linkage."""
    surfaces = view.throws.surfaces
    rates = [(state, rate) for state in surfaces for rate in state.rates]
    measured = [rate for _, rate in rates if rate.latest is not None]
    blocks: list[Block] = []
    if rates:
        columns = ("surface, rate, way", ">asked", ">last", ">off", ">left/right", ">drift",
                   "measured")  # fmt: skip
        rows = [_throw_row(state, rate, line) for state, rate in rates for line in rate.lines]
        blocks.append(Table(columns, tuple(rows)))
        blocks.append(Words("“!” is more than the tolerance that stands with what is asked. "
                            "Off: from what is asked. Drift: since set-up.", FINE))  # fmt: skip
    readings = tuple(
        f"{state.surface.name}: {item.name} {item.last.value} {item.last.unit} on {item.last_on}"
        for state in surfaces
        for item in state.readings
    )
    if readings:
        blocks.extend((Head("Readings taken with them"), Listed(readings)))
    linkages = tuple(_linkage_words(state) for state in surfaces if state.linkages)
    if linkages:
        blocks.extend((Head("Linkages as written down"), Listed(linkages)))
    if blocks:
        blocks.append(Words(THROWS_CAUTION, ATTEND))
    else:
        blocks.append(Words(f"No throw is recorded. {THROWS_CAUTION}", ATTEND))
    answer = f"{plural(len(surfaces), 'surface')} described, {len(measured)} of {len(rates)} "
    answer += f"sheets measured; {plural(view.throws.open_items, 'figure')} out."
    return Section("throws", "Throws", answer if rates else "None recorded.", tuple(blocks))


def _throw_row(state: SurfaceState, rate: RateLines, line: WayLine) -> Row:
    measure = rate.measure
    unit = "°" if measure == "degrees" else " mm"
    asked = rate.wanted.way(line.way) if rate.wanted else None
    last = NOTHING
    if line.now is not None:
        found = line.now.in_measure(measure) if measure != "not-stated" else None
        last = f"{found:.1f}{unit}" if found is not None else _as_written(rate, line)
    out = any(
        item is not None and item.within is False for item in (line.off, line.side, line.drift)
    )
    cells = (
        f"{state.surface.title or state.surface.name}, {rate.rate}, {line.way}",
        NOTHING if asked is None else f"{format_amount(asked)}{unit}",
        last,
        _off(line.off),
        _off(line.side),
        _off(line.drift),
        day_of(rate.latest.event) if rate.latest else "never",
    )
    return Row(cells, ATTEND if out else PLAIN)


def _as_written(rate: RateLines, line: WayLine) -> str:
    body = rate.latest.body if rate.latest else None
    written = next((t.value for t in (body.throws if body else ()) if t.way == line.way), None)
    return NOTHING if written is None else f"{format_amount(written)} (measure not stated)"


def _off(found: Difference | None) -> str:
    if found is None:
        return NOTHING
    text = f"{found.amount:+.1f}".replace("-0.0", "+0.0")
    return f"{text} !" if found.within is False else text


def _linkage_words(state: SurfaceState) -> str:
    told = []
    for found in state.linkages:
        share = "not computed" if found.share is None else f"uses {found.share:.0%} of the travel"
        servo = found.linkage.servo or "servo not stated"
        trouble = f", {plural(found.open_items, 'thing')} to look at" if found.open_items else ""
        told.append(f"{found.linkage.name} ({servo}) {share}{trouble}")
    return f"{state.surface.title or state.surface.name}: {'; '.join(told)}"


def balance(view: DossierView) -> Section:
    """The last weighing, the centre of gravity with its limits, and the classes of mass."""
    found = view.balance
    blocks: list[Block] = []
    if found.points:
        scales = ("scale", ">reads kg", ">tare", ">net kg", ">arm mm")
        blocks.append(Table(scales, tuple(
            Row((point.point, _kg(point.reading), _kg(point.tare), _kg(point.net),
                 NOTHING if point.arm is None else format_amount(point.arm)))
            for point in found.points
        )))  # fmt: skip
    for side in found.sides:
        if side.name != "now":
            blocks.append(Head(f"{side.name}, with what is still to come"))
        columns = ("tanks", ">mass kg", ">centre of gravity mm", "against the limits")
        blocks.append(Table(columns, tuple(_state_row(line) for line in side.lines)))
    blocks.extend(_limits(view))
    for fault in found.faults:
        blocks.append(Words(f"LOOK: {fault.says}", ATTEND))
    if found.since:
        blocks.append(Head("Recorded since the weighing, and not in these figures"))
        blocks.append(Listed(found.since))
    cautions = found.cautions if blocks else ("Weigh it and find its centre of gravity first.",)
    blocks.extend(Words(words, FINE if blocks else ATTEND) for words in cautions)
    return Section("balance", "Mass and balance", f"{mass_words(view)}.", tuple(blocks))


def _kg(value: object) -> str:
    return "?" if value is None else f"{value:.3f}"


def _state_row(line: StateLine) -> Row:
    state = line.state
    high = state.high
    mass = str(rounded(state.low, 3))
    if high is None:
        mass += " or more"
    elif high != state.low:
        mass = f"{rounded(state.low, 2)} to {rounded(high, 2)}"
    where = state.why_not or "cannot tell" if state.cg is None else str(rounded(state.cg, 1))
    out = line.verdict.state in ("ahead", "behind")
    return Row((state.name, mass, where, _verdict(line.verdict)), ATTEND if out else PLAIN)


def _verdict(verdict: Verdict) -> str:
    words = {
        "ahead": "AHEAD of the forward limit",
        "behind": "BEHIND the aft limit",
        "inside": "inside",
        "no-limits": "no limits stated",
        "not-judged": "limits are for other tanks",
        "cannot-tell": "CANNOT TELL",
    }[verdict.state]
    if verdict.by is None:
        return words
    near = rounded(verdict.by, 1)
    if verdict.state == "inside":
        return f"inside, {near} mm from a limit"
    return f"{words} by {near} mm"


def _limits(view: DossierView) -> Iterator[Block]:
    layout = view.balance.layout
    if layout is None:
        return
    rows = [("datum", layout.datum or "not stated")]
    limits = layout.limits
    if limits is not None:
        ends = ["not stated" if value is None else format_amount(value)
                for value in (limits.forward, limits.aft)]  # fmt: skip
        tanks = limits.tanks.replace("-", " ")
        rows.append(("limits", f"{ends[0]} to {ends[1]} mm, tanks {tanks}{_basis(limits.basis)}"))
    rows.extend(_class_pair(line) for line in view.balance.classes)
    yield Pairs(tuple(rows))


def _basis(basis: Basis) -> str:
    return f" ({basis.text})"


def _class_pair(line: ClassLine) -> tuple[str, str]:
    limit = line.limit
    verdict = _class_words(line.verdicts[0]) if line.verdicts else "cannot tell"
    return f"{format_amount(limit.limit)} kg {limit.kind}", (
        f"{limit.what}{_basis(limit.basis)}: {verdict}"
    )


def _class_words(verdict: ClassVerdict) -> str:
    by = "" if verdict.by is None else f" by {rounded(Fraction(verdict.by), 3)} kg"
    return {
        "under": f"under{by}",
        "over": f"OVER{by}",
        "at": "AT THE LIMIT: whether it is in, the rule says",
    }.get(verdict.state, "cannot tell")


# --- fasteners, lines, air, papers ---------------------------------------------------


def fasteners(view: DossierView) -> Section:
    """What is screwed in, the lines, and the last leak-downs."""
    found = view.fasteners
    blocks: list[Block] = []
    if found.joints:
        columns = ("joint", "zone", "fitted", "key", "thread lock", "torque")
        rows = [_joint_row(line, lot, n) for line in found.joints for n, lot in
                enumerate(line.lots)]  # fmt: skip
        blocks.append(Table(columns, tuple(rows)))
        blocks.append(Words(TORQUE_CAUTION, ATTEND))
    else:
        blocks.append(Words("No fastener is listed."))
    if found.oddities:
        blocks.append(Head("Not as you would expect"))
        blocks.append(Listed(tuple(f"{joint}: {words}" for joint, words in found.oddities)))
    if found.tools:
        blocks.append(Head("Tools it takes"))
        blocks.append(Listed(tuple(f"{t.name}: {', '.join(t.joints)}" for t in found.tools)))
    blocks.append(Head("Lines"))
    blocks.extend(_lines(view))
    if view.leaks.systems:
        blocks.append(Head("Air systems and their last leak-down"))
        blocks.append(Listed(tuple(_air(view))))
        blocks.append(Words(view.leaks.cautions[0], FINE))
    answer = f"{plural(len(found.joints), 'joint')}, {plural(len(found.lines), 'line')} listed."
    return Section("fasteners", "Fasteners and lines", answer, tuple(blocks))


def _joint_row(line: JointLine, lot: LotLine, number: int) -> Row:
    joint = line.fitted.joint
    count = "?" if lot.lot.count is None else str(lot.lot.count)
    fitted = f"{count} x {lot.lot.text}"
    if lot.lot.since is not None:
        fitted += f" (since {day_of(lot.lot.since)})"
    broken = ""
    if line.fitted.broken:
        broken = f" BROKEN: {line.fitted.broken}"
    if line.fitted.is_too_few:
        broken += f"; {line.fitted.holding} hold, {line.fitted.joint.least_holding} must"
    cells = (
        (joint.title or joint.name) + (broken if not number else ""),
        joint.zone or NOTHING,
        fitted,
        lot.key or NOTHING,
        joint.thread_lock or NOTHING,
        _torque(line, lot),
    )
    return Row(cells, STOP if line.fitted.is_too_few else ATTEND if line.fitted.broken else PLAIN)


def _torque(line: JointLine, lot: LotLine) -> str:
    """A torque with its basis; a computed one with the factor it rests on."""
    stated = line.fitted.joint.torque if lot.lot.since is None else None
    if stated is not None:
        return f"{float(stated.value):.3g} N·m ({stated.basis.text})"
    if isinstance(lot.torque, NoTorque):
        return f"none: {lot.torque.says}"
    found = lot.torque
    return (
        f"{found.newton_metres:.3g} N·m (computed, K {found.factor.k:g}: {found.factor.says}; "
        f"assumes {'; '.join(found.assumes)})"
    )


def _lines(view: DossierView) -> Iterator[Block]:
    lines = view.fasteners.lines
    if not lines:
        yield Words("No line is listed.")
        return
    columns = ("line", "kind", "colour", "what for", "from", "to", "passes", "protection")
    yield Table(
        columns,
        tuple(
            Row(
                (
                    line.name,
                    line.medium or NOTHING,
                    line.colour or NOTHING,
                    line.function or NOTHING,
                    line.begins or NOTHING,
                    line.ends or NOTHING,
                    ", ".join(line.route) + (f"; clear of {line.clear_of}" if line.clear_of else "")
                    or NOTHING,
                    line.protection or NOTHING,
                )
            )
            for line in lines
        ),
    )
    for problem in view.fasteners.clashes:
        yield Words(f"LOOK: {problem.says}", ATTEND)


def _air(view: DossierView) -> Iterator[str]:
    for line in view.leaks.systems:
        system = line.system
        least = (
            "" if system.minimum is None else f", never below {format_amount(system.minimum)} bar"
        )
        full = "" if system.full is None else f", filled to {format_amount(system.full)} bar"
        last = _leak_words(line.tests[-1]) if line.tests else "no leak-down recorded"
        yield f"{system.title}{full}{least} ({system.basis.text}): {last}"


def _leak_words(line: LeakLine) -> str:
    day = day_of(line.taken[-1].event)
    state = {
        "inside": "inside its limit",
        "out": "OUT of its limit",
        "no-limit": "no limit is stated",
        "waiting": "begun, not ended",
    }.get(line.state, "CANNOT TELL")
    found = line.found
    lost = ""
    if found is not None and found.true_loss is not None:
        lost = f"lost {found.true_loss:.2f} bar in {found.minutes:.0f} min at one temperature, "
    return f"{day}: {lost}{state}" + (f" ({line.why_not})" if line.why_not else "")
