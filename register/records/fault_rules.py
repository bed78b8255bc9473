"""Reading what fleet.yaml says of faults: `fault_words` and `thresholds`."""

from __future__ import annotations

import re

from register.records.fault_words import OWN_LISTS, FaultRules, plain_word
from register.records.fields import Fields


def read_fault_rules(fields: Fields) -> FaultRules:
    """The fleet's words and thresholds; what is not said stands at the custom of the trade."""
    if not fields.has("fault_words") and not fields.has("thresholds"):
        return FaultRules()
    words = fields.mapping("fault_words")
    limits = fields.mapping("thresholds")
    usual = FaultRules()

    def limit(key: str, default: int, least: int = 0) -> int:
        count = limits.count(key, least=least) if limits else None
        return default if count is None else count

    def own(key: str) -> tuple[str, ...]:
        return tuple(map(plain_word, words.texts(OWN_LISTS[key]))) if words else ()

    rules = FaultRules(
        own("mode"),
        own("mechanism"),
        own("circumstance"),
        _read_systems(words) if words else {},
        limit("repeat_reports", usual.repeat_reports, 2),
        limit("repeat_flights", usual.repeat_flights),
        limit("refix_flights", usual.refix_flights),
        limit("refix_days", usual.refix_days),
        usual.basis if limits is None else "owner, fleet.yaml",
    )
    for inner in (words, limits):
        if inner is not None:
            inner.odd_keys(())
    return rules


def _read_systems(words: Fields) -> dict[str, str]:
    """`systems: {smoke: "90"}`: a word of one's own and the chapter it means."""
    found = {}
    for word, number in words.named_texts("systems").items():
        if re.fullmatch(r"\d\d(\d\d)?", number.strip()):
            found[plain_word(word)] = number.strip()[:2]
        else:
            words.report(
                words.place("systems"),
                "chapter-wrong",
                f"systems: {word}: {number!r} is not the number of a chapter",
                f'write  {word}: "27"',
            )
    return found
