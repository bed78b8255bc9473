"""The worlds of sync, handover, receive and doctor, and what each of these lines promises."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import Iterable, Mapping
from hashlib import sha256
from pathlib import Path

from faults.fleet_at_work import Workplace, copy_fleet, make_interrupted
from faults.promises import SAVED, blob
from faults.worlds import FLEET, Crossing, Moment, Tell, World

HERON = "aircraft/heron/aircraft.yaml"
KEY = "seller-key"
BOX, BASE = "box", "base.git"
FILE = "out/heron.tailsheaf"
LATER = "out/later.tailsheaf"
_LETTER = re.compile(r"\d{6}-[0-9a-f]{12}")


def make_crossings(prepared: Workplace, folder: Path) -> dict[str, Crossing]:
    """All scenes, by name. `folder` is where their worlds are made."""
    folder.mkdir()
    sold, later = make_sold(prepared, folder / "selling")
    signing = signed_scene(prepared, folder / "signed")
    found = (
        sync_scene(prepared, folder / "sync"),
        repository_scene(prepared, folder / "repository"),
        handover_scene(prepared, folder / "handover"),
        signing,
        receive_scene(prepared, folder / "receive", sold),
        verified_scene(prepared, folder / "verified", signing.world),
        update_scene(prepared, folder / "update", sold, later),
        doctor_scene(prepared, folder / "doctor"),
        torn_scene(prepared, folder / "torn"),
    )
    return {scene.name: scene for scene in found}


def _begin(prepared: Workplace, folder: Path) -> World:
    """A world whose fleet is a copy of the one at work, its history in one pack."""
    folder.mkdir()
    copy_fleet(prepared.root, folder / FLEET)
    world = World(folder, prepared.env)
    _pack(world.place)
    return world


def _pack(place: Workplace) -> None:
    """As git leaves it in time; and hundreds of copies of a world are made."""
    assert "failed" not in place.git("gc", "-q")
    shutil.rmtree(place.root / ".git/tailsheaf/answers", ignore_errors=True)


def _tip(world: World) -> str:
    return world.place.git("rev-parse", "HEAD").strip()


# sync


def sync_scene(prepared: Workplace, folder: Path) -> Crossing:
    """A mailbox in which another machine's letter is, while this one has news of its own."""
    world = _begin(prepared, folder)
    box = folder / BOX
    box.mkdir()
    _take_apart(world, box)
    return _syncing("sync", world, _said_of_sync, _box_at_end)


def repository_scene(prepared: Workplace, folder: Path) -> Crossing:
    """A bare repository to which another machine sent, while this one has news of its own."""
    world = _begin(prepared, folder)
    base = folder / BASE
    world.place.git("init", "-q", "--bare", "--initial-branch=main", str(base))
    _take_apart(world, base)
    return _syncing("sync repository", world, _said_of_repository, _base_at_end)


def _take_apart(world: World, carrier: Path) -> None:
    """Another machine joins by the carrier, and both go on."""
    place, other = world.place, world.folder.parent / f"other-{world.folder.name}"
    place.types("sync", "--add", "stick", str(carrier))
    place.types("sync")
    place.types("init", str(other), "--from", str(carrier), root=world.folder)
    place.types("fly", "heron", "2", "--minutes", "15", root=other)
    path = other / HERON
    path.write_bytes(path.read_bytes() + b"# seen by the other\n")
    (other / "programmes/short.yaml").unlink()
    place.types("save", root=other)
    place.types("sync", root=other)
    # Not shared by the two: a merge has to be made, and something is left to be sent.
    place.types("snag", "heron", "canopy", "lock", "stiff")


def _syncing(name: str, world: World, said: Tell, beside: Tell) -> Crossing:
    between = ("snag", "heron", "seen", "between")
    return Crossing(name, world, ("sync",), _tip(world), said, beside, between, (1, 3, 4))


def _said_of_sync(moment: Moment) -> Iterable[str]:
    yield from _said_of_coming_in(moment)
    if "sent what it had not" in moment.ran.out and not _is_posted(moment):
        yield "it said sent and it is not"


def _said_of_coming_in(moment: Moment) -> Iterable[str]:
    out, err = moment.ran.out, moment.ran.err
    if ("taken in: " in out or moment.ran.code == 0) and not moment.fleet_as_wanted:
        yield "it said taken in and it is not"
    if "nothing was taken in" in err and moment.now.state.head != moment.before.state.head:
        yield "it said nothing was taken in and something is"


