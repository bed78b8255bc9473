"""Exchanging with other machines: hear from every carrier, join, tell every carrier.

The composer of the sync command: storage carries letters, git moves history, merge decides.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from functools import partial
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from register.entry.fleets import make_machine_id
from register.git.arriving import accept, forget_heard, list_heard, read_mark, read_past
from register.git.blobs import hash_blob
from register.git.heads import read_tip
from register.git.remotes import (
    await_unlocked,
    check_address,
    check_name,
    fetch_remote,
    find_locks,
    is_repository,
    locked,
    protocol_of,
    push_remote,
    read_remote_tip,
)
from register.git.repository import check_place, read_own_marker
from register.git.taking import Taken, take_tips
from register.git.wrapper import require_git
from register.merge.questions import is_question, read_question
from register.merge.trees import merge_trees
from register.posting import Exchange, hear_box, tell_box
from register.records.names import name_before
from register.storage.carriers import Carrier, note_worked, read_carriers, write_carriers
from register.storage.disk import disk_error, is_folder, resolve_path
from register.storage.folder import FLEET_FILE, read_file
from register.storage.journal import machine_id, write_machine_id
from register.storage.keeping import (
    find_left_locks,
    is_left_since,
    list_kept,
    move_to_rescue,
    noted_at,
    remove_kept,
    take_lock_away,
    write_kept,
)
from register.storage.lock import fleet_lock
from register.storage.mailbox import MAIL
from register.storage.scratch import find_own_locks
from register.text.document import read_plain
from register.text.parsing import parse_text
from register.trouble import Exit, RegisterError

_TRIES = 5
#: There while a sync is at work, and after one that was killed.
_AT_WORK = "syncing"
REMOTE, MAILBOX = "remote", "mailbox"
Act = Callable[[Path, Carrier, str], "tuple[Carrier, Exchange]"]


class Synced(Struct, frozen=True):
    """One sync: the exchanges, what came in by folder, and the clashes it opened."""

    exchanges: tuple[Exchange, ...]
    records: tuple[tuple[str, int], ...]
    files: tuple[str, ...]
    clashes: tuple[str, ...]
    note: str | None
    #: Amendments that came in, by path: two machines may have amended one thing apart.
    amendments: tuple[str, ...] = ()
    #: Things that were renamed because another one has their name: name now, name before.
    renamed: tuple[tuple[str, str], ...] = ()
    #: Flights that came in, by path: one may have been typed here too.
    flights: tuple[str, ...] = ()


def add_carrier(root: Path, name: str, where: str, cwd: Path, chance: random.Random) -> Carrier:
    """Set a carrier of this machine: a repository, or a folder that becomes a mailbox."""
    _require_history(root)
    check_name(name)
    carriers = read_carriers(root)
    if name in carriers:
        raise RegisterError(
            f"there is a carrier {name} already ({carriers[name].where})",
            mend=f"tailsheaf sync --remove {name}   or choose another name",
            exit_code=Exit.USAGE,
            code="name-taken",
        )
    carrier = make_carrier(name, where, cwd, fleet_mark(root))
    _refuse_own(root, carrier)
    if machine_id(root) is None:
        # A repository that was adopted: each machine needs a name of its own from here on.
        write_machine_id(root, make_machine_id(chance))
    write_carriers(root, {**carriers, name: carrier})
    return carrier


def make_carrier(name: str, where: str, cwd: Path, fleet: str) -> Carrier:
    """A carrier from the place as typed; a plain folder is a mailbox."""
    folder = resolve_path(cwd / where)
    if protocol_of(where) is None and is_folder(folder) and not is_repository(folder):
        return Carrier(name, MAILBOX, str(folder), fleet=fleet)
    protocol, address = check_address(where, cwd)
    return Carrier(name, REMOTE, address, protocol, fleet)


def _refuse_own(root: Path, carrier: Carrier) -> None:
    here = resolve_path(root)
    place = Path(carrier.where)
    if carrier.protocol == "file" and (place == here or here in place.parents):
        raise RegisterError(
            "a fleet cannot be its own carrier, nor hold one",
            mend="choose a folder outside the fleet",
            exit_code=Exit.USAGE,
            code="address-refused",
        )


def remove_carrier(root: Path, name: str) -> Carrier:
    """Take a carrier off this machine; what it holds stays there."""
    carriers = read_carriers(root)
    if name not in carriers:
        raise _unknown(name, carriers)
    write_carriers(root, {key: item for key, item in carriers.items() if key != name})
    return carriers[name]


def _unknown(name: str, carriers: dict[str, Carrier]) -> RegisterError:
    known = f" ({', '.join(carriers)})" if carriers else ""
    return RegisterError(
        f"no carrier is called {name[:40]!a}{known}",
        mend="tailsheaf sync --add NAME WHERE   sets one",
        exit_code=Exit.USAGE,
        code="carrier-unknown",
    )


def fleet_mark(root: Path) -> str:
    """The mark that all machines of a fleet share; empty before its first commit."""
    return read_mark(root, f"refs/heads/{read_own_marker(root).branch}")


def _require_history(root: Path) -> None:
    if not check_place(root):
        raise RegisterError(
            "this fleet has no history to exchange",
            mend="tailsheaf init DIR   makes a fleet with one",
            exit_code=Exit.CANNOT_RUN,
            code="no-history",
        )
    require_git(root)


def sync_fleet(root: Path, names: Sequence[str], now: datetime) -> Synced:
    """Hear from the carriers named, or all; take in what is new; send what they have not.

    Raises RegisterError: USAGE without a carrier, REFUSED as `take_tips` does, CANNOT_RUN where
    no carrier works.
    """
    _require_history(root)
    carriers = read_carriers(root)
    chosen = [name for name in carriers if not names or name in names]
    for name in names:
        if name not in carriers:
            raise _unknown(name, carriers)
    if not chosen:
        raise RegisterError(
            "no carrier is set on this machine",
            mend="tailsheaf sync --add stick /media/stick   or a repository's address",
            exit_code=Exit.USAGE,
            code="no-carrier",
        )
    before = _clear_up(root)
    today = now.date().isoformat()
    exchanges: dict[str, Exchange] = {}
    for name in chosen:
        carriers[name], exchanges[name] = _try(root, carriers[name], today, hear)
    _note_at_work(root)
    came = [take_heard(root)]
    for name in chosen:
        if exchanges[name].trouble is None:
            told = _try(root, carriers[name], today, partial(_tell, came=came, before=before))[1]
            exchanges[name] = replace(
                exchanges[name], sent=told.sent, trouble=told.trouble, mend=told.mend
            )
            if told.trouble is None:
                carriers[name] = note_worked(carriers[name], now.isoformat(timespec="minutes"))
    write_carriers(root, carriers)
    _note_finished(root, [carriers[name] for name in chosen if exchanges[name].trouble is None])
    return _say(root, tuple(exchanges.values()), came)


def _note_at_work(root: Path) -> None:
    """By its time the next sync knows which of git's locks this one left, should it be killed."""
    write_kept(root, _AT_WORK, b"")


