"""Noting jobs, bringing them to an end, and offering the same one for the other hand."""

from __future__ import annotations

import re
from collections.abc import Sequence
from decimal import Decimal

from msgspec import Struct

from register.entry.amounts import read_minutes
from register.entry.clerk import Clerk, Plan, Stamp
from register.entry.cure_wanted import plain_cure, read_cure_wanted, say_cure
from register.entry.curing import warn_curing
from register.entry.drafting import Draft, check_words, count_words
from register.entry.job_cures import has_cured, say_waiting, start_cure
from register.entry.naming import match_name
from register.entry.places import read_place, say_traps
from register.entry.sheets import plain_number
from register.entry.snags import shorten
from register.entry.subjects import find_aircraft
from register.findings.cures import fold_cures
from register.findings.jobs import JobState, find_other_hand, fold_jobs, open_jobs, view_waits
from register.records.workshop_bodies import HANDS
from register.text.nodes import Plain
from register.trouble import Exit, RegisterError

#: An aircraft in one of these was never accepted for flying; the others accept it.
ACCEPTED = ("ready-for-first-flight", "in-service")
_MOST_NAMED = 6
#: Kinds of records that a job can wait for.
_WAITED = ("job", "snag", "modification", "cure")
_SWAP = {"left": "right", "right": "left", "Left": "Right", "Right": "Left"}


class JobWords(Struct, frozen=True):
    """A job as typed."""

    words: Sequence[str]
    where: str | None = None
    hand: str | None = None
    waits: Sequence[str] = ()
    minutes: str | None = None
    cure: str | None = None


def plan_job(clerk: Clerk, aircraft: str, words: JobWords, stamp: Stamp) -> Plan:
    """A new job of an aircraft."""
    draft = Draft(clerk, stamp, takes_time=True)
    name = find_aircraft(clerk, aircraft)
    text = " ".join(" ".join(words.words).split())
    check_words(text, "job")
    place = read_place(clerk, name, words.where) if words.where else None
    hand = match_name(words.hand, HANDS, "hand") if words.hand else _hand_of(place, text)
    minutes = read_minutes(words.minutes, what="minutes") if words.minutes else None
    waits = [_find_waited(clerk, item) for item in words.waits]
    cure = read_cure_wanted(clerk, words.cure) if words.cure else None
    _write(draft, name, text, place, hand, minutes, waits, None, cure)
    if cure is not None:
        draft.say(say_cure(cure))
    return draft.plan(f"Note a job of {name}: {shorten(text)}")


def _write(
    draft: Draft,
    aircraft: str,
    text: str,
    place: str | None,
    hand: str,
    minutes: Decimal | None,
    waits: Sequence[str],
    other: str | None,
    cure: dict[str, Plain] | None = None,
) -> None:
    clerk = draft.clerk
    body: dict[str, Plain] = {
        "aircraft": clerk.ref(("aircraft", aircraft)),
        "text": text,
        "at": place,
        "hand": None if hand == "none" else hand,
        "minutes": plain_number(minutes) if minutes is not None else None,
        "waits_for": list(dict.fromkeys(waits)) or None,
        "cure": cure,
        "other_hand_of": other,
    }
    written = draft.write(f"aircraft/{aircraft}", "job", body)
    draft.touch(("aircraft", aircraft))
    where = f" at {place}" if place else ""
    side = "" if hand == "none" else f", {hand}"
    draft.say(f"{aircraft}{where}{side}: {text} ({clerk.short(written.id)}){draft.day}")
    if waits:
        listed = ", ".join(clerk.short(id_) for id_ in waits)
        draft.say(f"it waits for {listed}")
    say_traps(draft, aircraft, (place,), text)


def _hand_of(place: str | None, text: str) -> str:
    """Left or right, where the place or the words say one of them only."""
    for words in (place or "", text):
        spoken = set(re.findall(r"[a-z]+", words.lower()))
        named = [hand for hand in ("left", "right") if hand in spoken]
        if len(named) == 1:
            return named[0]
    return "none"


