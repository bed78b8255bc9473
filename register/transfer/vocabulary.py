"""The words that the program says itself: they tell nothing, whoever's names they may be too.

A person called Mark and a mark in the paint are written alike. Such a word is masked in
free text where it stands with a capital, and is not looked for among the program's own words.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from importlib.util import find_spec
from types import CodeType

from register.transfer import allowed
from register.transfer.fields import Deep, Either, Keys, Listed, Named, Rule
from register.transfer.masking import MASK, OTHER

#: Modules whose texts stand in what is sent.
_SAYING = (
    "register.records.bodies",
    "register.records.kinds",
    "register.records.values",
    "register.records.workshop_bodies",
    "register.records.surfaces",
    "register.records.programmes",
    "register.transfer.past",
    "register.views.dossier",
    "register.views.telling",
    "register.views.telling_work",
    "register.views.telling_throws",
    "register.views.telling_scales",
    "register.pages.damage_svg",
    "register.pages.dossier_damage",
    "register.pages.dossier_document",
    "register.pages.dossier_end",
    "register.pages.dossier_figures",
    "register.pages.dossier_first",
    "register.pages.dossier_open",
    "register.pages.dossier_page",
    "register.pages.dossier_setup",
    "register.pages.dossier_text",
    "register.pages.dossier_words",
    "register.standing.judge",
    "register.standing.reasons",
    "register.findings.notices",
    "register.findings.snags",
    "register.tasks.items",
    "register.views.cures",
    "register.views.fasteners",
    "register.views.leaks",
    "register.views.notices",
    "register.views.part",
    "register.views.throws",
    "register.workshop.balance",
    "register.workshop.throws",
    "register.workshop.torque",
)
#: Folders, files and marks of a handover.
_PLACES = (
    f"{MASK} {OTHER} events attachments fleet yaml kits programmes parts aircraft handover "
    "handed over p-owner main owner tailsheaf invalid left-out another-aircraft history bundle "
    "manifest json dossier html txt commit author committer"
)
_WORD = re.compile(r"[^\W_]+(?:-[^\W_]+)*")


@cache
def program_words() -> frozenset[str]:
    """Every word of the allow-lists, of the kinds of record, and of the program's own texts."""
    found = set(_words(_PLACES))
    for rules in (
        *allowed.EVENTS.values(), allowed.COMMON, allowed.PART, allowed.FLEET, allowed.KIT,
        allowed.AIRCRAFT, allowed.PROGRAMME_FILE,
    ):  # fmt: skip
        for key in keys_of(Keys(rules)):
            found.update((key, *_words(key.replace("_", " "))))
    for kind in (*allowed.EVENTS, "amendment"):
        found.update((kind, *kind.split("-")))
    for name in _SAYING:
        found.update(_said_by(name))
    return frozenset(found)


def keys_of(rule: Rule) -> Iterator[str]:
    """Every key that a rule names, at any depth."""
    if isinstance(rule, Keys):
        for key, inner in rule.keys.items():
            yield key
            yield from keys_of(inner)
    elif isinstance(rule, Deep):
        yield from rule.keys
    elif isinstance(rule, (Listed, Named)):
        yield from keys_of(rule.each)
    elif isinstance(rule, Either):
        yield from keys_of(rule.other)


def _said_by(name: str) -> Iterator[str]:
    """The words in the texts of a module; of one that is not there, none."""
    spec = find_spec(name)
    code = getattr(spec.loader, "get_code", lambda _: None)(name) if spec is not None else None
    if isinstance(code, CodeType):
        yield from _constants(code)


def _constants(item: object) -> Iterator[str]:
    if isinstance(item, CodeType):
        for part in item.co_consts:
            yield from _constants(part)
    elif isinstance(item, str):
        yield from _words(item)
    elif isinstance(item, (tuple, frozenset)):
        for part in item:
            yield from _constants(part)


def _words(text: str) -> Iterator[str]:
    for match in _WORD.finditer(text.casefold()):
        yield match.group()
        yield from match.group().split("-")
