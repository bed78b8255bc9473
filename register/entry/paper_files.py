"""Entry of papers: a permit, an insurance and the like, and their renewal."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from msgspec import Struct

from register.entry.clerk import Clerk, Plan
from register.entry.dates import read_day
from register.entry.kits import check_title, finish_plan, parse_basis, plain_basis
from register.entry.naming import check_new_name, match_name
from register.entry.sheets import Sheet
from register.entry.subjects import find_aircraft
from register.records.standing_files import PaperFile
from register.text.nodes import Plain
from register.trouble import RegisterError

KINDS = ("permit", "insurance", "competence", "registration", "other")
MOST_WARN_DAYS = 3650


class PaperWish(Struct, frozen=True):
    """What is typed of a paper."""

    title: str | None = None
    kind: str | None = None
    covers: tuple[str, ...] = ()
    until: str | None = None
    since: str | None = None
    warn_days: int | None = None
    grounds: bool | None = None
    basis: str | None = None

    @property
    def is_empty(self) -> bool:
        """Whether nothing was typed."""
        return self == PaperWish()


def plan_paper(clerk: Clerk, name: str, wish: PaperWish, *, is_new: bool) -> Plan:
    """A new paper, a renewal, or a change of one. Raises RegisterError (usage)."""
    papers = clerk.ledger.records.papers
    clerk.check_file_read(f"papers/{name.strip().lower()}.yaml", name.strip().lower())
    if is_new:
        name = check_new_name(name, papers, "paper")
    path = f"papers/{name}.yaml"
    old = None if is_new else papers[name]
    sheet = Sheet(path, None if is_new else clerk.sources[path])
    warnings: list[str] = []
    _enter_identity(clerk, sheet, wish, name)
    _enter_spell(clerk, sheet, wish, old, warnings)
    if wish.warn_days is not None or is_new:
        days = 30 if wish.warn_days is None else wish.warn_days
        if not 0 <= days <= MOST_WARN_DAYS:
            raise RegisterError(
                f"--warn-days: {days} is not between 0 and {MOST_WARN_DAYS}",
                mend="--warn-days 30",
                code="number-wrong",
            )
        sheet.set(("warn_days",), days, "days of warning")
    if wish.grounds is not None or is_new:
        sheet.set(("grounds",), wish.grounds is not False, "whether it grounds")
    if wish.basis is not None:
        sheet.set(("basis",), plain_basis(parse_basis(wish.basis)), "basis")
    return _finish(clerk, sheet, name, wish, old, warnings)


def _enter_identity(clerk: Clerk, sheet: Sheet, wish: PaperWish, name: str) -> None:
    if sheet.is_new:
        sheet.set(("id",), clerk.new_id())
    if wish.title or sheet.is_new:
        title = wish.title or name.replace("-", " ").capitalize()
        sheet.set(("title",), check_title(title), "title")
    if wish.kind or sheet.is_new:
        kind = match_name(wish.kind, KINDS, "kind of paper") if wish.kind else "other"
        sheet.set(("kind",), kind, "kind")
    if wish.covers or sheet.is_new:
        sheet.set(("covers",), _read_covers(clerk, wish.covers), "whom it covers")


def _read_covers(clerk: Clerk, typed: Iterable[str]) -> list[Plain]:
    words = [word.strip() for text in typed for word in text.split(",") if word.strip()]
    if not words or "fleet" in (word.lower() for word in words):
        return ["fleet"]
    names = dict.fromkeys(find_aircraft(clerk, word) for word in words)
    return [clerk.ref(("aircraft", name)) for name in names]


def _enter_spell(
    clerk: Clerk, sheet: Sheet, wish: PaperWish, old: PaperFile | None, warnings: list[str]
) -> None:
    zone = clerk.ledger.records.zone
    until = _read_option(clerk, wish.until, "--until", ahead=True)
    since = _read_option(clerk, wish.since, "--from", ahead=False)
    if until is None:
        if since is not None:
            raise RegisterError(
                "--from alone says nothing: until when does it run?",
                mend="--from 2026-04-01 --until 2027-03-31",
                code="until-missing",
            )
        if old is None:
            warnings.append("until when it runs is not recorded: --until DATE")
        return
    if since is not None and since > until:
        raise RegisterError(
            f"it would begin {since.isoformat()}, after its end {until.isoformat()}",
            mend="--from 2026-04-01 --until 2027-03-31",
            code="dates-crossed",
        )
    if until < clerk.now.astimezone(zone).date():
        warnings.append(f"{until.isoformat()} is past: it is recorded as run out")
    spell: dict[str, Plain] = {"until": until.isoformat()}
    if since is not None:
        spell = {"from": since.isoformat(), **spell}
    if old is not None and (since, until) in old.spells:
        return
    sheet.append(("valid",), spell, f"valid until {until.isoformat()}")


def _read_option(clerk: Clerk, text: str | None, option: str, *, ahead: bool) -> date | None:
    if text is None:
        return None
    try:
        return read_day(text, clerk.now, clerk.ledger.records.zone, ahead=ahead)
    except RegisterError as error:
        raise RegisterError(f"{option}: {error.says}", mend=error.mend, code=error.code) from error


def _finish(
    clerk: Clerk,
    sheet: Sheet,
    name: str,
    wish: PaperWish,
    old: PaperFile | None,
    warnings: list[str],
) -> Plan:
    plan = finish_plan(clerk, sheet, "paper", name, warnings)
    if old is None or wish.until is None or len(sheet.touched) != 1:
        return plan
    until = sheet.touched[0].removeprefix("valid until ")
    return Plan(
        plan.changes,
        f"Renew the paper {name} until {until}",
        (f"paper {name} renewed until {until} ({sheet.path})",),
        plan.written,
        plan.subjects,
        plan.warnings,
    )