def _find_waited(clerk: Clerk, typed: str) -> str:
    event = clerk.find_event(typed)
    if event.kind not in _WAITED:
        raise RegisterError(
            f"a job waits for a job, snag, modification or cure; {clerk.short(event.id)} is of "
            f"kind {event.kind.replace('-', ' ')}",
            mend="name one of those, or leave --waits out",
            code="event-kind",
        )
    if event.id in clerk.ledger.settled.withdrawn:
        raise RegisterError(
            f"{clerk.short(event.id)} is withdrawn",
            mend="leave --waits out",
            exit_code=Exit.REFUSED,
            code="event-withdrawn",
        )
    return event.id


def find_job(clerk: Clerk, typed: str) -> JobState:
    """A job by the beginning of its id. Raises RegisterError (USAGE) with the open ones."""
    jobs = fold_jobs(clerk.ledger)
    word = typed.strip().lower()
    starting = [job for id_, job in jobs.items() if word and id_.startswith(word)]
    opened = [job for job in starting if job.is_open]
    if word in jobs:
        return jobs[word]
    if len(starting) == 1 or len(opened) == 1:
        return (opened or starting)[0]
    if starting:
        listed = "; ".join(f"{clerk.short(job.id)} {job.body.text[:30]}" for job in starting[:5])
        raise RegisterError(
            f"{typed!r} is the beginning of {len(starting)} jobs: {listed}",
            mend="type a character or two more",
            code="job-ambiguous",
        )
    still = [job for job in jobs.values() if job.is_open]
    listed = "; ".join(f"{clerk.short(job.id)} {job.body.text[:30]}" for job in still[:4])
    raise RegisterError(
        f"no job has an id beginning with {typed[:40]!r}",
        mend=f"open: {listed}" if listed else "tailsheaf jobs AIRCRAFT WORDS   notes one",
        code="job-unknown",
    )


def plan_job_end(clerk: Clerk, typed: str, state: str, words: Sequence[str], stamp: Stamp) -> Plan:
    """A job done or dropped; `state` is one of these. Takes the time now.

    Refused (exit 4): one that is closed, and one "done" while what it rests on still cures.
    """
    draft = Draft(clerk, stamp, takes_time=True)
    job = find_job(clerk, typed)
    text = " ".join(" ".join(words).split())
    if text:
        check_words(text, state)
    _refuse_closed(clerk, job)
    if state == "done":
        _refuse_curing(draft, job)
    body: dict[str, Plain] = {
        "aircraft": clerk.ref(("aircraft", job.aircraft)) if job.aircraft else None,
        "job": job.id,
        "state": state,
        "text": text or None,
    }
    draft.write(job.event.path.partition("/events/")[0], "job", body)
    if job.aircraft:
        draft.touch(("aircraft", job.aircraft))
    said = f": {text}" if text else ""
    name = f"{job.aircraft}: {shorten(job.body.text)} ({clerk.short(job.id)})"
    draft.say(f"{name} {state}{said}{draft.day}")
    if state == "done":
        warn_curing(draft, (), job.aircraft, job.body.at)
        _after_done(clerk, draft, job)
    return draft.plan(f"{'Finish' if state == 'done' else 'Drop'} the job {shorten(job.body.text)}")


def _refuse_closed(clerk: Clerk, job: JobState) -> None:
    if job.is_open:
        return
    by = job.by or job.event
    raise RegisterError(
        f"{clerk.short(job.id)} was {job.state} on {by.moment.day.isoformat()}",
        mend=f"tailsheaf withdraw {clerk.short(by.id)}   opens it again; or note a new job",
        exit_code=Exit.REFUSED,
        code="job-closed",
    )


