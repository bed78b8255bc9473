"""Torques on screens: always with their basis, what they assume, and the caution."""

from __future__ import annotations

from collections.abc import Iterable

from cli.render.screen import Screen, Span, Words
from register.records.joints import StatedTorque
from register.views.fasteners import JointLine, LotLine
from register.workshop.torque import ASK_MAKER, CAUTION, OWNER_MEASURED, REOPENED, NoTorque, Torque


def number(value: float, places: int = 3) -> str:
    """Three figures for a torque or a load; `places` after the point for a length."""
    text = f"{value:.{places}f}" if places != 3 else f"{value:.3g}"
    if "e" in text:
        text = f"{value:.0f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def torque_notes(joints: Iterable[JointLine]) -> list[str]:
    """What the torques of a table rest on, each basis once, in order of the table."""
    notes: list[str] = []
    for line in joints:
        stated = line.fitted.joint.torque
        for lot in line.lots:
            note = _note_of(stated if lot.lot.since is None else None, lot.torque)
            if note is not None and note not in notes:
                notes.append(note)
    return [f"[{n}] {note}" for n, note in enumerate(notes, 1)]


def _note_of(stated: StatedTorque | None, found: Torque | NoTorque) -> str | None:
    if stated is not None:
        return f"as stated for the joint: {stated.basis.text}"
    if isinstance(found, NoTorque):
        return None if found.says.startswith(OWNER_MEASURED) else found.says
    if found.ask_maker:
        return ASK_MAKER
    return (
        f"computed T = K·F·d: K {found.factor.k:g}, {found.factor.says} ({found.factor.source}); "
        f"F = {REOPENED} x proof load at {found.strength.mpa:g} MPa ({found.strength.source}); "
        f"assumes {'; '.join(found.assumes)}"
    )


def torque_cell(line: JointLine, lot: LotLine, notes: list[str]) -> Words:
    """A torque in a table: its figure and the number of its note, or why there is none."""
    stated = line.fitted.joint.torque if lot.lot.since is None else None
    note = _note_of(stated, lot.torque)
    mark = next((text.partition("]")[0] + "]" for text in notes if text.endswith(f"] {note}")), "")
    if stated is not None:
        return f"{number(float(stated.value))} N·m {mark}"
    if isinstance(lot.torque, Torque) and lot.torque.ask_maker:
        return f"- {mark}"
    if isinstance(lot.torque, Torque):
        return f"{number(lot.torque.newton_metres)} N·m {mark}"
    if lot.torque.says.startswith(OWNER_MEASURED):
        return "owner-measured"
    return f"not known {mark}"


def add_torque(
    screen: Screen,
    stated: StatedTorque | None,
    found: Torque | NoTorque,
    more: Iterable[str] = (),
) -> None:
    """The torque of one screw in full, what else is known of it, and the caution."""
    computed = found.newton_metres if isinstance(found, Torque) else None
    is_high = (
        stated is not None and computed is not None and float(stated.value) > computed / REOPENED
    )
    screen.line(Span("torque", "strong"), 2)
    if stated is not None:
        value = number(float(stated.value))
        counts = "; the stated one counts" if computed is not None and not is_high else ""
        screen.line(f"stated    {value} N·m, {stated.basis.text}{counts}", 4, 2)
    if isinstance(found, NoTorque):
        if stated is None or not found.says.startswith(OWNER_MEASURED):
            screen.line(found.says, 4, 2)
    else:
        _computed(screen, found)
        if found.ask_maker:
            screen.line(Span(ASK_MAKER, "attend"), 4, 2)
        if is_high:
            words = "the stated torque is above what takes the screw to its proof load"
            screen.line([Span("HIGH", "stop"), f" {words}"], 4, 2)
    for words in more:
        screen.line(words, 4, 2)
    screen.line(Span(CAUTION, "attend"), 4)


def _computed(screen: Screen, found: Torque) -> None:
    screen.line(f"computed  {number(found.newton_metres)} N·m = K·F·d", 4)
    for words in (
        f"K {found.factor.k:g}: {found.factor.says} ({found.factor.source})",
        f"F {number(found.preload / 1000)} kN: {REOPENED} x proof load "
        f"{number(found.proof_load / 1000)} kN, for a joint opened again (Shigley)",
        f"proof load: {found.strength.mpa:g} MPa ({found.strength.source}) x "
        f"{number(found.area, 2)} mm²",
        f"assumes {'; '.join(found.assumes)}",
    ):
        screen.line(words, 14, 2)
