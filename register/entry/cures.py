"""A cure clock as typed: what, which adhesive, mixed when, and the maker's times."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from msgspec import Struct
from msgspec.structs import replace

from register.entry.amounts import read_minutes
from register.entry.clerk import Clerk, Plan, Stamp
from register.entry.drafting import Draft, check_words
from register.entry.kits import parse_basis, plain_basis
from register.entry.places import read_place
from register.entry.subjects import find_subject, folder_of, hosts_of
from register.findings.cures import moment_words
from register.ledger.counters import Subject
from register.records.bodies import Fix, Snag
from register.records.events import Event
from register.records.units import parse_temperature
from register.records.values import Basis, format_amount
from register.records.workshop_bodies import Cure, Job, Modification
from register.text.nodes import Plain
from register.trouble import RegisterError

_DAYS = re.compile(r"(\d{1,3}(?:\.\d{1,3})?) ?d(?:ays?)?")
_COLDEST, _HOTTEST = Decimal(-40), Decimal(300)
_HOLDABLE = (Job, Fix, Modification, Snag)


class CureWords(Struct, frozen=True):
    """A cure as typed. `where` is a position or place; `holds` are ids of what rests on it."""

    words: Sequence[str]
    adhesive: str | None = None
    mixed: str | None = None
    handling: str | None = None
    full: str | None = None
    temperature: str | None = None
    basis: str | None = None
    where: str | None = None
    holds: Sequence[str] = ()

    @property
    def is_empty(self) -> bool:
        """True when nothing but a name was typed."""
        return self == CureWords(())


class Times(Struct, frozen=True):
    """The maker's times in minutes from the mixing, at a temperature, with their basis."""

    handling: Decimal | None
    full: Decimal | None
    temperature: Decimal | None
    basis: Basis
    taken_from: Event | None


def plan_cure(clerk: Clerk, subject: str, words: CureWords, stamp: Stamp) -> Plan:
    """Start a cure clock. Without `--mixed` (or `--at`) it was mixed now.

    Times that are not typed are those of the last cure with this adhesive at this temperature;
    they are never computed for another one.
    """
    draft = Draft(clerk, _stamp_of(words, stamp), takes_time=True)
    where = find_subject(clerk, subject)
    adhesive = (words.adhesive or "").strip()
    if not adhesive:
        raise RegisterError(
            "which adhesive cures there?",
            mend=f'tailsheaf cure {where[1]} hinge block --adhesive "epoxy 30 minutes" --full 24h',
            code="adhesive-none",
        )
    check_words(adhesive, "adhesive")
    _refuse_future(draft)
    times = read_times(clerk, words, adhesive)
    text = " ".join(" ".join(words.words).split())
    place = _read_where(draft, where, words.where)
    held = [_find_held(clerk, item) for item in words.holds]
    body: dict[str, Plain] = {
        where[0]: clerk.ref(where),
        "at": place,
        "text": text or None,
        "adhesive": adhesive,
        "mixed": draft.when.text,
        "handling_minutes": times.handling,
        "full_minutes": times.full,
        "temperature": times.temperature,
        "basis": plain_basis(times.basis),
        "holds": [event.id for event in held] or None,
    }
    draft.write(folder_of(clerk, where), "cure", body)
    draft.touch(where, *(("aircraft", host) for host in _hosts(clerk, where)))
    say_times(draft, where, text or place or adhesive, times)
    _warn_unsaid(draft, times)
    return draft.plan(f"Start a cure on {where[1]}: {text or adhesive}")


def _warn_unsaid(draft: Draft, times: Times) -> None:
    """What the words left open and an option could have said."""
    if times.basis.kind == "unknown" and times.full is not None:
        draft.warn('where the times come from is not stated: --basis "maker: leaflet"')
    if times.temperature is None:
        draft.warn("at which temperature the times hold is not stated: --temperature 18")
    if draft.when.instant is None:
        draft.warn(
            'the time of day is not recorded, so the end of that day counts: --mixed "21:30"'
        )


def _stamp_of(words: CureWords, stamp: Stamp) -> Stamp:
    """The stamp with the time of mixing."""
    if words.mixed is None:
        return stamp
    if stamp.at is not None:
        raise RegisterError(
            "--mixed and --at say the same", mend="give --mixed alone", code="usage"
        )
    return replace(stamp, at=words.mixed)


def _hosts(clerk: Clerk, where: Subject) -> tuple[str, ...]:
    return hosts_of(clerk, where[1]) if where[0] == "part" else ()


