"""Exchanging with other machines: hear from every carrier, join, tell every carrier.

The composer of the sync command: storage carries letters, git moves history, merge decides.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from register.git.blobs import hash_blob
from register.git.bundles import read_bundle, write_bundle
from register.git.heads import is_ancestor, read_tip
from register.git.remotes import (
    check_address,
    check_name,
    fetch_remote,
    is_repository,
    list_heard,
    protocol_of,
    push_remote,
    read_remote_tip,
)
from register.git.repository import check_place, read_own_marker
from register.git.taking import Taken, take_tips
from register.git.wrapper import require_git, run_git
from register.merge.trees import CLASHES, merge_trees
from register.storage.carriers import Carrier, note_worked, read_carriers, write_carriers
from register.storage.disk import is_folder
from register.storage.journal import machine_id
from register.storage.mailbox import (
    Letter,
    drop_letter,
    fetch_letter,
    list_letters,
    new_letter,
    post_letter,
)
from register.trouble import Exit, RegisterError

_TRIES = 5
REMOTE, MAILBOX = "remote", "mailbox"
Act = Callable[[Path, Carrier], "tuple[Carrier, Exchange]"]


class Exchange(Struct, frozen=True):
    """What one carrier gave and took. `heard`: machine -> letters read; `waits`: what is not
    there yet; `trouble`: why the carrier did not work."""

    carrier: str
    where: str
    heard: tuple[tuple[str, int], ...] = ()
    waits: tuple[str, ...] = ()
    sent: bool = False
    trouble: str | None = None
    mend: str | None = None


class Synced(Struct, frozen=True):
    """One sync: the exchanges, what came in by folder, and the clashes it opened."""

    exchanges: tuple[Exchange, ...]
    records: tuple[tuple[str, int], ...]
    files: tuple[str, ...]
    clashes: tuple[str, ...]
    note: str | None


def add_carrier(root: Path, name: str, where: str, cwd: Path) -> Carrier:
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
    write_carriers(root, {**carriers, name: carrier})
    return carrier


def make_carrier(name: str, where: str, cwd: Path, fleet: str) -> Carrier:
    """A carrier from the place as typed; a plain folder is a mailbox."""
    folder = (cwd / where).resolve()
    if protocol_of(where) is None and is_folder(folder) and not is_repository(folder):
        return Carrier(name, MAILBOX, str(folder), fleet=fleet)
    protocol, address = check_address(where, cwd)
    return Carrier(name, REMOTE, address, protocol, fleet)


def _refuse_own(root: Path, carrier: Carrier) -> None:
    here = root.resolve()
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
    """A mark that all machines of a fleet share: the beginning of its first commit's id."""
    branch = read_own_marker(root).branch
    said = run_git(
        root, ["rev-list", "--first-parent", "--max-parents=0", f"refs/heads/{branch}"], check=False
    )
    first = sorted(said.decode("ascii", "replace").split())
    return f"fleet-{first[0][:12]}" if first else ""


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
    exchanges: dict[str, Exchange] = {}
    for name in chosen:
        carriers[name], exchanges[name] = _try(root, carriers[name], hear)
    taken = take_tips(root, list(list_heard(root).values()), merge_histories)
    for name in chosen:
        if exchanges[name].trouble is None:
            carriers[name], told = _try(root, carriers[name], _tell)
            exchanges[name] = replace(exchanges[name], sent=told.sent, trouble=told.trouble)
            if told.trouble is None:
                carriers[name] = note_worked(carriers[name], now.isoformat(timespec="minutes"))
    write_carriers(root, carriers)
    return _say(tuple(exchanges.values()), taken)


def _say(exchanges: tuple[Exchange, ...], taken: Taken) -> Synced:
    if all(exchange.trouble is not None for exchange in exchanges):
        first = exchanges[0]
        raise RegisterError(
            "; ".join(f"{item.carrier}: {item.trouble}" for item in exchanges),
            mend=first.mend or "tailsheaf sync",
            exit_code=Exit.CANNOT_RUN,
            code="carrier-silent",
        )
    records = Counter(_home(path) for path in taken.added if "/events/" in path)
    files = [path for path in (*taken.added, *taken.changed, *taken.removed) if _is_file(path)]
    clashes = [path for path in taken.added if path.startswith(f"{CLASHES}/")]
    return Synced(
        exchanges,
        tuple(sorted(records.items())),
        tuple(sorted(files)),
        tuple(path.rpartition("/")[2].removesuffix(".yaml") for path in clashes),
        taken.note,
    )


def _home(path: str) -> str:
    return path.split("/events/")[0].rpartition("/")[2]


def _is_file(path: str) -> bool:
    return not path.startswith(f"{CLASHES}/") and "/events/" not in path


