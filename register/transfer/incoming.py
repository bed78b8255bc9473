"""A handover file as it was opened, beside this fleet: what is asked of it, what it holds."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

from msgspec import Struct

from register.ledger.ledger import Ledger
from register.transfer.arrival import Naming
from register.transfer.beside import Compared
from register.transfer.manifest import LeftOut


class Wanted(Struct, frozen=True):
    """What the receiver asks for: names here of things there, a name for the aircraft, the
    sender's public key (its bytes), and whether a signature that is wrong may pass."""

    names: dict[str, str]
    as_name: str | None = None
    key: bytes | None = None
    unverified: bool = False


class Signature(Struct, frozen=True):
    """Who signed: `none`, `unknown` (it holds; the key was not compared), `good` (by the key
    given), `wrong` (by another key, or altered)."""

    state: str
    fingerprint: str | None = None

    @property
    def signer(self) -> str | None:
        """The key that signed this very file; None where none did."""
        return self.fingerprint if self.state in ("good", "unknown") else None


class Arrival(Struct, frozen=True):
    """A handover file that kept all rules, beside this fleet; nothing is written yet.

    `standing` are standing files that are here already and stay as they are; `marks` say
    where a registration is one of this fleet's too; `declares` what fleet.yaml lacks; `differs`
    are lines of the sender's that make other days due, which this fleet's owner decides;
    `come_true` are parts that were known by name alone until now; `signed_before` is the key
    that the file before was signed with, if it was; `serials` say which new parts have the
    serial of one that is here.
    """

    aircraft: str
    title: str
    day: date
    tip: str
    signature: Signature
    namings: tuple[Naming, ...]
    compared: Compared
    standing: tuple[str, ...]
    marks: tuple[str, ...]
    files: dict[str, bytes]
    base: dict[str, bytes]
    declares: dict[str, Any]
    ledger: Ledger
    earlier: str | None
    returns: bool
    older: bool
    left: LeftOut
    repository: Path
    differs: tuple[str, ...] = ()
    come_true: tuple[str, ...] = ()
    signed_before: str = ""
    serials: tuple[str, ...] = ()

    @property
    def is_update(self) -> bool:
        """Whether an earlier file of the same aircraft was taken in before."""
        return self.earlier is not None

    @property
    def other_hand(self) -> str:
        """Why this may not be from who sent the file before: `unsigned` where that one was
        signed, `another key`; empty where nothing speaks for it."""
        if not self.signed_before or self.signature.fingerprint == self.signed_before:
            return ""
        return "unsigned" if self.signature.state == "none" else "another key"

    @property
    def local_name(self) -> str:
        """What the aircraft is called here."""
        return next(naming.ours for naming in self.namings if naming.shelf == "aircraft")


def name_arrival(arrival: Arrival) -> tuple[str, tuple[str, ...]]:
    """The aircraft and the parts that came with it, as records name them."""
    records = arrival.ledger.records
    stubs = {*arrival.left.parts}
    parts = tuple(
        f"{naming.ours}.{records.parts[naming.theirs].id}"
        for naming in arrival.namings
        if naming.shelf == "parts" and naming.theirs not in stubs
    )
    return f"{arrival.local_name}.{records.aircraft[arrival.aircraft].id}", parts


def compare_totals(own: Ledger, arrival: Arrival) -> tuple[str, ...]:
    """Totals that come out otherwise here than in the file, after it was taken in for the
    first time; later both sides have facts of their own."""
    if arrival.is_update or arrival.returns:
        return ()
    found = []
    stubs = {*arrival.left.parts}
    for naming in arrival.namings:
        if naming.shelf not in ("aircraft", "parts") or naming.theirs in stubs:
            continue
        kind = "aircraft" if naming.shelf == "aircraft" else "part"
        theirs, ours = (kind, naming.theirs), (kind, naming.ours)
        for counter in arrival.ledger.listed_counters(theirs):
            there, here = arrival.ledger.value(theirs, counter), own.value(ours, counter)
            if (there.low, there.high) != (here.low, here.high):
                found.append(f"{naming.ours} {counter}: {here.low} here, {there.low} in the file")
    return tuple(found)
