"""What a handover would take along and what it would leave: for the owner to read first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from datetime import date

from msgspec import Struct

from register.ledger.ledger import Ledger
from register.records.values import Span
from register.transfer.looking import Look, find_looks, never_line
from register.transfer.manifest import LeftOut
from register.transfer.masking import PRIVATE_KEYS, Tokens, fold
from register.transfer.rewriting import FreeText
from register.transfer.scope import Scope
from register.transfer.vocabulary import program_words


class Total(Struct, frozen=True):
    """One counter of the aircraft or a part, as the new owner will compute it too."""

    name: str
    counter: str
    value: Span


class Preview(Struct, frozen=True):
    """The answer to `handover AIRCRAFT`.

    `records` counts by kind; `shared` are parts used in several aircraft, `fitted` fitted ones
    that stay; `telling` are names of what goes in which another name stands. `looks` are words
    left in texts that look private; `never` those that private.yaml lists, `never_line` that list
    with `looks`. `later` counts records dated after the change of owner, which stay.
    """

    aircraft: str
    title: str
    on: date
    parts: tuple[str, ...]
    kit: str | None
    programmes: tuple[str, ...]
    records: tuple[tuple[str, int], ...]
    changes: int
    pictures: int
    totals: tuple[Total, ...]
    shared: tuple[str, ...]
    fitted: tuple[str, ...]
    other_aircraft: int
    papers: int
    other_files: tuple[str, ...]
    unread: tuple[str, ...]
    dropped: tuple[tuple[str, int], ...]
    texts: tuple[FreeText, ...]
    starter_texts: int
    telling: tuple[str, ...]
    looks: tuple[Look, ...]
    never: tuple[str, ...]
    never_line: str
    left: LeftOut
    gone: date | None
    later: int = 0


def view_preview(
    own: Ledger,
    theirs: Ledger,
    scope: Scope,
    tokens: Tokens,
    told: tuple[tuple[FreeText, ...], Mapping[str, int], LeftOut],
    kept: tuple[int, tuple[str, ...], tuple[str, ...]],
    changes: int,
    days: tuple[date, date | None],
    known: str,
) -> Preview:
    """Put it together. `told`: texts, dropped keys, what is left out; `kept`: pictures, other
    files, unread files; `days`: the day of the change, and that on which it is gone already;
    `known`: the starter programmes, whose texts nobody has to read again."""
    file = own.records.aircraft[scope.aircraft]
    counted = Counter(event.kind for event in theirs.records.events)
    names = {fold(name) for name in (scope.aircraft, file.title, *scope.parts, *scope.stubs)}
    shared = tuple(name for name in scope.stubs if own.records.parts[name].use == "assigned")
    own_texts = [text for text in told[0] if text.was_masked or f'"{text.text}"' not in known]
    looks = find_looks(own_texts, tokens)
    return Preview(
        scope.aircraft,
        file.title,
        days[0],
        scope.parts,
        scope.kit,
        scope.programmes,
        tuple(sorted(counted.items(), key=lambda item: (-item[1], item[0]))),
        changes,
        kept[0],
        _totals(theirs, scope),
        shared,
        tuple(name for name in scope.stubs if name not in shared),
        len(own.records.aircraft) - 1,
        len(own.records.papers),
        kept[1],
        kept[2],
        tuple(sorted(told[1].items())),
        tuple(sorted(own_texts, key=lambda text: not text.was_masked)),
        len(told[0]) - len(own_texts),
        (*(word for word in tokens.own if word in names), *tokens.unheeded),
        looks,
        tokens.never,
        never_line(tokens.never, looks),
        told[2],
        days[1],
        len(scope.later),
    )


def _totals(theirs: Ledger, scope: Scope) -> tuple[Total, ...]:
    subjects = [("aircraft", scope.aircraft), *(("part", name) for name in scope.parts)]
    return tuple(
        Total(subject[1], counter, theirs.value(subject, counter))
        for subject in subjects
        for counter in theirs.listed_counters(subject)
        if theirs.value(subject, counter) != Span.exact(0)
    )


def name_dropped(dropped: Mapping[str, int]) -> tuple[tuple[str, int], ...]:
    """Keys that are not carried, for others to read: the program's own words by name, the
    rest by number, since a key may be anything its owner wrote."""
    known = {*program_words(), *PRIVATE_KEYS}
    found: Counter[str] = Counter()
    for key, count in dropped.items():
        pieces = key.replace(".", " ").replace("_", " ").split()
        plain = key in known or all(piece in known for piece in pieces)
        found[key if plain else "other keys"] += count
    return tuple(sorted(found.items()))