def _own_letters(moment: Moment) -> dict[str, bytes]:
    """The files in the box that are no other machine's, by path."""
    others = {path.rpartition("/")[0] for path in moment.before.beside}
    own = moment.world.place.root / ".git/tailsheaf/machine"
    mine = f"/{own.read_text('ascii').strip()}/"
    assert any(mine in f"{folder}/" for folder in others)
    return {path: data for path, data in moment.now.beside.items() if mine in path}


def _whole_letters(moment: Moment) -> list[str]:
    """This machine's letters that a reader can open, in their order."""
    own = _own_letters(moment)
    return [
        path
        for path, data in sorted(own.items())
        if path.endswith(".bundle")
        and sha256(data).hexdigest().encode() in own.get(f"{path[:-7]}.sha256", b"")
    ]


def _is_posted(moment: Moment) -> bool:
    """Whether the newest letter that is whole brings a reader to this fleet's tip."""
    whole = _whole_letters(moment)
    if not whole:
        return False
    newest = moment.world.folder / whole[-1]
    heads = moment.world.place.git("bundle", "list-heads", str(newest)).split()
    checked = moment.world.place.git("bundle", "verify", "-q", str(newest))
    return heads[:1] == [moment.now.state.head] and "failed" not in checked


def _box_at_end(moment: Moment) -> Iterable[str]:
    own = _own_letters(moment)
    rest = {path: data for path, data in moment.now.beside.items() if path not in own}
    old = {path: data for path, data in moment.before.beside.items() if path not in own}
    if rest != old:
        yield f"another machine's letters changed: {sorted({*rest} ^ {*old})}"
    gone = [path for path in moment.before.beside if moment.now.beside.get(path) is None]
    if gone:
        yield f"letters are gone: {gone}"
    if not _is_posted(moment):
        yield "the box does not lead to this fleet's history"
    halves = {path.rpartition(".")[0] for path in own} - {
        path.rpartition(".")[0] for path in _whole_letters(moment)
    }
    odd = [path for path in own if not _LETTER.search(path)]
    if halves or odd:
        yield f"left in the box: {sorted(halves)} {odd}"


def _base_tip(moment: Moment) -> str:
    """The commit main has in the repository between."""
    base = f"--git-dir={moment.world.folder / BASE}"
    return moment.world.place.git(base, "rev-parse", "refs/heads/main").strip()


def _said_of_repository(moment: Moment) -> Iterable[str]:
    yield from _said_of_coming_in(moment)
    if "sent what it had not" in moment.ran.out and _base_tip(moment) != moment.now.state.head:
        yield "it said sent and it is not"


def _base_at_end(moment: Moment) -> Iterable[str]:
    if _base_tip(moment) != moment.now.state.head:
        yield f"the repository leads elsewhere: {_base_tip(moment)}"
    base = f"--git-dir={moment.world.folder / BASE}"
    checks = ("--full", "--strict", "--no-dangling", "--no-progress")
    if said := moment.world.place.git(base, "fsck", *checks):
        yield f"fsck of the repository: {said}"
    if strange := [path for path in moment.now.beside if not path.startswith(f"{BASE}/")]:
        yield f"beside the repository: {strange}"


# handover


def handover_scene(prepared: Workplace, folder: Path) -> Crossing:
    """The aircraft of the fleet at work, to be written beside it."""
    world = _begin(prepared, folder)
    (folder / "out").mkdir()
    world.place.types("aircraft", "swift", "--add")
    return Crossing(
        "handover",
        world,
        ("handover", "heron", f"../{FILE}"),
        _tip(world),
        _said_of_handover,
        _file_at_end,
        ("snag", "swift", "seen", "between"),
    )


def signed_scene(prepared: Workplace, folder: Path) -> Crossing:
    """The same, with a picture in it and signed."""
    from PIL import Image

    world = _begin(prepared, folder)
    (folder / "out").mkdir()
    command = ["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-C", "seller", "-f"]
    subprocess.run([*command, str(folder / KEY)], check=True, env=dict(world.env))
    Image.effect_noise((60, 40), 50).save(folder / "fin.png")
    world.place.types("attach", "heron", str(folder / "fin.png"))
    world.place.types("aircraft", "swift", "--add")
    _pack(world.place)
    return Crossing(
        "handover signed",
        world,
        ("handover", "heron", f"../{FILE}", "--sign", f"../{KEY}"),
        _tip(world),
        _said_of_handover,
        _signed_at_end,
        ("snag", "swift", "seen", "between"),
    )


def _signed_at_end(moment: Moment) -> Iterable[str]:
    from register.storage.parcel import SIGNATURE, open_parcel

    yield from _file_at_end(moment)
    data = moment.now.beside.get(FILE)
    if data is None or SIGNATURE not in open_parcel(data):
        yield "the file is not signed"


