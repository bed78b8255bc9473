"""A mailbox's part of a sync: read what other machines posted, post what the box has not."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from register.git.arriving import accept, read_past
from register.git.bundles import keep_bundle, read_bundle_head, write_bundle
from register.git.heads import read_tip
from register.git.merging import MergeTrees
from register.git.reaching import find_commits, is_reached
from register.git.repository import read_own_marker
from register.storage.carriers import Carrier
from register.storage.journal import machine_id
from register.storage.mailbox import (
    Letter,
    clear_own,
    drop_halves,
    drop_letter,
    list_letters,
    new_letter,
    open_letter,
    post_letter,
)
from register.trouble import Exit, RegisterError


class Wait(Struct, frozen=True):
    """A letter in a mailbox that cannot be read: whose, which, why, and since what day."""

    machine: str
    number: int
    why: str
    since: str


class Exchange(Struct, frozen=True):
    """What one carrier gave and took. `heard`: machine -> letters read; `waits`: what is not
    there yet; `trouble`: why the carrier did not work."""

    carrier: str
    where: str
    heard: tuple[tuple[str, int], ...] = ()
    waits: tuple[Wait, ...] = ()
    sent: bool = False
    trouble: str | None = None
    mend: str | None = None


def hear_box(root: Path, carrier: Carrier, today: str) -> tuple[Carrier, Exchange]:
    """Read every letter whose history is not here and that builds on what is.

    A later letter holds what an earlier one of the same machine did: only the last are waited for.
    """
    past = read_past(root)
    heard: list[tuple[str, int]] = []
    waits: list[tuple[Letter, str]] = []
    for machine, letters in list_letters(Path(carrier.where), carrier.fleet).items():
        count = 0
        missing: list[tuple[Letter, str]] = []
        for letter in letters:
            why = "" if letter.tip in past else read_letter(root, carrier, letter, past)
            if why:
                missing.append((letter, why))
            else:
                missing = []
                count += letter.tip not in past
                past = read_past(root) if letter.tip not in past else past
        if count:
            heard.append((machine, count))
        waits.extend(missing)
    waiting = {
        name: carrier.waiting.get(name, today)
        for name in (f"{letter.machine}/{letter.number}" for letter, _ in waits)
    }
    told = tuple(
        Wait(letter.machine, letter.number, why, waiting[f"{letter.machine}/{letter.number}"])
        for letter, why in waits
    )
    return replace(carrier, waiting=waiting), Exchange(
        carrier.name, carrier.where, tuple(heard), told
    )


def read_letter(root: Path, carrier: Carrier, letter: Letter, past: frozenset[str]) -> str:
    """Bring one letter's history here; else why it is left lying, in a few words."""
    with open_letter(letter) as handle:
        if handle is None:
            return "is not wholly there yet"
        head = read_bundle_head(handle)
        if head is None or not head.tip.startswith(letter.tip):
            return "is no letter of this program"
        if any(need[:12] not in past for need in head.needs):
            return "builds on one that is not there yet"
        if not keep_bundle(root, handle, head):
            return "holds what git finds damaged"
    try:
        accept(root, head.tip, carrier.fleet, letter.machine)
    except RegisterError as error:
        if error.exit_code is not Exit.REFUSED:
            # The disk's trouble is not the letter's.
            raise
        return f"is refused: {error.says}"
    return ""


def tell_box(root: Path, carrier: Carrier, merge: MergeTrees) -> Exchange:
    """Post what the box has not: nothing where any reader of the box arrives here anyway."""
    done = Exchange(carrier.name, carrier.where)
    tip = read_tip(root, f"refs/heads/{read_own_marker(root).branch}")
    own = machine_id(root) or ""
    box = Path(carrier.where)
    if halves := clear_own(box, carrier.fleet, own):
        # What a sync that died had posted without its sum, and this fleet holds.
        past = read_past(root)
        drop_halves([letter for letter in halves if letter.tip in past])
    letters = list_letters(box, carrier.fleet)
    # What this machine posted counts only while the box still holds it whole.
    there = [*_readable(letters.get(own, ()))]
    there.extend(x for machine, listed in letters.items() if machine != own for x in listed)
    tips = find_commits(root, (letter.tip for letter in there))
    if tip is None or is_reached(root, tip, tuple(tips.values()), merge):
        return done
    known = [tips[x.tip] for x in there if x.machine == own and x.tip in tips]
    number = max((letter.number for letter in letters.get(own, ())), default=0) + 1
    target = new_letter(root)
    try:
        write_bundle(root, target, tip, known)
        post_letter(box, carrier.fleet, own, number, tip, target)
    finally:
        drop_letter(target)
    return replace(done, sent=True)


def _readable(own: Sequence[Letter]) -> list[Letter]:
    """This machine's own letters that a reader can open: all whole, back to one that needs none.

    Where one was damaged in the box, the next letter holds everything.
    """
    found: list[Letter] = []
    for letter in reversed(own):
        with open_letter(letter) as handle:
            head = None if handle is None else read_bundle_head(handle)
        if head is None:
            return []
        found.append(letter)
        if not head.needs:
            return found
    return []
