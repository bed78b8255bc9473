"""Questions left open by joining what two machines wrote."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from msgspec import Struct

from register.checks.survey import Survey
from register.records.clashes import ClashFile
from register.text.nodes import Plain
from register.text.placing import find_value
from register.trouble import Problem, RegisterError

_LONGEST = 40
_BLOB = re.compile(r"blob [0-9a-f]{40,64}")


def check_clashes_settled(survey: Survey) -> Iterator[Problem]:
    """Every value that two machines changed, and not alike, until somebody says which holds.

    Told once for each place, however often it was changed apart. What stands is what the file
    says now, whatever the question said when it was asked.
    """
    asked: dict[tuple[str, tuple[str, ...]], list[ClashFile]] = {}
    for clash in survey.ledger.records.clashes.values():
        if clash.settled is None:
            asked.setdefault((clash.file, clash.key), []).append(clash)
    for clashes in asked.values():
        clashes.sort(key=lambda clash: clash.id)
        yield _clash_problem(clashes, survey)


def _clash_problem(clashes: list[ClashFile], survey: Survey) -> Problem:
    first, sources = clashes[0], survey.sources
    titles = survey.ledger.records.fleet.machines
    known = [(clash, side) for clash in clashes for side in (1, 2)]
    now = find_now(first, sources)
    standing = next((one for one in known if now is None or _is_now(*one, now)), None)
    if now is None:
        standing = first, first.stands
    told = [
        f"{_label(*one, clashes)} is {tell_side(*one)}{_tell_writer(*one, titles)}" for one in known
    ]
    if standing is None:
        stands = (
            f"the file says {tell_value(now.value) if now and now.has else 'nothing there'} now"
        )
        choice = first.id[:6], "1"
    else:
        clash, side = standing
        why = f" ({clash.why})" if clash.why and side == clash.stands else ""
        stands = f"{_label(clash, side, clashes)} stands until it is settled{why}"
        choice = clash.id[:6], str(side)
    return Problem(
        first.place,
        "clash-open",
        f"two machines changed {first.what}: {', '.join(told)}; {stands}",
        f"tailsheaf sync --settle {choice[0]} {choice[1]}",
        related=tuple(clash.place for clash in clashes[1:]),
    )


def _label(clash: ClashFile, side: int, clashes: list[ClashFile]) -> str:
    return str(side) if len(clashes) == 1 else f"{clash.id[:6]} {side}"


def _tell_writer(clash: ClashFile, side: int, titles: Mapping[str, str]) -> str:
    writer = clash.writers[side - 1]
    return f" ({titles.get(writer, writer)})" if writer else ""


class Now(Struct, frozen=True):
    """What a file says at the place in question."""

    has: bool
    value: Plain


def find_now(clash: ClashFile, sources: Mapping[str, bytes]) -> Now | None:
    """What the file says now; None where it cannot be read, or is no record."""
    data = sources.get(clash.file)
    if not clash.file.endswith(".yaml") or (data is None and not sources):
        return None
    if not clash.key:
        return Now(data is not None, data.decode("utf-8", "backslashreplace") if data else None)
    try:
        return Now(*find_value(clash.file, data, clash.key)) if data is not None else None
    except LookupError:
        return Now(False, None)
    except RegisterError:
        return None


def _is_now(clash: ClashFile, side: int, now: Now) -> bool:
    has, value = (clash.has_one, clash.one) if side == 1 else (clash.has_two, clash.two)
    if has and isinstance(value, str) and _BLOB.fullmatch(value):
        return side == clash.stands and now.has
    return has == now.has and (not has or (type(value) is type(now.value) and value == now.value))


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
