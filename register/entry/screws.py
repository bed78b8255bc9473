"""Broken screws as typed: which joint, where the rest is, how it was mended."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from msgspec import Struct

from register.entry.amounts import read_count, read_number
from register.entry.clerk import Clerk, Plan, Stamp
from register.entry.drafting import Draft, check_words
from register.entry.naming import match_name
from register.entry.sheets import plain_number
from register.entry.shelf import draw_stock, parse_draws
from register.entry.snags import (
    find_snag,
    name_snag,
    plan_severity,
    refuse_loose,
    snag_folder,
    touch_snag,
)
from register.entry.subjects import current_spell
from register.entry.thread_words import read_thread_name
from register.findings.snags import LOOSE, SnagState
from register.ledger.counters import Subject
from register.records.bodies import Snag
from register.records.joints import HEADS
from register.records.threads import next_larger
from register.records.values import format_amount
from register.records.workshop_bodies import MENDINGS, RESTS
from register.text.nodes import Plain
from register.trouble import RegisterError
from register.workshop.fasteners import FittedJoint, Lot, broken_of, fit_joints
from register.workshop.mending import NEVER_LONGER

ASKS = "out, in-hole or loose-inside"


class BrokenWords(Struct, frozen=True):
    """What a snag says of a joint, as typed."""

    joint: str | None = None
    broken: str | None = None
    rest: str | None = None


class MendWords(Struct, frozen=True):
    """What a fix says of screws and the shelf, as typed. `thread` to `head` are of the new ones."""

    mending: str | None = None
    draws: Sequence[str] = ()
    rest: str | None = None
    thread: str | None = None
    length: str | None = None
    head: str | None = None
    changed: str | None = None


class Broken(Struct, frozen=True):
    """What a snag says of a joint, understood. `fitted` None: the joint is not recorded."""

    body: dict[str, Plain]
    name: str | None
    count: int | None
    rest: str | None
    aircraft: str | None
    fitted: FittedJoint | None

    @property
    def zone(self) -> str | None:
        """The zone of the joint."""
        return self.fitted.joint.zone if self.fitted is not None else None

    def say(self, draft: Draft, short: str) -> None:
        """How many still hold, where the rest may be, and where the ways to mend are told."""
        if self.fitted is not None:
            _say_holding(draft, self, self.fitted)
        _say_rest(draft, self, short)
        if self.fitted is not None and self.count:
            line = f"tailsheaf fasteners {self.aircraft} {self.name}"
            draft.say(f"ways to mend, and what each needs: {line}")


def read_broken(draft: Draft, where: Subject, words: BrokenWords) -> Broken:
    """The joint, how many broke and where the rest is. A joint not recorded is warned of."""
    rest = read_rest(words.rest) if words.rest else None
    count = read_count(words.broken, what="--broken") if words.broken is not None else None
    if words.joint is None:
        if count is not None:
            raise RegisterError(
                f"--broken {count}: fasteners of which joint?",
                mend="add  --joint NAME;  tailsheaf fasteners AIRCRAFT   lists them",
                code="joint-none",
            )
        return Broken({"rest": rest}, None, None, rest, None, None)
    aircraft = _aircraft_of(draft.clerk, where)
    joints = fit_joints(draft.clerk.ledger, aircraft)[0] if aircraft else {}
    name, fitted = _match_joint(draft, aircraft, joints, words.joint)
    if count is None and rest is not None:
        count = 1
    body: dict[str, Plain] = {"joint": name, "broken": count, "rest": rest}
    return Broken(body, name, count, rest, aircraft, fitted)


def _aircraft_of(clerk: Clerk, where: Subject) -> str | None:
    kind, name = where
    if kind == "aircraft":
        return name
    spell = current_spell(clerk, name)
    return spell.aircraft if spell is not None else None


def _match_joint(
    draft: Draft, aircraft: str | None, joints: dict[str, FittedJoint], typed: str
) -> tuple[str, FittedJoint | None]:
    word = "-".join(typed.strip().lower().split())
    check_words(word, "--joint")
    if word in joints or any(name.startswith(word) for name in joints):
        name = match_name(word, joints, "joint")
        return name, joints[name]
    where = aircraft or "this part"
    known = f" ({', '.join(sorted(joints)[:6])})" if joints else ""
    draft.warn(f"{where} has no joint {word} on record{known}; recorded as written")
    return word, None


def _say_holding(draft: Draft, found: Broken, fitted: FittedJoint) -> None:
    total, count = fitted.joint.count, found.count or 0
    if total is None or fitted.holding is None:
        draft.say(f"{found.name}: how many are fitted is not stated, so how many hold is not known")
        return
    holding = fitted.holding - count
    if holding < 0:
        draft.warn(f"{found.name} has {total}; {fitted.broken + count} are said to be broken")
        holding = 0
    draft.say(f"{found.name}: {holding} of {total} still hold")
    least = fitted.joint.least_holding
    if least is not None and holding < least:
        draft.warn(f"that is fewer than the {least} that must hold")


def _say_rest(draft: Draft, found: Broken, short: str) -> None:
    if found.rest == LOOSE:
        draft.say(
            "the rest is loose inside: this grounds until it is found; then: "
            f"tailsheaf snag {short} --rest out"
        )
    elif found.rest is None and found.count:
        draft.say(f"where is the rest? tailsheaf snag {short} --rest {ASKS}")


def read_rest(typed: str) -> str:
    """Where the rest is: out, in-hole, loose-inside, not-known."""
    return match_name(typed.replace("_", "-").replace(" ", "-"), RESTS, "place of the rest")


def plan_rest(clerk: Clerk, snag: str, rest: str, stamp: Stamp, severity: str | None) -> Plan:
    """Where the rest of a broken screw turned out to be; the snag stays open."""
    draft = Draft(clerk, stamp, takes_time=True)
    state = find_snag(clerk, snag)
    word = read_rest(rest)
    action = f"the rest is {word.replace('-', ' ')}"
    body: dict[str, Plain] = {
        "snags": [state.id],
        "action": action,
        "closes": False,
        "seen": list(state.events_seen),
        "rest": word,
    }
    draft.write(snag_folder(state), "fix", body)
    touch_snag(draft, state)
    draft.say(f"{name_snag(state)} ({clerk.short(state.id)}): {action}")
    if word == LOOSE:
        draft.say("it grounds until it is found")
    plan = draft.plan(f"Say where the rest is: {name_snag(state)}")
    if severity is None:
        return plan
    rated = plan_severity(clerk, snag, severity, stamp, rest_found=word != LOOSE)
    return plan.plus(rated)


def enter_mending(
    draft: Draft, states: Sequence[SnagState], words: MendWords, *, closes: bool
) -> dict[str, Plain]:
    """What a fix adds of mending, rest and draws. Refused (exit 4): closing what lies loose."""
    rest = read_rest(words.rest) if words.rest else None
    mending = match_name(words.mending, MENDINGS, "mending") if words.mending else None
    if closes and rest in (None, "not-known", LOOSE):
        for state in states:
            if state.rest == LOOSE or rest == LOOSE:
                short = draft.clerk.short(state.id)
                refuse_loose(draft.clerk, state, f'tailsheaf fix {short} "…" --rest out')
    body: dict[str, Plain] = {"mending": mending, "rest": rest}
    draws = parse_draws(draft.clerk, words.draws)
    if draws:
        body["draws"] = [{"item": draw.item, "count": plain_number(draw.count)} for draw in draws]
    return body


def finish_mending(
    draft: Draft, states: Sequence[SnagState], words: MendWords, action: str
) -> None:
    """What goes with a fix: the shelf is drawn, another size becomes a departure."""
    draw_stock(draft, parse_draws(draft.clerk, words.draws))
    enter_departure(draft, states, words, action)


def enter_departure(
    draft: Draft, states: Sequence[SnagState], words: MendWords, action: str
) -> None:
    """A screw replaced by another size is written as a departure beside the fix."""
    changed = any(item is not None for item in (words.thread, words.length, words.head))
    if not changed and (words.mending is None or not "larger-thread".startswith(words.mending)):
        return
    state, aircraft, fitted = _joint_of(draft.clerk, states)
    old = fitted.lots[0]
    new = _read_lot(draft.clerk, state, old, words)
    count = _changed_count(state, words)
    _warn_longer(draft, old, new, words)
    if (new.thread, new.length, new.head) == (old.thread, old.length, old.head):
        draft.warn(f"{old.text} is what {fitted.joint.name} has already: no departure was written")
        return
    name = fitted.joint.name
    total = "" if fitted.joint.count is None else f" of {fitted.joint.count}"
    text = f"{name}: {count}{total} now {new.text}"
    fastener: dict[str, Plain] = {"joint": name, "count": count}
    if words.thread is not None and new.thread is not None:
        fastener["thread"] = new.thread.name
    if words.length is not None and new.length is not None:
        fastener["length"] = int(new.length) if new.length % 1 == 0 else new.length
    if words.head is not None:
        fastener["head"] = new.head
    body: dict[str, Plain] = {
        "aircraft": draft.clerk.ref(("aircraft", aircraft)),
        "at": name,
        "text": text,
        "manual": old.text,
        "why": f"{state.text}: {action}",
        "state": "fixed",
        "fastener": fastener,
    }
    written = draft.write(f"aircraft/{aircraft}", "modification", body)
    draft.say(
        f"departure: {text}, it was {old.text} ({draft.clerk.short(written.id)}); "
        f"fasteners {aircraft} tells the joint by it"
    )


def _joint_of(clerk: Clerk, states: Sequence[SnagState]) -> tuple[SnagState, str, FittedJoint]:
    state = states[0]
    body = state.event.body
    joint = body.joint if isinstance(body, Snag) else None
    short = clerk.short(state.id)
    if joint is None or state.aircraft is None:
        raise RegisterError(
            f"{short} names no joint, so another size cannot be kept with it",
            mend=f"tailsheaf amend {short} joint=NAME   then the fix again",
            code="joint-none",
        )
    fitted = fit_joints(clerk.ledger, state.aircraft)[0].get(joint.strip().lower())
    if fitted is None:
        raise RegisterError(
            f"{state.aircraft} has no joint {joint} on record",
            mend=f"write it at  joints:  in aircraft/{state.aircraft}/aircraft.yaml",
            code="joint-unknown",
        )
    return state, state.aircraft, fitted


def _read_lot(clerk: Clerk, state: SnagState, old: Lot, words: MendWords) -> Lot:
    if words.thread is None and words.mending is not None:
        larger = next_larger(old.thread) if old.thread is not None else None
        if "larger-thread".startswith(words.mending):
            raise RegisterError(
                "larger-thread: which thread has it now?",
                mend=f"tailsheaf fix {clerk.short(state.id)} … --mending larger-thread "
                f"--thread {larger.name.removeprefix('#') if larger else 'M4'}",
                code="thread-none",
            )
    thread = old.thread
    if words.thread is not None:
        thread = read_thread_name(words.thread, "--thread")
    length = old.length
    if words.length is not None:
        length = read_number(words.length.lower().removesuffix("mm"), what="--length")
        if not 0 < length < Decimal(1000):
            raise RegisterError(
                f"--length: {words.length[:40]!r} is no length in millimetres",
                mend="--length 10",
                code="number-wrong",
            )
    head = match_name(words.head, HEADS, "head") if words.head is not None else old.head
    return Lot(None, thread, length, head, None)


def _changed_count(state: SnagState, words: MendWords) -> int:
    if words.changed is not None:
        return read_count(words.changed, what="--changed")
    return broken_of(state) or 1


def _warn_longer(draft: Draft, old: Lot, new: Lot, words: MendWords) -> None:
    """The same thread, longer, in the same hole: recorded, and pointed out."""
    if words.mending is not None and "new-hole".startswith(words.mending):
        return
    if (
        old.length is not None
        and new.length is not None
        and new.length > old.length
        and new.thread == old.thread
    ):
        draft.warn(
            f"{format_amount(new.length)} mm instead of {format_amount(old.length)} mm. "
            f"{NEVER_LONGER}"
        )