def _note_finished(root: Path, worked: Sequence[Carrier]) -> None:
    """The mark stays where git could not remove a lock of its own: the next sync then does.

    `worked` are the carriers that did: git on their side may have left one as well.
    """
    branch, began = read_own_marker(root).branch, noted_at(root, _AT_WORK)
    left = list(find_left_locks(root, branch, _AT_WORK))
    try:
        for carrier in worked:
            locks = find_locks(carrier.protocol, carrier.where, branch)
            left.extend(str(lock) for lock in locks if is_left_since(lock, began))
    except OSError:
        # A stick that was pulled out just now: what is on it will be seen next time.
        return
    if not left:
        remove_kept(root, _AT_WORK)


def _clear_up(root: Path) -> float | None:
    """What a sync that was killed left: locks on names of ours, others of its time, a bundle.

    Returned is when that one last was at work, by the disk's clock: locks it left in a
    repository on a path are found when that is sent to.
    """
    with fleet_lock(root):
        before = noted_at(root, _AT_WORK)
        branch = read_own_marker(root).branch
        for lock in (*find_own_locks(root), *find_left_locks(root, branch, _AT_WORK)):
            move_to_rescue(root, lock)
        for name in list_kept(root, MAIL):
            remove_kept(root, f"{MAIL}/{name}")
        _note_at_work(root)
    return before


def take_heard(root: Path) -> Taken:
    """Take in all that was heard, and drop the names it was kept under meanwhile."""
    heard = list_heard(root)
    taken = take_tips(root, heard, merge_histories)
    forget_heard(root, heard)
    return taken


def _say(root: Path, exchanges: tuple[Exchange, ...], came: Sequence[Taken]) -> Synced:
    if all(exchange.trouble is not None for exchange in exchanges):
        first = exchanges[0]
        raise RegisterError(
            "; ".join(f"{item.carrier}: {item.trouble}" for item in exchanges),
            mend=first.mend or "tailsheaf sync",
            exit_code=Exit.CANNOT_RUN,
            code="carrier-silent",
        )
    added = [path for taken in came for path in taken.added]
    touched = [path for taken in came for path in (*taken.added, *taken.changed, *taken.removed)]
    records = Counter(_home(path) for path in added if "/events/" in path)
    notes = [taken.note for taken in came if taken.note]
    return Synced(
        exchanges,
        tuple(sorted(records.items())),
        tuple(sorted({path for path in touched if _is_file(path)})),
        tuple(sorted({name_of(path) for path in touched if _is_open(root, path)})),
        "; ".join(dict.fromkeys(notes)) or None,
        tuple(path for path in added if "/events/" in path and "-amendment-" in path),
        tuple(sorted({pair for path in touched if (pair := _find_renamed(root, path))})),
        tuple(path for path in added if "/events/" in path and "-flights-" in path),
    )


