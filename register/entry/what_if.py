"""What is tried on a balance, as typed: added, removed, moved, and where ballast could go."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from msgspec import Struct

from register.entry.balance import read_mass
from register.entry.naming import match_name
from register.ledger.ledger import Ledger
from register.records.balance import Balance, Item
from register.records.scalars import NAME_PATTERN
from register.records.units import LENGTH_UNITS, parse_quantity
from register.records.values import format_amount
from register.trouble import RegisterError
from register.views.balance import read_layout
from register.workshop.balance import Change, make_row
from register.workshop.weighing import list_weighings


class TryWords(Struct, frozen=True):
    """What is tried, as typed, and arms at which ballast could go."""

    add: Sequence[str] = ()
    remove: Sequence[str] = ()
    move: Sequence[str] = ()
    ballast_at: Sequence[str] = ()

    @property
    def is_empty(self) -> bool:
        """True when nothing is tried."""
        return not (self.add or self.remove or self.move or self.ballast_at)


def read_changes(ledger: Ledger, aircraft: str, words: TryWords) -> tuple[Change, ...]:
    """What is added, removed and moved. Raises RegisterError (USAGE) on what is not known."""
    layout = read_layout(ledger, aircraft)
    if layout is None or not (layout.points or layout.items):
        raise RegisterError(
            f"no arms of {aircraft} are stated, so nothing can be tried",
            mend=f"write balance: arms: in aircraft/{aircraft}/aircraft.yaml or in its kit",
            code="balance-none",
        )
    found = [_read_add(text, layout) for text in words.add]
    found.extend(_read_remove(text, layout) for text in words.remove)
    found.extend(_read_move(text, layout) for text in words.move)
    if not list_weighings(ledger, aircraft) and not layout.items:
        raise RegisterError(
            f"{aircraft} was never weighed",
            mend=f"tailsheaf balance {aircraft} --weigh …",
            code="weighing-none",
        )
    return tuple(found)


def read_places(words: TryWords) -> tuple[tuple[str, Fraction], ...]:
    """Arms at which ballast could go, as typed."""
    found = []
    for text in words.ballast_at:
        arm = _read_arm(text, f"--ballast-at {text}")
        found.append((f"arm {format_amount(arm)}", Fraction(arm)))
    return tuple(found)


def _read_add(text: str, layout: Balance) -> Change:
    name, mass, arm, side = _read_item(text, layout, "--add")
    row = make_row(name, mass, arm, side)
    return Change(f"with {name} {_mass_words(mass)} at {_arm_words(arm, side)}", (row,))


def _read_remove(text: str, layout: Balance) -> Change:
    name, mass, arm, side = _read_item(text, layout, "--remove")
    row = make_row(name, -mass, arm, side)
    return Change(f"without {name} {_mass_words(mass)} at {_arm_words(arm, side)}", (row,))


def _read_move(text: str, layout: Balance) -> Change:
    """`NAME@TO` of a listed item, or `NAME=MASS@FROM:TO`."""
    head, colon, end = text.partition(":")
    if colon:
        name, mass, arm, side = _read_item(head, layout, "--move")
    else:
        name, at, end = text.partition("@")
        if not at or "=" in name:
            raise _wrong_form("--move", text, "pack=0.62@310:250, or pack@250 of a listed item")
        name, mass, arm, side = _read_item(name, layout, "--move")
    to_arm, to_side = _read_spot(end, "--move", side)
    rows = (make_row(name, -mass, arm, side), make_row(name, mass, to_arm, to_side))
    return Change(
        f"{name} {_mass_words(mass)} moved from {_arm_words(arm, side)} to "
        f"{_arm_words(to_arm, to_side)}",
        rows,
    )


def _read_item(
    text: str, layout: Balance, option: str
) -> tuple[str, Decimal, Decimal, Decimal | None]:
    """NAME, NAME=MASS, NAME@ARM or NAME=MASS@ARM[,SIDE]; a listed item fills in what is left."""
    head, at, spot = text.partition("@")
    name, equals, mass_text = head.partition("=")
    name = name.strip().lower().replace(" ", "-")
    if not NAME_PATTERN.fullmatch(name):
        raise _wrong_form(option, text, "pack=0.62@310")
    listed = {**layout.ballast, **layout.items}
    item: Item | None = listed.get(name)
    if item is None and not (equals and at):
        name = match_name(name, listed, "item", add=f"{option} {name}=MASS@ARM")
        item = listed[name]
    mass = read_mass(mass_text, option).value if equals else (item.mass if item else None)
    arm, side = (item.arm, item.side) if item is not None else (None, None)
    if at:
        arm, side = _read_spot(spot, option, None)
    if not mass or arm is None:
        what = "mass" if not mass else "arm"
        raise RegisterError(
            f"{option} {text[:40]!r}: the {what} of {name} is not known",
            mend=f"{option} {name}=0.62@310   (kilograms, at millimetres aft of the datum)",
            code="item-unknown-figure",
        )
    return name, mass, arm, side


def _read_spot(text: str, option: str, side: Decimal | None) -> tuple[Decimal, Decimal | None]:
    arm, comma, across = text.partition(",")
    return _read_arm(arm, option), _read_arm(across, option) if comma else side


def _read_arm(text: str, option: str) -> Decimal:
    found = parse_quantity(text, LENGTH_UNITS)
    if found is None:
        raise RegisterError(
            f"{option}: {text.strip()[:20]!r} is not an arm",
            mend="write millimetres from the datum, aft positive: 310, or -560",
            code="arm-wrong",
        )
    return found.value


def _wrong_form(option: str, text: str, form: str) -> RegisterError:
    return RegisterError(
        f"{option} {text[:40]!r} is not of a form this program reads",
        mend=f"{option} {form}",
        code="item-form",
    )


def _mass_words(mass: Decimal) -> str:
    return f"{format_amount(mass)} kg"


def _arm_words(arm: Decimal, side: Decimal | None) -> str:
    words = f"{format_amount(arm)} mm"
    if side is None:
        return words + " (side not stated)"
    return words + ("" if side == 0 else f", {format_amount(abs(side))} {'R' if side > 0 else 'L'}")
