"""Words of faults that are in no list: kept as written, but no group will gather them."""

from __future__ import annotations

from collections.abc import Iterator

from register.checks.survey import Survey, warn
from register.records.bodies import Snag
from register.records.fault_words import EVERYDAY, OWN_LISTS, plain_word
from register.records.scalars import nearest
from register.trouble import Problem


def check_fault_words_known(survey: Survey) -> Iterator[Problem]:
    """A mode, mechanism or circumstance that neither the register nor the fleet lists."""
    rules = survey.ledger.records.fleet.faults
    for event in survey.ledger.events:
        if not isinstance(event.body, Snag):
            continue
        for key, listed in OWN_LISTS.items():
            written = getattr(event.body, key)
            known = rules.words(key)
            if written is None or plain_word(written) in known:
                continue
            word = plain_word(written)
            guess = EVERYDAY[key].get(word) or nearest(word, known)
            own = f"in fleet.yaml  fault_words: {{{listed}: [{word}]}}"
            yield warn(
                event.place(key),
                "fault-word-unknown",
                f"{key}: {written!r} is none of the words for it ({', '.join(known[:4])}, …)",
                _mend(f"tailsheaf amend {survey.short(event)} {key}=", guess, own),
            )


def check_systems_known(survey: Survey) -> Iterator[Problem]:
    """The system of a snag that no chapter is known for."""
    rules = survey.ledger.records.fleet.faults
    for event in survey.ledger.events:
        system = event.body.system if isinstance(event.body, Snag) else None
        if system is None or rules.chapter_of(system) is not None:
            continue
        word = plain_word(system)
        guess = nearest(word, rules.system_words())
        own = f"in fleet.yaml  fault_words: {{systems: {{{word}: CHAPTER}}}}"
        yield warn(
            event.place("system"),
            "system-unknown",
            f"system: {system!r} is no chapter and no word for one",
            _mend(f"tailsheaf amend {survey.short(event)} system=", guess, own),
        )


def _mend(line: str, guess: str | None, own: str) -> str:
    """The line with the word that is near; without one, where all words stand."""
    if guess is not None:
        return f"{line}{guess}   or {own}"
    return f"tailsheaf faults --words   lists them;  {line}ONE-OF-THEM   or {own}"
