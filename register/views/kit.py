"""Kits: the list of them, and one with its positions and per-flight figures."""

from __future__ import annotations

from msgspec import Struct

from register.ledger.ledger import Ledger
from register.records.standing_files import KitFile


class KitLine(Struct, frozen=True):
    """One kit, and the aircraft built from it."""

    file: KitFile
    aircraft: tuple[str, ...]


class KitsView(Struct, frozen=True):
    """The answer to `kit`; `one` when a single kit was asked for."""

    complete: bool
    unread: tuple[str, ...]
    lines: tuple[KitLine, ...]
    one: bool


def view_kits(ledger: Ledger, unread: tuple[str, ...], name: str | None = None) -> KitsView:
    """All kits, or one."""
    kits = ledger.records.kits
    names = [name] if name is not None else sorted(kits)
    lines = tuple(KitLine(kits[item], _built_from(ledger, kits[item])) for item in names)
    return KitsView(not unread, unread, lines, name is not None)


def _built_from(ledger: Ledger, kit: KitFile) -> tuple[str, ...]:
    return tuple(
        name
        for name, file in sorted(ledger.records.aircraft.items())
        if file.kit is not None
        and ((file.kit.id is not None and file.kit.id == kit.id) or file.kit.name == kit.name)
    )