def read_promised(data: bytes | None) -> Mapping[str, str] | None:
    """The sums of the files in a handover file that is whole; None for anything else."""
    from register.storage.parcel import HISTORY, MANIFEST, open_parcel
    from register.transfer.manifest import read_manifest
    from register.trouble import RegisterError

    if data is None:
        return None
    try:
        members = open_parcel(data)
        manifest = read_manifest(members[MANIFEST])
    except RegisterError:
        return None
    is_same = manifest.bundle_sum == sha256(members[HISTORY]).hexdigest()
    return manifest.files if is_same else None


def _said_of_handover(moment: Moment) -> Iterable[str]:
    ran, now = moment.ran, moment.now
    wanted = read_promised(moment.wanted.beside[FILE])
    file = now.beside.get(FILE)
    whole = read_promised(file) == wanted
    change = [path for path in now.state.files if "-change-of-owner-" in path]
    if file is not None and not whole:
        yield "the file is there and not whole"
    if change and file is None:
        yield "a change of owner without its file"
    if (ran.code == 0 or "written: " in ran.out) and not whole:
        yield "it said written and it is not"
    if "recorded: " in ran.out and not (change and now.state.holds(change[0])):
        yield "it said recorded and it is not"
    if moment.refused:
        if "nothing was written" in ran.err and (file or change):
            yield "it said nothing was written and something is"
        if change and SAVED not in ran.err:
            yield "it refused and the change of owner stands"
        if file is not None and "heron.tailsheaf" not in ran.err:
            yield "it refused and does not say that the file is there"


def _file_at_end(moment: Moment) -> Iterable[str]:
    if read_promised(moment.now.beside.get(FILE)) != read_promised(moment.wanted.beside[FILE]):
        yield "the file is not that of a clean run"
    if odd := {*moment.now.beside} ^ {*moment.wanted.beside}:
        yield f"left beside the file: {sorted(odd)}"


# receive


def make_sold(prepared: Workplace, folder: Path) -> tuple[Path, Path]:
    """Two handover files of one aircraft: the first, and one with an entry made late."""
    world = _begin(prepared, folder)
    first, later = folder / "first.tailsheaf", folder / "later.tailsheaf"
    world.place.types("handover", "heron", str(first))
    world.place.types("fly", "heron", "2", "--minutes", "9", "--at", "yesterday")
    world.place.types("handover", "heron", str(later))
    return first, later


def _make_buyer(prepared: Workplace, folder: Path, files: Mapping[str, Path]) -> World:
    folder.mkdir()
    world = World(folder, prepared.env)
    root = folder / FLEET
    world.place.types("init", str(root), "--zone", "UTC", root=folder)
    world.place.types("aircraft", "swift", "--add")
    world.place.types("fly", "swift", "1", "--minutes", "6")
    for name, file in files.items():
        (folder / name).parent.mkdir(exist_ok=True)
        shutil.copy2(file, folder / name)
    return world


def _leave_own_work(world: World) -> None:
    """Something staged, something not, and a file that git was never told of."""
    place = world.place
    for name in ("staged.txt", "unstaged.txt"):
        (place.root / name).write_text("first\n", "utf-8")
        place.git("add", name)
    place.git("commit", "-q", "-m", "Own notes")
    _pack(place)
    (place.root / "staged.txt").write_text("first\nstaged\n", "utf-8")
    place.git("add", "staged.txt")
    (place.root / "unstaged.txt").write_text("first\nnot staged\n", "utf-8")
    (place.root / "unknown.txt").write_text("git was never told\n", "utf-8")


def receive_scene(prepared: Workplace, folder: Path, file: Path) -> Crossing:
    """An aircraft that this fleet never had."""
    world = _make_buyer(prepared, folder, {FILE: file})
    _leave_own_work(world)
    return _receiving("receive", world, FILE)


def update_scene(prepared: Workplace, folder: Path, file: Path, later: Path) -> Crossing:
    """The second file of an aircraft whose first one was taken in, and that flew since."""
    world = _make_buyer(prepared, folder, {FILE: file, LATER: later})
    world.place.types("receive", f"../{FILE}", "--take")
    world.place.types("snag", "heron", "scratch", "on", "fin")
    _leave_own_work(world)
    return _receiving("receive update", world, LATER)


def verified_scene(prepared: Workplace, folder: Path, seller: World) -> Crossing:
    """An aircraft with a picture, its signature held to the seller's key."""
    file, key = folder.parent / "signed.tailsheaf", seller.folder / f"{KEY}.pub"
    world = World(copy_fleet(seller.folder, folder.parent / "signing"), seller.env)
    world.place.types("handover", "heron", str(file), "--sign", str(seller.folder / KEY))
    world = _make_buyer(prepared, folder, {FILE: file, f"out/{key.name}": key})
    _leave_own_work(world)
    return _receiving("receive signed", world, FILE, "--key", f"../out/{key.name}")


