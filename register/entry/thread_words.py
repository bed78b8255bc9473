"""A thread to look up, as typed."""

from __future__ import annotations

from decimal import Decimal

from msgspec import Struct

from register.entry.amounts import read_number
from register.entry.naming import match_name
from register.records.joints import FRICTIONS, HEADS, INTO, MATERIALS
from register.records.threads import Thread, ThreadError, parse_thread
from register.trouble import RegisterError
from register.views.fasteners import ThreadWish


class ThreadWords(Struct, frozen=True):
    """What was typed with --thread and beside it."""

    thread: str | None
    head: str | None = None
    material: str | None = None
    into: str | None = None
    friction: str | None = None
    mu: str | None = None
    torque: str | None = None
    lever: str | None = None
    extension: str | None = None


def read_thread_wish(words: ThreadWords, aircraft: str | None) -> ThreadWish:
    """The wish behind the words. Raises RegisterError (usage)."""
    if words.thread is None:
        raise RegisterError(
            "of which thread?", mend="tailsheaf fasteners --thread M3 --head cap", code="usage"
        )
    if aircraft is not None:
        raise RegisterError(
            f"--thread looks up a thread, and is not asked of {aircraft}",
            mend=f"tailsheaf fasteners {aircraft}   or without it, with --thread",
            code="usage",
        )
    lever = _read_length(words.lever, "--lever")
    extension = _read_length(words.extension, "--extension")
    if (lever is None) != (extension is None):
        raise RegisterError(
            "--lever and --extension go together",
            mend="--lever 250 --extension 40",
            code="usage",
        )
    mu = _read_between(words.mu, "--mu", Decimal("0.02"), Decimal(1), "0.12")
    torque = _read_between(words.torque, "--torque", Decimal("0.001"), Decimal(1000), "2.5")
    return ThreadWish(
        read_thread_name(words.thread, "--thread"),
        _choose(words.head, HEADS, "head"),
        _choose(words.material, MATERIALS, "material"),
        _choose(words.into, INTO, "material it is turned into"),
        _choose(words.friction, FRICTIONS, "friction"),
        mu,
        lever,
        extension,
        torque,
    )


def read_thread_name(text: str, option: str) -> Thread:
    """A thread as typed. Raises RegisterError (usage)."""
    try:
        return parse_thread(text)
    except ThreadError as error:
        raise RegisterError(
            f"{option}: {error.says}", mend=f"{option} {error.for_line}", code="thread-unknown"
        ) from error


def _choose(text: str | None, words: tuple[str, ...], what: str) -> str | None:
    return None if text is None else match_name(text.replace(" ", "-"), words, what)


def _read_length(text: str | None, option: str) -> Decimal | None:
    return _read_between(text, option, Decimal("0"), Decimal(5000), "250")


def _read_between(
    text: str | None, option: str, least: Decimal, most: Decimal, example: str
) -> Decimal | None:
    if text is None:
        return None
    value = read_number(text.lower().removesuffix("mm"), what=option)
    if not least < value <= most:
        raise RegisterError(
            f"{option}: {text[:40]} is not above {least} and up to {most}",
            mend=f"{option} {example}",
            code="number-wrong",
        )
    return value
