"""Who made a file: unsigned, signed by the key named, by another, for another use, altered."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest
from transfer_room.seller import Person, make_seller

from fleets import make_fleet
from register.git.apply import save_paths
from register.git.commit import init_repository
from register.storage.parcel import open_parcel, pack_parcel

DAY = "2026-05-03"
_ONCE: dict[str, Path] = {}


def make_key(folder: Path, name: str) -> Path:
    """A key pair without a pass phrase."""
    path = folder / name
    command = ["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-C", name, "-f", str(path)]
    subprocess.run(command, check=True)
    return path


@pytest.fixture
def signed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder with keys `mine` and `other`; files `unsigned`, `signed`, the same `by-other`
    and one `newer` that is not signed; made once."""
    if not _ONCE:
        folder = tmp_path_factory.mktemp("signed")
        seller = make_seller(folder)
        key = make_key(folder, "mine")
        make_key(folder, "other")
        seller.says("2026-05-02", "handover", "gj", str(folder / "unsigned"), "--copy")
        words = ("handover", "gj", str(folder / "signed"), "--copy", "--sign", str(key))
        seller.says("2026-05-02", *words)
        seller.says("2026-05-02", "handover", "gj", str(folder / "no"), "--copy", "--sign",
                    str(folder / "mine.txt"), exit_code=2)  # fmt: skip
        assert not (folder / "no").exists()
        by_other = ("handover", "gj", str(folder / "by-other"), "--copy", "--sign")
        seller.says("2026-05-02", *by_other, str(folder / "other"))
        seller.says("2026-05-02", "fly", "gj", "1", "--minutes", "7")
        seller.says("2026-05-02", "handover", "gj", str(folder / "newer"), "--copy")
        _ONCE["folder"] = folder
    return _ONCE["folder"]


@pytest.fixture
def buyer(tmp_path: Path) -> Person:
    """An empty fleet with history."""
    fleet = make_fleet(tmp_path / "buyer")
    init_repository(fleet)
    save_paths(fleet, ["fleet.yaml"], "Begin")
    return Person(fleet)


def state(buyer: Person, *words: str | Path) -> str:
    """How the signature is told."""
    return str(buyer.asks(DAY, "receive", *words)["signature"]["state"])


def test_unsigned_is_allowed_and_said(signed: Path, buyer: Person) -> None:
    """It is whole, but from whom it is cannot be told; with a key named it is refused."""
    file = signed / "unsigned"
    assert state(buyer, file) == "none"
    assert "not signed" in buyer.says(DAY, "receive", file).out
    buyer.says(DAY, "receive", file, "--key", signed / "mine.pub", exit_code=4)
    assert state(buyer, file, "--key", signed / "mine.pub", "--unverified") == "none"


def test_signed_by_the_key_named_or_another(signed: Path, buyer: Person) -> None:
    """The exit code of ssh-keygen decides, whatever it says."""
    file = signed / "signed"
    assert state(buyer, file) == "unknown"
    assert "SHA256:" in buyer.says(DAY, "receive", file).out
    assert state(buyer, file, "--key", signed / "mine.pub") == "good"
    refused = buyer.says(DAY, "receive", file, "--take", "--key", signed / "other.pub", exit_code=4)
    assert "another key" in refused.err
    assert state(buyer, file, "--key", signed / "other.pub", "--unverified") == "wrong"


def test_signed_for_another_use_or_another_manifest(
    signed: Path, buyer: Person, tmp_path: Path
) -> None:
    """A signature that was made for something else is none."""
    members = open_parcel((signed / "signed").read_bytes())
    manifest = tmp_path / "manifest.json"
    manifest.write_bytes(members["manifest.json"])
    command = ["ssh-keygen", "-Y", "sign", "-q", "-f", str(signed / "mine"), "-n", "git"]
    subprocess.run([*command, str(manifest)], check=True)
    other_use = {**members, "manifest.json.sig": (tmp_path / "manifest.json.sig").read_bytes()}
    other = open_parcel((signed / "unsigned").read_bytes())
    other_file = {**other, "manifest.json.sig": members["manifest.json.sig"]}
    if other["manifest.json"] == members["manifest.json"]:
        changed = other["manifest.json"].replace(b'"words": ', b'"words":  ')
        other_file["manifest.json"] = changed
    nonsense = {**members, "manifest.json.sig": b"-----BEGIN SSH SIGNATURE-----\nAAAA\n"}
    for number, bad in enumerate((other_use, other_file, nonsense)):
        file = tmp_path / f"bad{number}"
        file.write_bytes(pack_parcel(bad))
        assert "signature" in buyer.says(DAY, "receive", file, exit_code=4).err
        buyer.says(DAY, "receive", file, "--key", signed / "mine.pub", exit_code=4)


def test_a_file_that_is_no_public_key_is_said_to_be_none(
    signed: Path, buyer: Person, tmp_path: Path
) -> None:
    """Not "signed by another key": the file named is the private half, a text, or cut short."""
    whole = (signed / "mine.pub").read_text()
    for number, (text, told) in enumerate((
        ((signed / "mine").read_text(), "private"),
        ("no key at all\n", "no public SSH key"),
        ("", "no public SSH key"),
        (whole[:40], "no public SSH key"),
        (whole.replace("ssh-ed25519", "ssh-rsa"), "no public SSH key"),
    )):  # fmt: skip
        key = tmp_path / f"key{number}"
        key.write_text(text)
        for file in ("signed", "unsigned"):
            said = buyer.says(DAY, "receive", signed / file, "--key", key, exit_code=2).err
            assert told in said
            assert ".pub" in said
            assert "another key" not in said
    spaced = tmp_path / "spaced.pub"
    spaced.write_text("# the seller's\n\n" + whole)
    assert state(buyer, signed / "signed", "--key", spaced) == "good"


def test_an_update_by_another_hand_is_said_loudly(signed: Path, buyer: Person) -> None:
    """Unsigned, or by another key, where the file before was signed; nothing more is needed."""
    buyer.says(DAY, "receive", signed / "signed", "--take")
    again = buyer.asks(DAY, "receive", signed / "signed")["signature"]
    assert (again["before"], again["other_hand"]) == (again["fingerprint"], None)
    for words in ((), ("--take",)):
        shown = " ".join(buyer.says(DAY, "receive", signed / "newer", *words).out.split())
        assert "NOT SIGNED, AND THE FILE BEFORE WAS: that one with SHA256:" in shown
    # And from then on there is nothing to compare with.
    assert buyer.asks(DAY, "receive", signed / "newer")["signature"]["other_hand"] is None


def test_an_update_with_another_key(signed: Path, buyer: Person) -> None:
    """The sender may have a new key; an impostor has one too."""
    buyer.says(DAY, "receive", signed / "signed", "--take")
    shown = " ".join(buyer.says(DAY, "receive", signed / "by-other").out.split())
    assert "SIGNED WITH ANOTHER KEY THAN BEFORE" in shown
    assert (
        buyer.asks(DAY, "receive", signed / "by-other")["signature"]["other_hand"] == "another key"
    )
