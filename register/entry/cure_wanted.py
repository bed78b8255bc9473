"""What will have to cure, as typed with a job or snag: the adhesive, and the maker's times."""

from __future__ import annotations

from register.entry.clerk import Clerk
from register.entry.cures import CureWords, read_times
from register.entry.drafting import check_words
from register.entry.kits import plain_basis
from register.entry.sheets import plain_number
from register.records.workshop_bodies import CureWanted
from register.text.nodes import Plain
from register.trouble import RegisterError

_MEND = '--cure "epoxy 30 minutes=3h/24h"   to handling / to full load; or --cure 24h'


def read_cure_wanted(clerk: Clerk, typed: str) -> dict[str, Plain]:
    """`epoxy 30 minutes=3h/24h`, `3h/24h`, `24h`, or an adhesive that has cured here before.

    Raises RegisterError (USAGE).
    """
    adhesive, equals, times = typed.strip().rpartition("=")
    if not equals and _are_times(times):
        adhesive = ""
    elif not equals:
        adhesive, times = times, ""
    if adhesive:
        check_words(adhesive, "adhesive")
    first, stroke, last = (part.strip() for part in times.partition("/"))
    if stroke and not (first and last):
        raise RegisterError(
            f"--cure {typed[:60]!r} gives one time of two", mend=_MEND, code="usage"
        )
    handling, full = (first, last) if stroke else (None, first or None)
    found = read_times(clerk, CureWords((), handling=handling, full=full), adhesive)
    if found.full is None:
        raise RegisterError(
            f"how long does {adhesive or 'it'} cure? no cure of it is recorded here",
            mend=_MEND,
            code="cure-unknown",
        )
    return plain_cure(CureWanted(adhesive, found.handling, found.full, found.basis))


def plain_cure(cure: CureWanted) -> dict[str, Plain]:
    """A cure of a record as written in another one."""
    wanted: dict[str, Plain] = {"adhesive": cure.adhesive} if cure.adhesive else {}
    for key, minutes in (
        ("handling_minutes", cure.handling_minutes),
        ("full_minutes", cure.full_minutes),
    ):
        if minutes is not None:
            wanted[key] = plain_number(minutes)
    return {**wanted, "basis": plain_basis(cure.basis)}


def _are_times(text: str) -> bool:
    return bool(text) and text[0].isdigit() and set(text.lower()) <= set("0123456789:./hdminays ")


def say_cure(wanted: dict[str, Plain]) -> str:
    """The same in words: epoxy, 180 min to handling, 1440 min to full load."""
    words = [str(wanted["adhesive"])] if "adhesive" in wanted else []
    for key, until in (("handling_minutes", "handling"), ("full_minutes", "full load")):
        if key in wanted:
            words.append(f"{wanted[key]} min to {until}")
    return "it will cure: " + ", ".join(words)
