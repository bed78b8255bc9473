"""What an entry says of work that rests on something still curing."""

from __future__ import annotations

from collections.abc import Sequence

from register.entry.drafting import Draft
from register.findings.cures import open_cures, until_words


def warn_curing(draft: Draft, ids: Sequence[str], aircraft: str | None, at: str | None) -> None:
    """Say that work is not done before something that it rests on has cured."""
    moment = draft.when.instant or draft.clerk.now
    for cure in open_cures(draft.clerk.ledger, moment, tuple(ids), aircraft, at):
        draft.warn(
            f"not done before the cure is complete, {until_words(cure)}: {cure.what} "
            f"({draft.clerk.short(cure.event.id)})"
        )
