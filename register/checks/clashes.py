"""Questions left open by joining what two machines wrote."""

from __future__ import annotations

import re
from collections.abc import Iterator

from register.checks.survey import Survey
from register.records.clashes import ClashFile
from register.text.nodes import Plain
from register.trouble import Problem

_LONGEST = 40
_BLOB = re.compile(r"blob [0-9a-f]{40,64}")


def check_clashes_settled(survey: Survey) -> Iterator[Problem]:
    """Every value that two machines changed, and not alike, until somebody says which holds."""
    for clash in survey.ledger.records.clashes.values():
        if clash.settled is None:
            why = f" ({clash.why})" if clash.why else ""
            yield Problem(
                clash.place,
                "clash-open",
                f"two machines changed {clash.what}: 1 is {tell_side(clash, 1)}, 2 is "
                f"{tell_side(clash, 2)}; {clash.stands} stands until it is settled{why}",
                f"tailsheaf sync --settle {clash.id[:6]} {clash.stands}",
            )


def tell_side(clash: ClashFile, side: int) -> str:
    """One side's value in few words."""
    has, value = (clash.has_one, clash.one) if side == 1 else (clash.has_two, clash.two)
    if has and not clash.key and isinstance(value, str) and not _BLOB.fullmatch(value):
        return f"the whole file, {len(value.splitlines())} lines"
    return tell_value(value) if has else "removed"


def tell_value(value: Plain) -> str:
    """A value in few words, on one line."""
    if isinstance(value, str) and _BLOB.fullmatch(value):
        return f"git's object {value.removeprefix('blob ')[:12]}"
    if isinstance(value, dict):
        return "{" + ", ".join(list(value)[:5]) + "}"
    text = "nothing" if value is None else " ".join(str(value).split())
    return text if len(text) <= _LONGEST else text[: _LONGEST - 1] + "…"
