"""Carrying a handover out: look, pack, write the file, and only then record the change."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

from register.trouble import Exit, RegisterError

if TYPE_CHECKING:
    from datetime import date

    from cli.session import Session
    from register.entry.clerk import Plan, Stamp
    from register.fleet import Fleet
    from register.handing import Prepared, Wish
    from register.ledger.ledger import Ledger
    from register.transfer.preview import Preview

ENDING = ".tailsheaf"


class HandoverWords(Struct, frozen=True):
    """The options of `handover`, as typed."""

    more: tuple[str, ...]
    less: tuple[str, ...]
    leave: tuple[str, ...]
    to: str | None
    copy: bool
    sign: str | None
    dossier: str | None


def hand_over(
    session: Session, aircraft: str, out: str | None, words: HandoverWords, stamp: Stamp
) -> None:
    """Show what would go; with `out`, write it and record the change of owner."""
    from cli.render.handover import render_packed, render_preview
    from register.entry.owners import find_day_gone
    from register.entry.subjects import find_aircraft
    from register.handing import pack
    from register.storage.disk import resolve_path
    from register.storage.outside import write_outside
    from register.storage.parcel import START, pack_parcel

    finished = () if out is None else _finish_first(session)
    fleet = session.open()
    clerk = session.clerk()
    name = find_aircraft(clerk, aircraft)
    gone = find_day_gone(fleet.ledger, name)
    wish = _read_wish(session, name, words, is_gone=gone is not None)
    plan, day = _plan_change(session, name, words, stamp, gone)
    prepared = _prepare(session, fleet, wish, day)
    preview = make_preview(fleet, prepared, day, gone)
    if out is None and words.dossier is None:
        render_preview(session, preview)
        return
    if words.dossier is not None:
        write_dossier(session, prepared, fleet.ledger, day, words.dossier)
        if out is None:
            return
    target = _target(session, fleet, out or "", name, day)
    key = None if words.sign is None else session.cwd / Path(words.sign)
    with session.stages() as tell:
        tell("drawing the dossier", 0, 0)
        beside = make_dossier(prepared, fleet.ledger, day, signed=key is not None)
        packed = pack(fleet, prepared, program_version(), day, beside, key, tell)
        data = pack_parcel(packed.members)
    write_outside(target, data, START)
    shown = target.name if target.parent == resolve_path(session.cwd) else str(target)
    if plan is not None and gone is None and not words.copy:
        from register.desk import apply_plan

        # The parts that go are known only now; the plan was made to learn of a refusal first.
        plan, _ = _plan_change(session, name, words, stamp, None, prepared.scope.parts)
        if plan is not None:
            with _file_is_written(shown):
                apply_plan(fleet, plan)
    says = plan.says if plan is not None and not words.copy else ()
    if finished:
        many = len(finished)
        what = "1 file" if many == 1 else f"{many} files"
        says = (f"{what} of a line that was cut short came into history first", *says)
    render_packed(session, preview, (shown, len(data), tuple(packed.members)), says)


def _finish_first(session: Session) -> tuple[str, ...]:
    """What a line that was cut short left: the change of owner itself may be among it."""
    from register.git.apply import finish_writes
    from register.storage.folder import find_fleet

    root = find_fleet(session.start_folder)
    finished = () if root is None else finish_writes(root)
    if finished:
        session.walk = None
    return finished


@contextmanager
def _file_is_written(shown: str) -> Iterator[None]:
    """What stops the record of the change: say that the file stands, and what brings the rest."""
    try:
        yield
    except RegisterError as error:
        is_saved = error.code == "saved-not-in-history"
        rest = "" if is_saved else ", and the change of owner is not recorded yet"
        raise RegisterError(
            f"{error.says}; {shown} is written{rest}",
            mend=error.mend if is_saved else f"{error.mend}\nthen the same handover again",
            exit_code=error.exit_code,
            code=error.code,
        ) from error


def _read_wish(session: Session, name: str, words: HandoverWords, *, is_gone: bool) -> Wish:
    from register.entry.owners import parts_gone_with
    from register.entry.subjects import find_part
    from register.handing import Wish

    clerk = session.clerk()
    more = tuple(find_part(clerk, word) for word in words.more)
    less = tuple(find_part(clerk, word) for word in words.less)
    leave = tuple(clerk.find_event(word).id for word in words.leave)
    went = parts_gone_with(clerk.ledger, name) if is_gone else None
    return Wish(name, more, less, leave, went)


def _plan_change(
    session: Session,
    name: str,
    words: HandoverWords,
    stamp: Stamp,
    gone: date | None,
    parts: tuple[str, ...] = (),
) -> tuple[Plan | None, date]:
    """The record of the change, and its day; none for an update, which changes nothing more."""
    from register.entry.drafting import Draft
    from register.entry.owners import plan_leaving

    clerk = session.clerk(stamp.by)
    if gone is not None:
        return None, gone
    day = Draft(clerk, stamp).when.day
    if words.copy:
        return None, day
    return plan_leaving(clerk, name, parts, words.to, stamp), day


def _prepare(session: Session, fleet: Fleet, wish: Wish, day: date) -> Prepared:
    from register.handing import prepare

    with session.stages() as tell:
        return prepare(fleet, wish, day, tell)


def make_preview(fleet: Fleet, prepared: Prepared, day: date, gone: date | None) -> Preview:
    """The view of what was put together."""
    from register.desk import read_starters
    from register.transfer.preview import view_preview

    return view_preview(
        fleet.ledger,
        prepared.ledger,
        prepared.scope,
        prepared.tokens,
        (prepared.texts, prepared.dropped, prepared.left_out),
        (len(prepared.kept.pictures), prepared.kept.others, prepared.unread),
        len(prepared.steps),
        (day, gone),
        "\n".join(data.decode() for data in read_starters().values()),
    )


def _target(session: Session, fleet: Fleet, out: str, name: str, day: date) -> Path:
    """Where to write: a folder gets a name with the day; never inside the fleet."""
    from register.storage.disk import is_folder, resolve_path

    path = session.cwd / Path(out)
    if is_folder(path):
        path = path / f"{name}-{day.isoformat()}{ENDING}"
    path = resolve_path(path.parent) / path.name
    root = resolve_path(fleet.root)
    if root == path.parent or root in path.parents:
        raise RegisterError(
            "the file would lie inside the fleet",
            mend=f"tailsheaf handover {name} ../{name}{ENDING}",
            exit_code=Exit.USAGE,
            code="inside-fleet",
        )
    return path


def make_dossier(
    prepared: Prepared, ledger: Ledger, day: date, *, signed: bool | None
) -> dict[str, bytes]:
    """The dossier's two forms, built from what the new owner will have and nothing else."""
    from register.pages.dossier_document import build_document, list_words
    from register.pages.dossier_page import draw_page
    from register.pages.dossier_text import draw_text
    from register.storage.parcel import DOSSIER, DOSSIER_TEXT
    from register.transfer.objects import refuse_leaks, scan_texts
    from register.transfer.preview import name_dropped
    from register.views.dossier import DossierFacts, view_dossier

    scope, left = prepared.scope, prepared.left_out
    machines = {event.machine for event in ledger.settled.originals.values() if event.machine}
    typed: dict[str, date] = {}
    for event in (event for id_, event in ledger.settled.originals.items() if id_ in scope.homes):
        if event.machine and event.typed:
            written = event.typed.date()
            typed[event.machine] = max(written, typed.get(event.machine, written))
    facts = DossierFacts(
        program=program_version(),
        not_included=scope.stubs,
        shared=tuple(name for name in scope.stubs if ledger.records.parts[name].use == "assigned"),
        withheld=left.revisions,
        masked=left.words,
        dropped=name_dropped(prepared.dropped),
        left_by_wish=left.records,
        machines=max(len(machines), 1),
        last_typed=tuple(sorted(typed.values(), reverse=True)),
        revisions=len(prepared.steps),
        signed=signed,
        pictures=prepared.kept.pictures,
        other_files=len(prepared.kept.others),
    )
    view = view_dossier(prepared.ledger, scope.aircraft, day, facts)
    # The forms break long words and lines; what they say is searched unbroken too.
    document = build_document(view)
    words = list_words(document).encode("utf-8", "replace")
    refuse_leaks(scan_texts({DOSSIER: words}, prepared.tokens))
    page, text = draw_page(document), draw_text(document)
    return {DOSSIER: page.encode("utf-8", "replace"), DOSSIER_TEXT: text.encode("utf-8", "replace")}


def write_dossier(
    session: Session, prepared: Prepared, ledger: Ledger, day: date, file: str
) -> None:
    """The dossier alone, as a page (or with the ending .txt as text), to look at before."""
    from cli.render.handover import render_dossier_written
    from register.storage.outside import write_outside
    from register.storage.parcel import DOSSIER, DOSSIER_TEXT
    from register.transfer.objects import refuse_leaks, scan_texts

    forms = make_dossier(prepared, ledger, day, signed=None)
    refuse_leaks(scan_texts(forms, prepared.tokens))
    path = session.cwd / Path(file)
    chosen = forms[DOSSIER_TEXT if path.suffix == ".txt" else DOSSIER]
    write_outside(path, chosen, chosen[:15])
    render_dossier_written(session, prepared.scope.aircraft, str(path), len(chosen))


def program_version() -> str:
    """The version that is installed."""
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("tailsheaf")
    except PackageNotFoundError:
        return "unknown"