def _refuse_curing(draft: Draft, job: JobState) -> None:
    """Nothing that rests on a cure is done before its end."""
    clerk, moment = draft.clerk, draft.when.instant
    for cure in fold_cures(clerk.ledger):
        if not any(job.id.startswith(held) for held in cure.body.holds):
            continue
        open_now = cure.is_open_at(moment) if moment else cure.is_open_on(draft.when.day)
        if open_now:
            until = f"until {cure.full_at:%Y-%m-%d %H:%M}" if cure.full_at else "for a time unknown"
            raise RegisterError(
                f"{clerk.short(job.id)} rests on {shorten(cure.what)}, which cures {until}",
                mend=f"record it when that is over; a cure noted wrongly is amended: "
                f"tailsheaf amend {clerk.short(cure.event.id)} …",
                exit_code=Exit.REFUSED,
                code="job-curing",
            )


def _after_done(clerk: Clerk, draft: Draft, job: JobState) -> None:
    for wait in view_waits(clerk.ledger, job, draft.when.day):
        if wait.holds and not has_cured(draft, wait.id):
            draft.warn(f"it waited for {clerk.short(wait.id)}, still open: {shorten(wait.says)}")
    freed = [
        other
        for other in fold_jobs(clerk.ledger).values()
        if other.is_open and any(job.id.startswith(named) for named in other.waits_for)
    ]
    say_waiting(draft, freed, start_cure(draft, job, freed))
    hand = {"left": "right", "right": "left"}.get(job.body.hand)
    if hand is None:
        return
    same = find_other_hand(clerk.ledger, job)
    if same is None:
        draft.say(f"the same on the {hand}? tailsheaf jobs --other-hand {clerk.short(job.id)}")
    elif same.is_open:
        draft.say(f"still open on the {hand}: {clerk.short(same.id)} {shorten(same.body.text)}")


def refuse_open_jobs(clerk: Clerk, aircraft: str, stage: str) -> None:
    """Acceptance and the first flight need no open job: else RegisterError (REFUSED)."""
    opened = open_jobs(clerk.ledger, aircraft)
    if not opened:
        return
    listed = "; ".join(
        f"{clerk.short(job.id)} {shorten(job.body.text)}" for job in opened[:_MOST_NAMED]
    )
    more = f"; and {len(opened) - _MOST_NAMED} more" if len(opened) > _MOST_NAMED else ""
    raise RegisterError(
        f"{aircraft} has {count_words(len(opened), 'open job')}, and {stage.replace('-', ' ')} "
        f"needs none: {listed}{more}",
        mend=f"tailsheaf jobs --done {clerk.short(opened[0].id)} WORDS   or  --drop it with the "
        f"reason; tailsheaf jobs {aircraft} lists them",
        exit_code=Exit.REFUSED,
        code="jobs-open",
    )


def plan_other_hand(clerk: Clerk, typed: str, stamp: Stamp) -> Plan:
    """The same job for the other hand, its words and place turned round.

    Refused (exit 4): a job that has no hand, or whose other hand is noted already.
    """
    draft = Draft(clerk, stamp, takes_time=True)
    job = find_job(clerk, typed)
    hand = {"left": "right", "right": "left"}.get(job.body.hand)
    short = clerk.short(job.id)
    if hand is None or job.aircraft is None:
        raise RegisterError(
            f"{short} is of no hand: {shorten(job.body.text)}",
            mend=f"tailsheaf amend {short} hand=left   if it is",
            exit_code=Exit.REFUSED,
            code="job-handless",
        )
    same = find_other_hand(clerk.ledger, job)
    if same is not None:
        raise RegisterError(
            f"the other hand of {short} is noted: {clerk.short(same.id)} ({same.state})",
            mend=f"tailsheaf jobs {job.aircraft} --all",
            exit_code=Exit.REFUSED,
            code="job-twice",
        )
    text, place = turn_hand(job.body.text), job.body.at
    other = turn_hand(place) if place else None
    cure = plain_cure(job.body.cure) if job.body.cure is not None else None
    _write(draft, job.aircraft, text, other, hand, job.body.minutes, (), job.id, cure)
    return draft.plan(f"Note a job of {job.aircraft}: {shorten(text)}")


def turn_hand(text: str) -> str:
    """Left for right and right for left, in words and in names."""
    return re.sub(
        r"(?<![A-Za-z])(?:left|right|Left|Right)(?![A-Za-z])", lambda found: _SWAP[found[0]], text
    )