def _find_renamed(root: Path, path: str) -> tuple[str, str] | None:
    """What came to lie here because another thing has its name: the name now and before."""
    parts = path.split("/")
    if len(parts) != 3 or parts[0] not in ("aircraft", "parts") or not path.endswith(".yaml"):
        return None
    data = read_file(root, path)
    node = None if data is None else parse_text(path, data).node
    plain = None if node is None else read_plain(node)
    aliases = plain.get("aliases") if isinstance(plain, dict) else None
    if not isinstance(plain, dict) or not isinstance(aliases, list):
        return None
    before = name_before(parts[1], str(plain.get("id", "")), [str(alias) for alias in aliases])
    return None if before is None else (parts[1], before)


def _is_open(root: Path, path: str) -> bool:
    """Whether a path is of a clash that nobody has answered yet, or that is asked again."""
    data = read_file(root, path) if is_question(path) else None
    question = None if data is None else read_question(path, data)
    return question is not None and question.settled is None


def read_titles(root: Path) -> dict[str, str]:
    """What each machine is called, as fleet.yaml says now."""
    data = read_file(root, FLEET_FILE)
    node = None if data is None else parse_text(FLEET_FILE, data).node
    named = None if node is None else node.get("machines")
    plain = None if named is None else read_plain(named)
    return {
        str(key): str(value) for key, value in (plain if isinstance(plain, dict) else {}).items()
    }


def name_of(path: str) -> str:
    """The name of a file without its folders and ending."""
    return path.rpartition("/")[2].removesuffix(".yaml")


def _home(path: str) -> str:
    return path.split("/events/")[0].rpartition("/")[2]


def _is_file(path: str) -> bool:
    return not is_question(path) and "/events/" not in path


def merge_histories(
    base: Mapping[str, str],
    one: Mapping[str, str],
    two: Mapping[str, str],
    load: Callable[[str], bytes],
    who: Callable[[int, str], str],
) -> tuple[dict[str, str], dict[str, bytes]]:
    """The merge of two trees as git's room wants it."""
    like = next(iter((*one.values(), *two.values())), "")
    merged = merge_trees(base, one, two, load, lambda data: hash_blob(data, like), who)
    return merged.tree, merged.fresh


def _try(root: Path, carrier: Carrier, today: str, act: Act) -> tuple[Carrier, Exchange]:
    """One carrier's trouble stops no other."""
    try:
        return act(root, carrier, today)
    except RegisterError as error:
        trouble = error
    except OSError as error:
        # A disk that fails, a link that leads to itself: the carrier's, for the fleet's own
        # folder is read and written by rooms that say so themselves.
        trouble = disk_error(error, f"look at {carrier.where}")
    return carrier, Exchange(carrier.name, carrier.where, trouble=trouble.says, mend=trouble.mend)


def hear(root: Path, carrier: Carrier, today: str) -> tuple[Carrier, Exchange]:
    """Bring here what a carrier holds that is new; nothing of the fleet is changed yet."""
    if carrier.kind == MAILBOX:
        return hear_box(root, carrier, today)
    branch = read_own_marker(root).branch
    tip = read_remote_tip(root, carrier.protocol, carrier.where, branch)
    new = tip is not None and tip[:12] not in read_past(root)
    if new:
        commit = fetch_remote(root, carrier.protocol, carrier.where, branch)
        accept(root, commit, carrier.fleet, carrier.name)
    return carrier, Exchange(carrier.name, carrier.where, (("", 1),) if new else ())


def _tell(
    root: Path, carrier: Carrier, today: str, came: list[Taken], before: float | None
) -> tuple[Carrier, Exchange]:
    """Send what a carrier has not. `before` is when a sync began that was killed."""
    if carrier.kind == MAILBOX:
        return carrier, tell_box(root, carrier, merge_histories)
    branch = read_own_marker(root).branch
    done, lock = Exchange(carrier.name, carrier.where), ""
    for left in await_unlocked(carrier.protocol, carrier.where, branch):
        if not is_left_since(left, before):
            raise locked(str(left))
        take_lock_away(left)
    for _ in range(_TRIES):
        tip = read_tip(root, f"refs/heads/{branch}")
        there = read_remote_tip(root, carrier.protocol, carrier.where, branch)
        if tip is None or tip == there:
            return carrier, done
        pushed = push_remote(root, carrier.protocol, carrier.where, branch, tip)
        if pushed.done:
            return carrier, replace(done, sent=True)
        lock = pushed.lock
        # Another machine was quicker: take in what it brought, and try again.
        hear(root, carrier, today)
        came.append(take_heard(root))
    if lock:
        raise locked(lock)
    raise RegisterError(
        f"{carrier.name} was changed by others five times in a row",
        mend="tailsheaf sync   again in a while",
        exit_code=Exit.CANNOT_RUN,
        code="carrier-busy",
    )
