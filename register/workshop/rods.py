"""Rod lengths: what three figures say of each other, what a change takes in turns.

Lengthening is positive, and so is a turn out (the end is unscrewed). One end turned alone
moves one pitch for each turn. A rod turned between two fixed ends screws into one as it
screws out of the other if both threads are of one hand: nothing for like pitches, their
difference for unlike ones. With hands opposite, the two pitches add up.
"""

from __future__ import annotations

import math

from msgspec import Struct

from register.records.rods import Rod, RodEnd

_SNUG = 1e-9


class Adjustment(Struct, frozen=True):
    """One way of changing a rod's length.

    `what` is "end 1" (at the servo), "end 2" (at the surface) or "rod". `turns` as computed,
    `done` as they can be refitted; `change` is what `done` gives in millimetres and
    `left` what is still wanted. `engaged` is the thread in each end afterwards; `refused`
    says why it is no set-up, `unknown` what could not be told.
    """

    what: str
    per_turn: float | None
    turns: float | None
    done: float | None
    change: float | None
    left: float | None
    engaged: tuple[float | None, float | None]
    refused: str | None
    unknown: str | None


def length_per_turn(one: RodEnd, other: RodEnd) -> float | None:
    """Millimetres for one turn of the rod between two fixed ends; None when not stated."""
    if one.thread is None or other.thread is None or one.hand is None or other.hand is None:
        return None
    first, second = one.thread.pitch, other.thread.pitch
    if first is None or second is None or "plain" in (one.hand, other.hand):
        return None
    if one.hand == other.hand:
        return abs(float(first) - float(second))
    return float(first) + float(second)


def change_of_turns(end: RodEnd, turns: float) -> float | None:
    """Millimetres that turning one end alone changes the rod by."""
    if end.thread is None or end.thread.pitch is None:
        return None
    return turns * float(end.thread.pitch)


def ways_to_change(rod: Rod, change: float) -> tuple[Adjustment, ...]:
    """The ways to make a rod longer by `change` mm: each end alone, or the rod between them."""
    return (_turn_end(rod, 0, change), _turn_end(rod, 1, change), _turn_rod(rod, change))


def _turn_end(rod: Rod, number: int, change: float) -> Adjustment:
    end, what = rod.ends[number], f"end {number + 1}"
    if end.thread is None or end.thread.pitch is None:
        return _unknown(rod, what, f"thread of {what} is not stated")
    pitch = float(end.thread.pitch)
    turns, step = change / pitch, float(end.turn_step)
    done = _round_to(turns, step)
    engaged = [_engaged(item) for item in rod.ends]
    if engaged[number] is not None:
        engaged[number] = (engaged[number] or 0.0) - done * pitch
    return _adjusted(rod, what, pitch, turns, done, change, (engaged[0], engaged[1]))


def _turn_rod(rod: Rod, change: float) -> Adjustment:
    per_turn = length_per_turn(*rod.ends)
    if per_turn is None:
        return _unknown(rod, "rod", "threads and hands of both ends are not stated")
    if per_turn < _SNUG:
        return _unknown(rod, "rod", "both threads are of one hand: turning the rod changes nothing")
    turns = change / per_turn
    engaged: list[float | None] = []
    # Between unlike pitches of one hand the coarser thread decides which way is longer.
    pitches = [float(end.thread.pitch) for end in rod.ends if end.thread and end.thread.pitch]
    same = rod.ends[0].hand == rod.ends[1].hand
    for number, end in enumerate(rod.ends):
        depth = _engaged(end)
        sign = -1 if same and pitches[number] < pitches[1 - number] else 1
        engaged.append(None if depth is None else depth - sign * turns * pitches[number])
    # Nothing is taken off, so nothing has to be refitted and no turn is rounded.
    return _adjusted(rod, "rod", per_turn, turns, turns, change, (engaged[0], engaged[1]))


