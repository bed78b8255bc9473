"""Rods of linkages: three lengths kept apart, and what is screwed on at each end."""

from __future__ import annotations

from decimal import Decimal
from typing import TypeVar

from msgspec import Struct

from register.records.fields import Fields
from register.records.lengths import read_positive
from register.records.scalars import read_amount
from register.records.threads import Thread, ThreadError, parse_thread
from register.text.nodes import Scalar, Sequence
from register.trouble import Place

_One = TypeVar("_One")

ROD_MEANINGS = ("cut", "pin-to-pin", "not-stated")
HANDS_OF_THREAD = ("right", "left", "plain")
#: Thread engaged, in diameters, below which a set-up is refused unless the owner says another:
#: common practice, no source.
LEAST_ENGAGEMENT = Decimal("1.5")


class RodEnd(Struct, frozen=True):
    """One end of a rod: thread, hand, depth engaged, what is screwed on.

    `fitting` is millimetres from the pin to the face where the rod goes in. `turn_step` is the
    part of a turn after which the end goes on again: a half for a fork, else a whole one.
    """

    thread: Thread | None
    hand: str | None
    engagement: Decimal | None
    kind: str | None
    fitting: Decimal | None
    turn_step: Decimal


class Blank(Struct, frozen=True):
    """The rod as bought: its length, and how much of each end is threaded."""

    length: Decimal
    threaded: tuple[Decimal, ...]


class Rod(Struct, frozen=True):
    """Kept apart: pin to pin, the cut rod alone, and the thread engaged at each end."""

    pin_to_pin: Decimal | None
    cut: Decimal | None
    ends: tuple[RodEnd, RodEnd]
    least_engagement: Decimal
    own_least: bool
    blank: Blank | None
    place: Place


class ManualRod(Struct, frozen=True):
    """A rod length from a manual, with what it means."""

    length: Decimal
    means: str


def read_rod(fields: Fields) -> Rod:
    """`rod:` of a linkage; an empty one says nothing is stated."""
    least = fields.amount("least_engagement")
    rod = Rod(
        read_positive(fields, "pin_to_pin"),
        read_positive(fields, "cut"),
        _read_ends(fields),
        LEAST_ENGAGEMENT if least is None else least,
        least is not None,
        _read_blank(fields),
        fields.node.place,
    )
    fields.odd_keys(
        ("thread", "hands", "engagement", "fittings", "ends", "forked", "turn_steps", "blank")
    )
    return rod


def _read_ends(fields: Fields) -> tuple[RodEnd, RodEnd]:
    threads = [
        _read_thread(fields, n, text)
        for n, text in enumerate(_two(fields, "thread", _texts(fields, "thread")))
    ]
    hands = _two(fields, "hands", _texts(fields, "hands"))
    kinds = _two(fields, "ends", _texts(fields, "ends"))
    forked = _two(fields, "forked", _texts(fields, "forked"))
    engagement = _two(fields, "engagement", _amounts(fields, "engagement"))
    fittings = _two(fields, "fittings", _amounts(fields, "fittings"))
    steps = _two(fields, "turn_steps", _amounts(fields, "turn_steps"))
    ends = []
    for n in range(2):
        hand = (hands[n] or "").lower() or None
        if hand is not None and hand not in HANDS_OF_THREAD:
            fields.report(
                fields.place("hands"),
                "word-unknown",
                f"hands: {hand!r} is not one of {', '.join(HANDS_OF_THREAD)}",
                "write  hands: [right, left]",
            )
            hand = None
        fork = (forked[n] or "").lower() in ("true", "yes") or (
            forked[n] is None and kinds[n] in ("clevis", "fork")
        )
        step = steps[n] or (Decimal("0.5") if fork else Decimal(1))
        ends.append(RodEnd(threads[n], hand, engagement[n], kinds[n], fittings[n], step))
    return ends[0], ends[1]


def _read_thread(fields: Fields, number: int, text: str | None) -> Thread | None:
    """The thread of one end. The same unknown name at both ends is told once."""
    if text is None or text.lower() == "plain":
        return None
    try:
        return parse_thread(text)
    except ThreadError as error:
        if number == 0 or isinstance(fields.raw("thread"), Sequence):
            fields.report(
                fields.place("thread"),
                "thread-unknown",
                f"thread: {error.says}",
                f"write  thread: {error.for_file}",
            )
    return None


def _texts(fields: Fields, key: str) -> list[str | None]:
    node = fields.raw(key)
    if isinstance(node, Scalar):
        return [node.text.strip()] * 2
    return [text.strip() or None for text in fields.texts(key)]


def _amounts(fields: Fields, key: str) -> list[Decimal | None]:
    found = [read_amount(fields, key, node) for node in fields.scalars(key)]
    return found * 2 if len(found) == 1 and isinstance(fields.raw(key), Scalar) else found


def _two(fields: Fields, key: str, found: list[_One | None]) -> list[_One | None]:
    """One for each end of the rod, servo end first."""
    if len(found) in (0, 2):
        return found or [None, None]
    fields.report(
        fields.place(key),
        "value-shape",
        f"{key}: a rod has two ends, the servo's first; {len(found)} given",
        f"write  {key}: […, …]",
    )
    return [None, None]


def _read_blank(fields: Fields) -> Blank | None:
    inner = fields.mapping("blank")
    if inner is None:
        return None
    length = read_positive(inner, "length")
    threaded = tuple(
        value
        for node in inner.scalars("threaded")
        if (value := read_amount(inner, "threaded", node)) is not None
    )
    inner.odd_keys(("length", "threaded"))
    return Blank(length, threaded[:2]) if length is not None else None


def read_manual_rod(fields: Fields) -> ManualRod | None:
    """`manual_rod:` of a linkage: a manual's figure and which length it means."""
    inner = fields.mapping("manual_rod")
    if inner is None:
        return None
    length = read_positive(inner, "length")
    means = inner.choice("means", ROD_MEANINGS, "not-stated") or "not-stated"
    inner.odd_keys(("length", "means"))
    return ManualRod(length, means) if length is not None else None
