"""Entry of kits: what aircraft of one type share. Also positions and per-flight figures."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from decimal import Decimal

from msgspec import Struct

from register.entry.clerk import Clerk, Plan, Written
from register.entry.naming import check_new_name
from register.entry.openings import match_counter, parse_quantity, split_pair
from register.entry.sheets import Sheet, plain_number
from register.records.kinds import PART_KINDS
from register.records.scalars import NAME_PATTERN
from register.records.standing_files import AircraftFile, KitFile, PaperFile, PartFile, Position
from register.records.values import BASIS_KINDS, Basis
from register.text.nodes import Plain
from register.trouble import RegisterError

_TYPO = 0.8


class KitWish(Struct, frozen=True):
    """What is typed of a kit."""

    title: str | None = None
    positions: tuple[str, ...] = ()
    per_flight: tuple[str, ...] = ()
    basis: str | None = None

    @property
    def is_empty(self) -> bool:
        """Whether nothing was typed."""
        return self == KitWish()


class GivenPosition(Struct, frozen=True):
    """A position as typed: `engine=turbine!`."""

    name: str
    kind: str
    required: bool


def plan_kit(clerk: Clerk, name: str, wish: KitWish, *, is_new: bool) -> Plan:
    """A new kit, or a change of one. Raises RegisterError (usage) on wrong words."""
    records = clerk.ledger.records
    warnings: list[str] = []
    clerk.check_file_read(f"kits/{name.strip().lower()}.yaml", name.strip().lower())
    if is_new:
        name = check_new_name(name, records.kits, "kit")
    path = f"kits/{name}.yaml"
    sheet = Sheet(path, None if is_new else clerk.sources[path], f"# Kit {name}.\n")
    if is_new:
        sheet.set(("id",), clerk.new_id())
    if wish.title or is_new:
        sheet.set(("title",), check_title(wish.title or name), "title")
    known = {} if is_new else records.kits[name].positions
    enter_positions(clerk, sheet, wish.positions, known, warnings)
    enter_per_flight(clerk, sheet, wish.per_flight, wish.basis)
    return finish_plan(clerk, sheet, "kit", name, warnings)


def finish_plan(clerk: Clerk, sheet: Sheet, what: str, name: str, warnings: list[str]) -> Plan:
    """The plan of one changed file, with the sentence that says so."""
    if not sheet.is_changed:
        raise RegisterError(
            f"{sheet.path} says all of that already; nothing was written",
            mend=f"tailsheaf {COMMANDS[what]} {name}   shows it",
            code="nothing-new",
        )
    changed = ", ".join(sheet.touched)
    says = f"{what} {name}, new: {sheet.path}"
    message = f"Add the {what} {name}"
    if not sheet.is_new:
        says = f"{what} {name}: {changed} ({sheet.path})"
        message = f"Change the {what} {name}: {changed}"
    id_ = sheet.id or known_id(clerk, what, name) or ""
    return Plan(
        (sheet.change(),),
        message,
        (says,),
        (Written(id_, sheet.path, what),),
        warnings=tuple(warnings),
    )


COMMANDS = {"kit": "kit", "part": "parts", "aircraft": "aircraft", "paper": "papers"}
"""The command that shows each kind of standing file."""


def known_id(clerk: Clerk, what: str, name: str) -> str | None:
    """The id in a standing file that is there already."""
    records = clerk.ledger.records
    file: KitFile | PartFile | AircraftFile | PaperFile | None
    if what == "kit":
        file = records.kits.get(name)
    elif what == "part":
        file = records.parts.get(name)
    elif what == "aircraft":
        file = records.aircraft.get(name)
    else:
        file = records.papers.get(name)
    return file.id if file else None


def check_title(text: str) -> str:
    """A title: one line of at most 120 characters."""
    title = " ".join(text.split())
    if not title or len(title) > 120:
        raise RegisterError(
            f"{text[:40]!r} cannot be a title",
            mend='--title "Northwind 2.6"   (one line, at most 120 characters)',
            code="title-wrong",
        )
    return title


def parse_basis(text: str | None) -> Basis:
    """`maker: handbook page 12`; words without a known kind before the colon are the owner's."""
    if text is None:
        return Basis("owner")
    kind, colon, reference = text.partition(":")
    word = kind.strip().lower().replace(" ", "-")
    if word in BASIS_KINDS:
        return Basis(word, reference.strip())
    near = difflib.get_close_matches(word, BASIS_KINDS, n=1, cutoff=_TYPO) if colon else []
    if near:
        raise RegisterError(
            f"--basis {text[:40]!r}: no basis is called {word!r}",
            mend=f'--basis "{near[0]}: {reference.strip() or "reference"}"',
            code="basis-unknown",
        )
    return Basis("owner", text.strip())


