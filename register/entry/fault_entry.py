"""Entry of the words for a fault: how it failed, why, what lay behind it, in which system."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable

from msgspec import Struct

from register.entry.amending import plan_amend
from register.entry.clerk import Clerk, Plan, Stamp
from register.entry.drafting import Draft, check_words
from register.entry.naming import match_name
from register.entry.snags import find_snag
from register.records.fault_words import CHAPTERS, EVERYDAY, OWN_LISTS, plain_word
from register.text.nodes import Plain
from register.trouble import RegisterError

_TYPO = 0.75
_LONGEST = 40


class FaultWords(Struct, frozen=True):
    """What is said of a fault beside what was seen, as typed."""

    mode: str | None = None
    mechanism: str | None = None
    circumstance: str | None = None
    system: str | None = None

    @property
    def said(self) -> dict[str, str]:
        """What was typed, by its key."""
        pairs = ((key, getattr(self, key)) for key in self.__struct_fields__)
        return {key: value for key, value in pairs if value is not None}


def read_fault_word(clerk: Clerk, key: str, typed: str) -> tuple[str, bool]:
    """The word meant under a key of a snag, and whether it is known.

    An unknown one is taken as written, unless it looks like a slip of the pen.
    """
    check_words(typed, key)
    word = plain_word(typed)
    if key == "system":
        return _read_system(clerk, word)
    known = clerk.ledger.records.fleet.faults.words(key)
    if word not in known:
        # A word of every day stands for the one that groups go by.
        word = EVERYDAY[key].get(word, word)
    return _match(word, known, key, f"fault_words: {{{OWN_LISTS[key]}: [{word}]}}")


def _read_system(clerk: Clerk, word: str) -> tuple[str, bool]:
    rules = clerk.ledger.records.fleet.faults
    if rules.chapter_of(word) is not None:
        return word, True
    if re.fullmatch(r"\d[\d.-]*", word):
        raise RegisterError(
            f"system: there is no chapter {word}",
            mend=f"one of {', '.join(CHAPTERS)}, or a word: gear, controls, fuel",
            code="chapter-unknown",
        )
    return _match(
        word, rules.system_words(), "system", f"fault_words: {{systems: {{{word}: CHAPTER}}}}"
    )


def _match(word: str, known: Iterable[str], key: str, line: str) -> tuple[str, bool]:
    names = list(known)
    if word in names:
        return word, True
    starting = [name for name in names if name.startswith(word)]
    if len(starting) == 1:
        return starting[0], True
    near = difflib.get_close_matches(word, names, n=3, cutoff=_TYPO)
    if near or len(starting) > 1:
        match_name(word, names, key, add=f"a word of your own, in fleet.yaml  {line}")
    if not re.fullmatch(r"[\w][\w.-]*", word) or len(word) > _LONGEST:
        raise RegisterError(
            f"{key}: {word[:60]!r} is not one word",
            mend=f"one or two words, for example {names[0]}; what was seen is the snag's own text",
            code="fault-word-wrong",
        )
    return word, False


def describe_fault(draft: Draft, words: FaultWords) -> dict[str, Plain]:
    """The keys of a snag that say what kind of fault it is; unknown words with a warning."""
    body: dict[str, Plain] = {}
    for key, typed in words.said.items():
        body[key], known = read_fault_word(draft.clerk, key, typed)
        if not known:
            draft.warn(_unknown_words(key, str(body[key])))
    return body


def _unknown_words(key: str, word: str) -> str:
    owns = f"systems: {{{word}: CHAPTER}}" if key == "system" else f"{OWN_LISTS[key]}: [{word}]"
    return (
        f"{key} {word} is none of the register's words; recorded as written "
        f"(all: tailsheaf faults --words; yours: fleet.yaml  fault_words: {{{owns}}})"
    )


def plan_fault(clerk: Clerk, snag: str, words: FaultWords, stamp: Stamp) -> Plan:
    """More about a fault that is on record: an amendment, for it was so from the start."""
    state = find_snag(clerk, snag)
    found = {key: read_fault_word(clerk, key, typed) for key, typed in words.said.items()}
    plan = plan_amend(clerk, state.id, [f"{key}={word}" for key, (word, _) in found.items()], stamp)
    odd = tuple(_unknown_words(key, word) for key, (word, known) in found.items() if not known)
    return Plan(
        plan.changes, plan.message, plan.says, plan.written, plan.subjects, plan.warnings + odd
    )
