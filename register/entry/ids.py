"""Ids: 10 characters of lower-case Crockford base32 beginning with a letter."""

from __future__ import annotations

import random
from collections.abc import Container, Iterable

LETTERS = "abcdefghjkmnpqrstvwxyz"
ALPHABET = "0123456789" + LETTERS
LENGTH = 10
SHORTEST = 4


def make_id(chance: random.Random, taken: Container[str]) -> str:
    """A new id that nothing in the fleet has."""
    while True:
        made = chance.choice(LETTERS) + "".join(chance.choices(ALPHABET, k=LENGTH - 1))
        if made not in taken:
            return made


def shorten_id(id_: str, ids: Iterable[str]) -> str:
    """The shortest prefix of at least four characters that no other id shares."""
    beginning = id_[:SHORTEST]
    others = [other for other in ids if other.startswith(beginning) and other != id_]
    for length in range(SHORTEST, len(id_)):
        if not any(other.startswith(id_[:length]) for other in others):
            return id_[:length]
    return id_