def plain_basis(basis: Basis) -> dict[str, Plain]:
    """A basis as written in a file."""
    found: dict[str, Plain] = {"kind": basis.kind}
    if basis.reference:
        found["reference"] = basis.reference
    return found


def known_kinds(clerk: Clerk) -> set[str]:
    """Part kinds the program knows, the fleet declares, or a part already has."""
    records = clerk.ledger.records
    return {*PART_KINDS, *records.fleet.part_kinds, *(p.kind for p in records.parts.values())}


def check_kind(clerk: Clerk, typed: str, warnings: list[str]) -> str:
    """A part kind. One that looks like a slip of the pen is refused, another new one is noted."""
    word = re.sub(r"[\s_]+", "-", typed.strip().lower())
    kinds = known_kinds(clerk)
    if word in kinds:
        return word
    near = difflib.get_close_matches(word, sorted(kinds), n=3, cutoff=_TYPO)
    if near or not NAME_PATTERN.fullmatch(word):
        raise RegisterError(
            f"no part kind is called {typed[:40]!r}",
            mend=f"did you mean {' or '.join(near)}?" if near else "use a-z, 0-9 and -",
            code="kind-unknown",
        )
    warnings.append(
        f"{word} is a kind of your own: it counts flights, minutes, landings and engine minutes; "
        f"part_kinds in fleet.yaml says otherwise"
    )
    return word


def parse_position(clerk: Clerk, text: str, warnings: list[str]) -> GivenPosition:
    """`NAME=KIND`, with `!` behind when the aircraft does not fly without it."""
    name, kind = split_pair(text, "--position", "engine=turbine!   (! when it must be filled)")
    word = re.sub(r"[\s_]+", "-", name)
    if not NAME_PATTERN.fullmatch(word):
        raise RegisterError(
            f"{name[:40]!r} cannot be the name of a position",
            mend="use a-z, 0-9 and -, for example aileron-left",
            code="position-wrong",
        )
    required = kind.endswith("!")
    return GivenPosition(word, check_kind(clerk, kind.rstrip("!"), warnings), required)


def enter_positions(
    clerk: Clerk,
    sheet: Sheet,
    typed: Iterable[str],
    known: dict[str, Position],
    warnings: list[str],
) -> None:
    """Put positions into a file; what else an old one says stays."""
    for text in typed:
        given = parse_position(clerk, text, warnings)
        path: tuple[str, ...] = ("positions", given.name)
        old = known.get(given.name)
        said = f"position {given.name}"
        if old is None or sheet.is_new:
            sheet.set(path, {"kind": given.kind, "required": given.required}, said)
            continue
        sheet.replace_keys(path, {"kind": given.kind, "required": given.required}, said)


def enter_per_flight(clerk: Clerk, sheet: Sheet, typed: Iterable[str], basis: str | None) -> None:
    """Put what one flight adds to a counter into a file, with where the figure comes from."""
    for text in typed:
        name, value = split_pair(text, "--per-flight", "engine-minutes=9")
        counter = match_counter(name, clerk.ledger.records.fleet.counters)
        if counter in ("flights", "minutes", "charges"):
            raise RegisterError(
                f"--per-flight: {counter} are recorded flight by flight, not added by themselves",
                mend="tailsheaf fly AIRCRAFT COUNT --minutes N",
                code="per-flight-wrong",
            )
        amount: Decimal = parse_quantity(value, counter)
        sheet.set(
            ("per_flight", counter),
            {"value": plain_number(amount), "basis": plain_basis(parse_basis(basis))},
            f"{counter} per flight",
        )
