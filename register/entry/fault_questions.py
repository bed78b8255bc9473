"""What is asked of `faults`, as typed: groups, systems, modes, two sides, a kind of part."""

from __future__ import annotations

from collections.abc import Sequence

from register.entry.naming import match_name, read_alias
from register.faults.grouping import DEFAULT, KEYS, By
from register.findings.repeats import mode_of
from register.findings.snags import fold_snags
from register.ledger.ledger import Ledger
from register.records.fault_words import CHAPTERS, plain_word
from register.records.kinds import ENGINE_KINDS, PART_KINDS, gains_counter
from register.tasks.calendar import season_of
from register.trouble import RegisterError


def read_by(typed: Sequence[str]) -> tuple[By, ...]:
    """Groups: words after each other or with commas, each once. Raises RegisterError (USAGE)."""
    words = [word for text in typed for word in text.replace("+", ",").split(",") if word.strip()]
    if not words:
        return DEFAULT
    found = [match_name(word.strip(), KEYS, "group") for word in words]
    return tuple(key for key in KEYS if key in found)


def read_chapter(ledger: Ledger, typed: str) -> str:
    """The system meant: a chapter, a word for one, or a word that snags bear."""
    rules = ledger.records.fleet.faults
    chapter = rules.chapter_of(typed)
    if chapter is not None:
        return chapter
    words = list(rules.system_words())
    name = match_name(
        plain_word(typed), words, "system", add=f"a chapter: {', '.join(list(CHAPTERS)[:6])}, …"
    )
    return rules.chapter_of(name) or name


def read_mode(ledger: Ledger, typed: str) -> str:
    """The mode meant, of those known and those that snags bear."""
    borne = {mode_of(state) for state in fold_snags(ledger).values()} - {None}
    known = {*ledger.records.fleet.faults.words("mode"), *(mode or "" for mode in borne)}
    return match_name(plain_word(typed), known, "mode")


def read_sides(ledger: Ledger, names: tuple[str, str]) -> tuple[str, tuple[str, str]]:
    """Two aircraft, or two seasons by the year they begin in. Raises RegisterError (USAGE)."""
    years = [name.strip() for name in names if _is_year(name)]
    if len(years) == 2:
        first = min((event.moment.day for event in ledger.events), default=None)
        last = max((event.moment.day for event in ledger.events), default=None)
        start = ledger.records.fleet.season_start
        for year in years:
            if (
                first is None
                or last is None
                or not (season_of(first, start).year <= int(year) <= season_of(last, start).year)
            ):
                raise RegisterError(
                    f"nothing is recorded in the season of {year}",
                    mend="tailsheaf season   shows the seasons on record",
                    code="season-unknown",
                )
        kind, sides = "season", (years[0], years[1])
    elif years:
        raise RegisterError(
            f"{names[0]} and {names[1]}: an aircraft is not compared with a season",
            mend="--compare heron kestrel   or  --compare 2025 2026",
            code="usage",
        )
    else:
        known = ledger.records.aircraft
        one, two = (match_name(read_alias(name, known), known, "aircraft") for name in names)
        kind, sides = "aircraft", (one, two)
    if sides[0] == sides[1]:
        raise RegisterError(
            f"{sides[0]} is not compared with itself",
            mend="--compare heron kestrel   or  --compare 2025 2026",
            code="usage",
        )
    return kind, sides


def _is_year(name: str) -> bool:
    word = name.strip()
    return len(word) == 4 and word.isascii() and word.isdigit()


def read_life(ledger: Ledger, typed: str, counter: str | None) -> tuple[str, str]:
    """A kind of part, and the counter its life is told in: what wears it, unless one is named."""
    records = ledger.records
    kinds = {part.kind for part in records.parts.values()}
    kind = match_name(plain_word(typed), kinds, "kind of part", add="tailsheaf parts")
    own = records.fleet.part_kinds.get(kind)
    gained = [name for name in records.fleet.counters if gains_counter(kind, name, own)]
    if counter is not None:
        return kind, match_name(counter.replace("_", "-"), gained, f"counter of a {kind}")
    if kind in ENGINE_KINDS:
        return kind, "engine-minutes"
    first = (own or PART_KINDS.get(kind) or ("flights",))[:1]
    usual = "charges" if "charges" in first else "flights"
    return kind, usual if usual in gained or not gained else gained[0]
