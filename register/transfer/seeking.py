"""Gathering the words that must not go: from every revision of everything, wherever it lies."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence

from msgspec.structs import replace

from register.records.gathering import Records
from register.records.private_words import read_private_words
from register.text import nodes
from register.text.nodes import Plain
from register.transfer.masking import (
    PRIVATE_KEYS,
    Tokens,
    collect_marked,
    collect_private,
    make_tokens,
)
from register.transfer.past import PastChange, collect_tokens
from register.transfer.scope import Scope
from register.transfer.unreadable import is_wholly_private, salvage_words
from register.transfer.vocabulary import program_words

#: Keys of private.yaml itself, which say nothing about anybody.
PRIVATE_WORDS = frozenset(
    ("people", "name", "owner", "second", "prices", "suppliers", "places", "address", "salt",
     "handover", "phone", "email", "title", "cost", "costs", "spending", "never")
)  # fmt: skip
#: Keys of a paper, and of the file of another aircraft, that say whose it is.
_PAPER_KEYS = frozenset(("number", "policy", "policy_number", "holder", "issuer"))
_MARK_KEYS = ("registration", "serial")
_MARKED = re.compile(rf"(?i)\b(?:{'|'.join(sorted(PRIVATE_KEYS))})['\"]?[ \t]*:")
_KEYS = tuple(key.encode() for key in sorted(PRIVATE_KEYS))


def may_be_private(path: str, data: bytes | None) -> bool:
    """Whether a revision can hold a private value at all: most are not worth parsing for it."""
    if is_wholly_private(path):
        return True
    if data is None:
        return False
    if b"\\" in data:
        # A key may be written with escapes.
        return True
    lower = data.lower()
    if data.isascii() and not any(key in lower for key in _KEYS):
        # Ten times as fast as the pattern, and true of nearly every record.
        return False
    return _MARKED.search(data.decode("utf-8", "replace")) is not None


def find_tokens(
    records: Records,
    scope: Scope,
    past: Sequence[PastChange],
    now: Mapping[str, bytes],
    people: Iterable[str],
) -> Tokens:
    """Every private value that any revision ever held, and the names of all other aircraft.

    `now` are the files as they stand on the disk, saved or not; `people` names and addresses of
    whoever wrote into the history.
    """
    private: set[str] = {word.strip() for word in people if len(word.strip()) > 2}

    names: set[str] = set()
    never: set[str] = set()
    figures: set[str] = set()

    def take(path: str, data: dict[str, Plain]) -> None:
        if path == "private.yaml":
            collect_private(data, private)
            words = read_private_words(data)
            names.update(words.names)
            never.update(words.never)
            figures.update(words.figures)
        else:
            collect_marked(data, private)
        if path.startswith("papers/"):
            collect_private([data[key] for key in _PAPER_KEYS if key in data], private)

    def take_unread(path: str, data: bytes) -> None:
        if is_wholly_private(path):
            private.update(salvage_words(data))

    # What stands on the disk is mostly what history holds: each is looked at once.
    seen: set[tuple[str, bytes | None]] = set(now.items())
    seen.update(item for change in past for item in change.files)
    collect_tokens((item for item in seen if may_be_private(*item)), take, take_unread)
    private.update(title for title in records.fleet.machines.values() if title)
    private.update((records.fleet.name,) if len(records.fleet.name) > 3 else ())
    others: set[str] = set()
    for name, file in records.aircraft.items():
        if name != scope.aircraft:
            others.update(word for word in (name, file.title, file.id or "") if word)
            others.update(_marks(file.node))
    going = _going(records, scope)
    kept = {*going, *records.parts, *PRIVATE_WORDS}
    tokens = make_tokens(private, others, kept, program_words(), (names, never, going))
    return replace(tokens, figures=tuple(sorted(figures - never)))


def _marks(node: object) -> Iterable[str]:
    if not isinstance(node, nodes.Mapping):
        return
    for key in _MARK_KEYS:
        text = str(getattr(node.get(key), "text", "")).strip()
        if len(text) > 1:
            yield text


def _going(records: Records, scope: Scope) -> set[str]:
    """Names of what goes. A price list has parts for its keys: theirs are in every record."""
    own = records.aircraft[scope.aircraft]
    found = {scope.aircraft, own.title, *scope.parts, *scope.stubs, *_marks(own.node)}
    if scope.kit is not None:
        found.update((scope.kit, records.kits[scope.kit].title))
    for name in scope.programmes:
        programme = records.programmes[name]
        found.update((name, *(task.id for task in programme.tasks)))
    return found
