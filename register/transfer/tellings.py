"""One record told in two handover files of one owner: each says what concerns what goes with it.

A charge of two packs that went apart names one of them in each file; a snag of a servo names
the aircraft it was in only where that one goes too. Together they say what the record said.
"""

from __future__ import annotations

from register.text.document import read_plain
from register.text.emitting import render_yaml
from register.text.nodes import Plain
from register.text.parsing import parse_text
from register.transfer.masking import MASK, OTHER


def join_tellings(one: bytes, other: bytes) -> bytes | None:
    """What both say together, the same whichever came first; None where they contradict."""
    found = sorted(
        (plain for plain in (_read(data) for data in (one, other)) if plain is not None),
        key=lambda plain: (-len(plain), render_yaml(plain)),
    )
    if len(found) < 2:
        return None
    fuller, barer = found
    joined: dict[str, Plain] = {}
    for key in {**fuller, **barer}:
        if key in fuller and key in barer:
            value = _join(fuller[key], barer[key])
            if value is None:
                return None
            joined[key] = value
        else:
            joined[key] = fuller[key] if key in fuller else barer[key]
    return render_yaml(joined).encode()


def _read(data: bytes) -> dict[str, Plain] | None:
    node = parse_text("record.yaml", data).node
    plain = None if node is None else read_plain(node)
    return plain if isinstance(plain, dict) else None


def _join(one: Plain, other: Plain) -> Plain:
    """One value told twice; None where both cannot be true."""
    if one == other:
        return one
    if isinstance(one, list) and isinstance(other, list):
        texts = {item for item in (*one, *other) if isinstance(item, str)}
        if len(texts) == len({*map(str, one), *map(str, other)}):
            return list[Plain](sorted(texts))
    if isinstance(one, str) and isinstance(other, str):
        # Each file leaves the name of the other aircraft out of a text.
        masked = {text: text.count(OTHER) + text.count(MASK) for text in (one, other)}
        if any(masked.values()):
            return min(masked, key=lambda text: (masked[text], text))
    return None