def _refuse_future(draft: Draft) -> None:
    clerk, when = draft.clerk, draft.when
    ahead = when.instant is not None and when.instant > clerk.now + timedelta(minutes=1)
    if ahead or when.day > clerk.today:
        raise RegisterError(
            f"it cannot have been mixed at {when.text}: that is still to come",
            mend='--mixed "14:20", or "yesterday 21:30"',
            code="mixed-ahead",
        )


def read_times(clerk: Clerk, words: CureWords, adhesive: str) -> Times:
    """The maker's times as typed, else those of the last cure with the adhesive."""
    handling = _read_span(words.handling, "--handling")
    full = _read_span(words.full, "--full")
    heat = _read_heat(words.temperature)
    if handling is not None and full is not None and handling > full:
        raise RegisterError(
            f"--handling {words.handling} is longer than --full {words.full}",
            mend="the time to handling comes first, then the longer one to full load",
            code="times-crossed",
        )
    if handling is not None or full is not None:
        basis = parse_basis(words.basis) if words.basis is not None else Basis("unknown")
        return Times(handling, full, heat, basis, None)
    for event in reversed(clerk.ledger.events):
        body = event.body
        if (
            isinstance(body, Cure)
            and body.adhesive.casefold() == adhesive.casefold()
            and body.full_minutes is not None
            and (heat is None or body.temperature == heat)
        ):
            return Times(
                body.handling_minutes, body.full_minutes, body.temperature, body.basis, event
            )
    basis = parse_basis(words.basis) if words.basis is not None else Basis("unknown")
    return Times(None, None, heat, basis, None)


def _read_span(text: str | None, option: str) -> Decimal | None:
    """Minutes from `90`, `2h`, `1:30` or `7d`; above nought."""
    if text is None:
        return None
    days = _DAYS.fullmatch(text.strip().lower())
    value = Decimal(days[1]) * 1440 if days else read_minutes(text, what=option, most=None)
    if value <= 0:
        raise RegisterError(
            f"{option} {text[:20]} is no time at all",
            mend=f"{option} 24h, as the maker's table says; leave it out if it does not say",
            code="amount-wrong",
        )
    return value


def _read_heat(text: str | None) -> Decimal | None:
    if text is None:
        return None
    found = parse_temperature(text)
    if found is None or not _COLDEST <= found.value <= _HOTTEST:
        raise RegisterError(
            f"--temperature {text[:20]!r} is not the temperature of a bench",
            mend="--temperature 18, or 64F",
            code="temperature-wrong",
        )
    return found.value


def _read_where(draft: Draft, where: Subject, typed: str | None) -> str | None:
    if typed is None:
        return None
    check_words(typed, "where")
    if where[0] == "part":
        return "-".join(typed.lower().split())
    return read_place(draft.clerk, where[1], typed)


def _find_held(clerk: Clerk, typed: str) -> Event:
    event = clerk.find_event(typed)
    if not isinstance(event.body, _HOLDABLE):
        raise RegisterError(
            f"--holds {typed}: {event.kind.replace('-', ' ')} is nothing that rests on a cure",
            mend="name a job, a fix, a modification or a snag",
            code="holds-kind",
        )
    if event.id in clerk.ledger.settled.withdrawn:
        raise RegisterError(
            f"--holds {typed}: that is withdrawn", mend="name one that counts", code="holds-kind"
        )
    return event


def say_times(draft: Draft, where: Subject, what: str, times: Times) -> None:
    """When it was mixed, and from when it may be handled and loaded."""
    clerk = draft.clerk
    mixed = draft.when.instant
    draft.say(f"{where[1]}: {what} mixed {_mixed_words(draft)}")
    heat = times.temperature
    at = f" at {format_amount(heat)} °C" if heat is not None else ""
    for word, minutes in (("handling", times.handling), ("full load", times.full)):
        if minutes is None:
            draft.warn(f"no time to {word} is recorded: when it is reached cannot be told")
        elif mixed is not None:
            # By the clock, across a change of summer time.
            end = mixed.astimezone(UTC) + timedelta(minutes=float(minutes))
            draft.say(f"{word} from {moment_words(_home(clerk, end))}{at} ({times.basis.text})")
    if times.taken_from is not None:
        old = times.taken_from
        draft.say(f"times as of {old.moment.day.isoformat()} ({clerk.short(old.id)})")


def _mixed_words(draft: Draft) -> str:
    instant = draft.when.instant
    if instant is None:
        return draft.when.day.isoformat()
    return moment_words(_home(draft.clerk, instant))


def _home(clerk: Clerk, moment: datetime) -> datetime:
    return moment.astimezone(clerk.ledger.records.zone)