def _round_to(turns: float, step: float) -> float:
    """The nearest turn at which the end goes on again; halves away from zero."""
    return math.copysign(math.floor(abs(turns) / step + 0.5) * step, turns) + 0.0


def _engaged(end: RodEnd) -> float | None:
    return None if end.engagement is None else float(end.engagement)


def _unknown(rod: Rod, what: str, why: str) -> Adjustment:
    engaged = (_engaged(rod.ends[0]), _engaged(rod.ends[1]))
    return Adjustment(what, None, None, None, None, None, engaged, None, why)


def _adjusted(
    rod: Rod,
    what: str,
    per_turn: float,
    turns: float,
    done: float,
    change: float,
    engaged: tuple[float | None, float | None],
) -> Adjustment:
    made = done * per_turn
    refused, unknown = judge_engagement(rod, engaged)
    return Adjustment(what, per_turn, turns, done, made, change - made, engaged, refused, unknown)


def judge_engagement(
    rod: Rod, engaged: tuple[float | None, float | None]
) -> tuple[str | None, str | None]:
    """Why a rod is refused as a set-up, and what cannot be told of it.

    The least is in diameters of the thread: the owner's, or 1.5 by common practice (no source).
    """
    unknown = None
    for number, (end, depth) in enumerate(zip(rod.ends, engaged, strict=True), start=1):
        if end.thread is None:
            continue
        if depth is None:
            unknown = unknown or f"thread engaged at end {number} is not stated"
            continue
        least = float(rod.least_engagement) * float(end.thread.diameter)
        if depth < least - _SNUG:
            whose = "the owner's least" if rod.own_least else "common practice, no source"
            found = max(depth, 0.0)
            return (
                f"end {number}: {found:.1f} mm of {end.thread.name} engaged, under "
                f"{least:.1f} mm ({rod.least_engagement} diameters, {whose})"
            ), unknown
        if end.fitting is not None and depth > float(end.fitting) + _SNUG:
            return (
                f"end {number}: {depth:.1f} mm of thread, but the fitting is only "
                f"{float(end.fitting):.1f} mm deep to its pin"
            ), unknown
    return None, unknown


def engaged_now(rod: Rod) -> tuple[float | None, float | None]:
    """The thread in each end as recorded."""
    return _engaged(rod.ends[0]), _engaged(rod.ends[1])


def pins_of_cut(rod: Rod) -> float | None:
    """Pin to pin of a rod from its cut length: what stands out of the fittings, and they.

    Each fitting adds its length from pin to face, less the thread that is inside it.
    """
    if rod.cut is None:
        return None
    total = float(rod.cut)
    for end in rod.ends:
        if end.fitting is None or end.engagement is None:
            return None
        total += float(end.fitting) - float(end.engagement)
    return total


def cut_of_pins(rod: Rod, pin_to_pin: float) -> float | None:
    """The length to cut for a distance from pin to pin; None when fittings are not stated."""
    total = pin_to_pin
    for end in rod.ends:
        if end.fitting is None or end.engagement is None:
            return None
        total -= float(end.fitting) - float(end.engagement)
    return total


def shortest_cut(rod: Rod) -> float | None:
    """The shortest piece of the rod's blank that keeps the least thread at both its ends.

    A blank threaded at its ends only has none in the middle: a piece has thread at both ends
    only if it holds the plain middle whole. None when the blank or its threads are not stated,
    0 where it is threaded all along, infinite where an end has not thread enough.
    """
    blank = rod.blank
    if blank is None or len(blank.threaded) != 2:
        return None
    if sum(blank.threaded) >= blank.length:
        return 0.0
    least = 0.0
    for end, threaded in zip(rod.ends, blank.threaded, strict=True):
        if end.thread is None:
            return None
        wanted = float(rod.least_engagement) * float(end.thread.diameter)
        if float(threaded) < wanted:
            return math.inf
        least += wanted
    return float(blank.length) - float(sum(blank.threaded)) + least