def _receiving(name: str, world: World, file: str, *more: str) -> Crossing:
    return Crossing(
        name,
        world,
        ("receive", f"../{file}", "--take", *more),
        _tip(world),
        _said_of_receive,
        _beside_as_before,
        ("snag", "swift", "seen", "between"),
    )


def _said_of_receive(moment: Moment) -> Iterable[str]:
    err, now = moment.ran.err, moment.now.state
    old = moment.before.state
    # A half-file that could not be removed is no part of what was asked.
    there = {path: data for path, data in now.files.items() if "/.tailsheaf-" not in path}
    changed = there != old.files or now.tree != old.tree
    if moment.refused and changed and SAVED not in err:
        yield "it refused and something of it stands"
    if moment.refused and SAVED in err and not changed:
        yield "it said saved on disk and nothing is"
    if "nothing was written" in err and changed:
        yield "it said nothing was written and something is"
    if "this file is not taken in" in err:
        yield "it blames the file"


def _beside_as_before(moment: Moment) -> Iterable[str]:
    if moment.now.beside != moment.before.beside:
        yield f"beside the fleet: {sorted(moment.now.beside)}"


# doctor


def doctor_scene(prepared: Workplace, folder: Path) -> Crossing:
    """After a power cut: a torn branch and objects, old locks, half-files, an unfinished write."""
    world = _begin(prepared, folder)
    place = world.place
    place.types("fly", "heron", "1", "--minutes", "5")
    hurt = folder.parent / "hurt"
    hurt.mkdir()
    made = make_interrupted(Workplace(place.root, place.env, prepared.lines), hurt, "cut")
    shutil.rmtree(place.root)
    made.root.rename(place.root)
    tip = _tip(world)
    git = place.root / ".git"
    for name in (f"HEAD:{_newest_record(place)}", "HEAD:aircraft/heron/events"):
        id_ = place.git("rev-parse", name).strip()
        _empty(git / "objects" / id_[:2] / id_[2:])
    _empty(git / "refs/heads/main")
    for name in ("index.lock", "refs/heads/main.lock", "objects/4b/tmp_obj_Xa81Qz"):
        _make_old(git / name)
    _make_old(place.root / "aircraft/heron/.tailsheaf-0123456789abcdef.tmp")
    return _doctoring("doctor", world, tip)


def torn_scene(prepared: Workplace, folder: Path) -> Crossing:
    """HEAD gone, the index cut short, git's settings torn, a line of the packed names as well."""
    world = _begin(prepared, folder)
    tip = _tip(world)
    git = world.place.root / ".git"
    (git / "HEAD").unlink()
    (git / "index").write_bytes((git / "index").read_bytes()[:-30])
    (git / "config").write_bytes(b"[core\n\x00\x00\x00")
    with (git / "packed-refs").open("ab") as names:
        names.write(b"<<<<<<< mine\nnot a line\n")
    return _doctoring("doctor torn", world, tip)


def _doctoring(name: str, world: World, tip: str) -> Crossing:
    return Crossing(
        name,
        world,
        ("doctor",),
        tip,
        _said_of_doctor,
        _nothing_lost,
        refusals=(1, 3, 4),
        is_whole=False,
    )


def _newest_record(place: Workplace) -> str:
    listed = place.git("show", "--format=", "--name-only", "HEAD").split()
    (found,) = (path for path in listed if "/events/" in path)
    return found


def _empty(path: Path) -> None:
    path.chmod(0o644)
    path.write_bytes(b"")


def _make_old(path: Path) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.touch()
    os.utime(path, (1_700_000_000, 1_700_000_000))


def _said_of_doctor(moment: Moment) -> Iterable[str]:
    ran, state = moment.ran, moment.now.state
    if state.files != moment.wanted.state.files and state.files != moment.before.state.files:
        yield "it touched the fleet's files"
    mended = state.tree == moment.wanted.state.tree
    if ("nothing is wrong now" in ran.out or ran.code == 0) and not mended:
        yield "it said nothing is wrong now and it is not so"


def _nothing_lost(moment: Moment) -> Iterable[str]:
    """Every byte that was there before still is, at its place or where the doctor put it."""
    git = moment.world.place.root / ".git"
    there = {blob(path.read_bytes()) for path in git.rglob("*") if path.is_file()}
    before = moment.origin / FLEET / ".git"
    for path in before.rglob("*"):
        name = path.relative_to(before).as_posix()
        if name.startswith("tailsheaf/") or not path.is_file():
            continue
        if blob(path.read_bytes()) not in there:
            yield f"{name} is lost"