def merge_histories(
    base: Mapping[str, str],
    one: Mapping[str, str],
    two: Mapping[str, str],
    load: Callable[[str], bytes],
) -> tuple[dict[str, str], dict[str, bytes]]:
    """The merge of two trees as git's room wants it."""
    like = next(iter((*one.values(), *two.values())), "")
    merged = merge_trees(base, one, two, load, lambda data: hash_blob(data, like))
    return merged.tree, merged.fresh


def _try(root: Path, carrier: Carrier, act: Act) -> tuple[Carrier, Exchange]:
    """One carrier's trouble stops no other."""
    try:
        return act(root, carrier)
    except RegisterError as error:
        return carrier, Exchange(carrier.name, carrier.where, trouble=error.says, mend=error.mend)


def hear(root: Path, carrier: Carrier) -> tuple[Carrier, Exchange]:
    """Bring here what a carrier holds that is new; nothing of the fleet is changed yet."""
    if carrier.kind == MAILBOX:
        return _hear_box(root, carrier)
    branch = read_own_marker(root).branch
    tip = read_remote_tip(root, carrier.protocol, carrier.where, branch)
    new = tip is not None and list_heard(root).get(carrier.name) != tip
    if new:
        fetch_remote(root, carrier.protocol, carrier.where, branch, carrier.name)
    return carrier, Exchange(carrier.name, carrier.where, (("", 1),) if new else ())


def _hear_box(root: Path, carrier: Carrier) -> tuple[Carrier, Exchange]:
    """Read the letters of every other machine in order, up to the first that is not whole."""
    own = machine_id(root)
    seen = dict(carrier.seen)
    heard: list[tuple[str, int]] = []
    waits: list[str] = []
    for machine, letters in list_letters(Path(carrier.where), carrier.fleet).items():
        if machine == own:
            continue
        count = 0
        for letter in letters:
            if letter.number <= seen.get(machine, 0):
                continue
            if letter.number != seen.get(machine, 0) + 1 or not _open_letter(root, letter):
                number = seen.get(machine, 0) + 1
                waits.append(f"letter {number} of {machine} is not wholly there yet")
                break
            seen[machine] = letter.number
            count += 1
        if count:
            heard.append((machine, count))
    return (
        replace(carrier, seen=seen),
        Exchange(carrier.name, carrier.where, tuple(heard), tuple(waits)),
    )


def _open_letter(root: Path, letter: Letter) -> bool:
    copy = fetch_letter(root, letter)
    if copy is None:
        return False
    try:
        return read_bundle(root, copy, letter.machine)
    finally:
        drop_letter(copy)


def _tell(root: Path, carrier: Carrier) -> tuple[Carrier, Exchange]:
    if carrier.kind == MAILBOX:
        return _tell_box(root, carrier)
    branch = read_own_marker(root).branch
    done = Exchange(carrier.name, carrier.where)
    for _ in range(_TRIES):
        tip = read_tip(root, f"refs/heads/{branch}")
        there = read_remote_tip(root, carrier.protocol, carrier.where, branch)
        if tip is None or tip == there:
            return carrier, done
        if push_remote(root, carrier.protocol, carrier.where, branch, tip):
            return carrier, replace(done, sent=True)
        # Another machine was quicker: take in what it brought, and try again.
        fetch_remote(root, carrier.protocol, carrier.where, branch, carrier.name)
        take_tips(root, [list_heard(root)[carrier.name]], merge_histories)
    raise RegisterError(
        f"{carrier.name} was changed by others five times in a row",
        mend="tailsheaf sync   again in a while",
        exit_code=Exit.CANNOT_RUN,
        code="carrier-busy",
    )


def _tell_box(root: Path, carrier: Carrier) -> tuple[Carrier, Exchange]:
    """Post what the box has not: nothing where another machine's letter holds it already."""
    done = Exchange(carrier.name, carrier.where)
    tip = read_tip(root, f"refs/heads/{read_own_marker(root).branch}")
    own = machine_id(root) or ""
    if tip is None or tip == carrier.sent:
        return carrier, done
    letters = list_letters(Path(carrier.where), carrier.fleet)
    heard = list_heard(root)
    for machine, listed in letters.items():
        there = heard.get(machine) if machine != own else None
        # Only what lies in this very box counts: another carrier may have brought it here.
        if there and listed[-1].tip == there[:12] and is_ancestor(root, tip, there):
            return carrier, done
    mine = letters.get(own, ())
    known = carrier.sent if any(carrier.sent and x.tip == carrier.sent[:12] for x in mine) else None
    target = new_letter(root)
    try:
        write_bundle(root, target, tip, known)
        number = max((letter.number for letter in mine), default=0) + 1
        post_letter(Path(carrier.where), carrier.fleet, own, number, tip, target)
    finally:
        drop_letter(target)
    return replace(carrier, sent=tip), replace(done, sent=True)
