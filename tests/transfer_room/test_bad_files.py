"""Handover files that are damaged, made by somebody else, or meant to harm: all are refused."""

from __future__ import annotations

import hashlib
import io
import json
import random
import subprocess
import zipfile
from pathlib import Path

import pytest
from transfer_room.seller import Person, make_seller

from fleets import make_fleet, read_files
from register.desk import open_fleet
from register.fleet import Fleet
from register.git.apply import save_paths
from register.git.commit import init_repository
from register.receiving import opened_arrival
from register.storage.parcel import open_parcel
from register.transfer.incoming import Wanted
from register.trouble import Exit, RegisterError

_ONCE: dict[str, Path] = {}
#: The least that a handover can be.
LEAST = {
    "fleet.yaml": 'schema: 1\nname: "x"\n',
    "aircraft/gj/aircraft.yaml": 'id: "g000000001"\ntitle: "Grey Jet"\n',
}


@pytest.fixture
def file(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A whole handover file, made once."""
    if not _ONCE:
        folder = tmp_path_factory.mktemp("whole")
        make_seller(folder).says("2026-05-02", "handover", "gj", str(folder / "f"), "--copy")
        _ONCE["file"] = folder / "f"
    return _ONCE["file"].read_bytes()


@pytest.fixture
def buyer(tmp_path: Path) -> Fleet:
    """An empty fleet with history."""
    fleet = make_fleet(tmp_path / "buyer")
    init_repository(fleet)
    save_paths(fleet, ["fleet.yaml"], "Begin")
    return open_fleet(fleet)


def refuse(buyer: Fleet, data: bytes) -> str:
    """It must be refused with exit 4 and leave no trace; the words of the refusal back."""
    before = read_files(buyer.root)
    with pytest.raises(RegisterError) as caught, opened_arrival(buyer, data, Wanted({})):
        pass
    assert caught.value.exit_code == Exit.REFUSED, caught.value
    assert "nothing was written" in caught.value.says
    assert read_files(buyer.root) == before
    assert list((buyer.root / ".git/tailsheaf/quarantine").glob("*")) == []
    return caught.value.says


def test_cut_short_anywhere(file: bytes, buyer: Fleet) -> None:
    """At each hundredth of its length."""
    for part in range(100):
        refuse(buyer, file[: len(file) * part // 100])


def test_bytes_turned_over(file: bytes, buyer: Fleet) -> None:
    """A sample of single bits: refused, or in what is not read (names' times) and so no matter."""
    chance = random.Random(5)
    passed = sum(is_taken(buyer, turn(file, chance)) for _ in range(60))
    assert passed < 6


def turn(file: bytes, chance: random.Random) -> bytes:
    """One bit turned over."""
    data = bytearray(file)
    data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)
    return bytes(data)


def is_taken(buyer: Fleet, data: bytes) -> bool:
    """Whether a file is opened; if not, it must have been refused in the ordinary way."""
    try:
        with opened_arrival(buyer, data, Wanted({})) as arrival:
            return arrival.aircraft == "gj"
    except RegisterError as error:
        return error.exit_code != Exit.REFUSED


@pytest.mark.parametrize("data", [b"", b"\0" * 3_000_000, b"# v2 git bundle\n\n", b"PK\x03\x04xx"])
def test_no_handover_at_all(data: bytes, buyer: Fleet) -> None:
    """Empty, zeros, a bare bundle, the beginning of a zip."""
    refuse(buyer, data)


def test_a_bomb(file: bytes, buyer: Fleet) -> None:
    """A member that unpacks to more than any manifest has is not unpacked to its end."""
    packed = io.BytesIO()
    members = open_parcel(file)
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as parcel:
        parcel.writestr("history.bundle", members["history.bundle"])
        parcel.writestr("manifest.json", b" " * 25_000_000)
    assert len(packed.getvalue()) < 300_000
    assert "larger than" in refuse(buyer, packed.getvalue())


def test_other_members(file: bytes, buyer: Fleet) -> None:
    """Names that lead out of a folder, doubles, and what no handover has."""
    members = open_parcel(file)
    for name in ("../evil", "/etc/evil", "run.sh", "dossier.html/x"):
        assert "no handover has" in refuse(buyer, pack({**members, name: b"x"}))
    assert "lacks a part" in refuse(buyer, pack({"history.bundle": b"x"}))


def pack(members: dict[str, bytes]) -> bytes:
    """Any members as a zip."""
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w") as parcel:
        for name, data in members.items():
            parcel.writestr(name, data)
    return target.getvalue()


class Forge:
    """Makes a handover by hand, with any tree in it."""

    def __init__(self, folder: Path):
        self.folder = folder
        self.git("init", "-q", "--bare", "-b", "main", str(folder))

    def git(self, *words: str, data: bytes = b"") -> bytes:
        """Run git in it."""
        command = ["git", "--git-dir", str(self.folder), *words]
        done = subprocess.run(command, input=data, capture_output=True, check=False)
        assert done.returncode == 0, (words, done.stderr)
        return done.stdout

    def put(self, kind: str, data: bytes) -> str:
        """Write an object as it stands, unchecked."""
        said = self.git("hash-object", "-w", "--literally", "-t", kind, "--stdin", data=data)
        return said.decode().strip()

    def tree(self, entries: list[tuple[str, bytes, str]]) -> str:
        """A tree of (mode, name, id), in the order given."""
        rows = (m.encode() + b" " + n + b"\0" + bytes.fromhex(i) for m, n, i in entries)
        return self.put("tree", b"".join(rows))

    def whole(self, more: list[tuple[str, bytes, str]], inner: bool = False) -> str:
        """The least handover with more entries at the top, or beside the aircraft's file."""
        fleet = self.put("blob", LEAST["fleet.yaml"].encode())
        file = self.put("blob", LEAST["aircraft/gj/aircraft.yaml"].encode())
        beside = more if inner else []
        jet = self.tree(sorted([("100644", b"aircraft.yaml", file), *beside], key=lambda e: e[1]))
        top = self.tree([("40000", b"gj", jet)])
        rows = [("40000", b"aircraft", top), ("100644", b"fleet.yaml", fleet)]
        return self.tree(sorted([*rows, *([] if inner else more)], key=lambda e: e[1]))

    def file(self, tree: str, **head: bytes) -> bytes:
        """A commit of the tree, as a handover file with a fitting manifest."""
        who = head.get("who", b"a <a@b> 1700000000 +0000")
        lines = [b"tree " + tree.encode(), b"author " + who, b"committer " + who, b""]
        commit = self.put("commit", b"\n".join([*lines, head.get("words", b"words\n")]))
        self.git("update-ref", "refs/heads/main", commit)
        bundle = self.folder / "b"
        self.git("bundle", "create", "-q", str(bundle), "refs/heads/main")
        data = bundle.read_bytes()
        manifest = {
            "format": 1, "day": "2026-05-02", "tip": commit,
            "bundle_sha256": hashlib.sha256(data).hexdigest(),
            "files": {p: hashlib.sha256(t.encode()).hexdigest() for p, t in LEAST.items()},
        }  # fmt: skip
        return pack({"history.bundle": data, "manifest.json": json.dumps(manifest).encode()})


@pytest.fixture
def forge(tmp_path: Path) -> Forge:
    """A forger's bench."""
    return Forge(tmp_path / "forge")


def test_a_forged_one_that_keeps_the_rules_is_taken(forge: Forge, buyer: Fleet) -> None:
    """Else the refusals below would prove nothing."""
    with opened_arrival(buyer, forge.file(forge.whole([])), Wanted({})) as arrival:
        assert arrival.local_name == "gj"


NAMES = (
    b"..", b".", b".git", b".GIT", b"git~1", b"a/b", b"CON.yaml", b"nul.yaml", b"a:b.yaml",
    b"a\\b.yaml", b"\x1b[31m.yaml", b".gitattributes", b".gitmodules", b"x.yaml.",
    b"e\xcc\x81.yaml", b"Aircraft.yaml", b"-rf.yaml", b"a" * 300, b"\xe2\x80\xae.yaml", b"run.sh",
)  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("inner", [True, False])
def test_odd_names(name: bytes, inner: bool, forge: Forge, buyer: Fleet) -> None:
    """Beside the aircraft's file and at the top."""
    blob = forge.put("blob", b"x: 1\n")
    refuse(buyer, forge.file(forge.whole([("100644", name, blob)], inner)))


@pytest.mark.parametrize("mode", ["120000", "100755", "160000", "100664"])
def test_odd_modes(mode: str, forge: Forge, buyer: Fleet) -> None:
    """A link, a program, another repository, an old mode."""
    blob = forge.put("blob", b"/etc/passwd")
    id_ = "1" * 40 if mode == "160000" else blob
    refuse(buyer, forge.file(forge.whole([(mode, b"fleet2.yaml", id_)])))


def test_an_entry_twice(forge: Forge, buyer: Fleet) -> None:
    """The same name, with two contents."""
    one, two = forge.put("blob", b"a: 1\n"), forge.put("blob", b"a: 2\n")
    tree = forge.whole([("100644", b"z.yaml", one), ("100644", b"z.yaml", two)])
    refuse(buyer, forge.file(tree))


@pytest.mark.parametrize(
    "who",
    [b"a <a@b> 0 +0000", b"a <a@b> 4102444800 +0000", b"\x1b[31mred <a@b> 1700000000 +0000"],
)
def test_odd_dates_and_people_are_nothing_to_us(who: bytes, forge: Forge, buyer: Fleet) -> None:
    """Dates and words of commits are not shown and decide nothing."""
    words = b"\x1b]0;title\x07" + b"long " * 200_000
    with opened_arrival(
        buyer, forge.file(forge.whole([]), who=who, words=words), Wanted({})
    ) as found:
        assert found.compared.fresh == ()


def test_a_history_that_is_not_one_line(forge: Forge, buyer: Fleet) -> None:
    """A merge has no place in a handover."""
    tree = forge.whole([])
    first = forge.git("commit-tree", tree, "-m", "a").decode().strip()
    second = forge.git("commit-tree", tree, "-m", "b").decode().strip()
    both = forge.git("commit-tree", tree, "-p", first, "-p", second, "-m", "c").decode().strip()
    data = forge.file(tree)
    members = open_parcel(data)
    forge.git("update-ref", "refs/heads/main", both)
    bundle = forge.folder / "b2"
    forge.git("bundle", "create", "-q", str(bundle), "refs/heads/main")
    manifest = json.loads(members["manifest.json"])
    manifest.update(tip=both, bundle_sha256=hashlib.sha256(bundle.read_bytes()).hexdigest())
    packed = {"history.bundle": bundle.read_bytes(), "manifest.json": json.dumps(manifest).encode()}
    assert "not one line" in refuse(buyer, pack(packed))


def test_texts_meant_for_the_terminal(tmp_path: Path, buyer: Fleet, forge: Forge) -> None:
    """Nothing of a received title reaches the screen but letters."""
    title = "[red]x[/red] [/x] \x1b[31m \x9b2J \u202e :smile: \\"
    written = f'id: "g000000001"\ntitle: {json.dumps(title)}\n'
    before = LEAST["aircraft/gj/aircraft.yaml"]
    LEAST["aircraft/gj/aircraft.yaml"] = written
    try:
        data = forge.file(forge.whole([]))
    finally:
        LEAST["aircraft/gj/aircraft.yaml"] = before
    path = tmp_path / "odd.tailsheaf"
    path.write_bytes(data)
    said = Person(buyer.root).says("2026-05-03", "receive", str(path)).out
    assert "[red]x[/red]" in said
    assert not {"\x1b", "\x9b", "\u202e"} & set(said)
