"""A seller's fleet with something private in every place that can hold it, and how to search.

Import what you need: `from transfer_room.seller import make_seller, Seller`.
"""

from __future__ import annotations

import base64
import io
import subprocess
import tempfile
import unicodedata
import zipfile
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any
from urllib.parse import quote

from fleets import Result, make_fleet, run, run_json
from register.git.apply import save_paths
from register.git.commit import init_repository

#: One for each private field, comment, message, author, tag, branch, stash and other aircraft.
CANARIES = (
    "4137.55", "SKYPART-ACCT-77", "Hollow Meadow", "Rupert Jestico", "Bettina Wolke",
    "vault behind the boiler", "+49 160 5550199", "quillet@example.invalid", "51.47781",
    "Test Owner", "owner@example.invalid", "Old Priory Lane 9", "zinnober7", "tagged-kranich",
    "branch-kranich", "stash-kranich", "message-kranich", "comment-kranich", "gone-kranich",
    "unknown-kranich", "POLICY-99817", "shelf-kranich", "Red Jet", "r000000001", "OP-RJ1",
    "Black Wing", "b000000001", "buyer-kranich", "note-kranich", "slug-kranich",
    "device-kranich", "Zürich Straße",
)  # fmt: skip
#: Names of the other aircraft: too short to be looked for inside words.
SHORT = ("rj", "bw")

PROGRAMME = """
id: "prgstory01"
title: "Story programme"
tasks:
  - id: "engine-service"
    title: "Engine service"
    on: {position: "engine"}
    every:
      - {counter: "engine-minutes", amount: 1500}
    grounds: true
    basis: {kind: "maker", reference: "log book"}
  - id: "hinge-look"
    title: "Hinges looked at"
    on: "aircraft"
    every:
      - {counter: "flights", amount: 25}
    basis: {kind: "owner", reference: "own rule"}
  - id: "own-look"
    title: "Looked through by a new owner"
    on: "aircraft"
    start: {when: "incident", what: ["new-owner"]}
    grounds: true
    basis: {kind: "common practice"}
"""
JET = """
id: "{id}"
title: "{title}"
registration: "{mark}"
kit: "jet-kit"
programmes: ["story"]
stage: "in-service"
cost: 4137.55  # comment-kranich
private_note: "note-kranich"
positions:
  engine: {{kind: "turbine", required: true}}
  flap-servo: {{kind: "servo"}}
per_flight: {{landings: 1, engine-minutes: {{value: 9, basis: {{kind: "owner"}}}}}}
"""
FILES = {
    "fleet.yaml": 'schema: 1\nname: "Fleet of Hollow Meadow"\nhome_zone: UTC\n'
    'machines: {m-aaaa: "device-kranich"}\n',
    "private.yaml": """\
        people:
          rupert: {name: "Rupert Jestico", phone: "+49 160 5550199"}
          bettina: {name: "Bettina Wolke", email: "quillet@example.invalid"}
        suppliers: {skypart: "SKYPART-ACCT-77"}
        places: {home: "Hollow Meadow", other: "Zürich Straße"}
        prices: {tu-07: 4137.55}
        password: "zinnober7"
        safe: "vault behind the boiler"
        """,
    "papers/cover.yaml": 'title: "Cover"\nkind: "insurance"\ncovers: ["gj"]\n'
    'expires: "2027-01-01"\npolicy: "POLICY-99817"\n',
    "stock.yaml": 'items:\n  m3:\n    title: "M3 screws"\n    where: "shelf-kranich"\n'
    "    count: 40\n",
    "programmes/story.yaml": PROGRAMME,
    "kits/jet-kit.yaml": 'id: "k000000001"\ntitle: "Jet kit"\nsupplier: "SKYPART-ACCT-77"\n',
    "aircraft/gj/aircraft.yaml": JET.format(id="g000000001", title="Grey Jet", mark="OP-7K"),
    "aircraft/rj/aircraft.yaml": JET.format(id="r000000001", title="Red Jet", mark="OP-RJ1"),
    "aircraft/bw/aircraft.yaml": JET.format(id="b000000001", title="Black Wing", mark="OP-BW1"),
    "parts/tu-07/part.yaml": 'id: "t000000007"\nkind: "turbine"\nserial: "7-0071"\n'
    'supplier: "SKYPART-ACCT-77"\nopening: {counters: {engine-minutes: 100}}\n',
    "parts/sv-22/part.yaml": 'id: "s000000022"\nkind: "servo"\nremark: "unknown-kranich"\n',
    "parts/pk-04/part.yaml": 'id: "p000000004"\nkind: "battery"\nuse: "assigned"\n',
}


def noon(day: str) -> datetime:
    """The evening of a day, when a line is typed."""
    return datetime.combine(date.fromisoformat(day), datetime.min.time(), UTC).replace(hour=20)


class Person:
    """Types lines in a fleet on the evening of a day."""

    def __init__(self, fleet: Path):
        self.fleet = fleet

    def says(self, day: str, *words: str | Path, exit_code: int = 0) -> Result:
        """Type one line; it must end with the exit code."""
        result = run(*words, fleet=self.fleet, now=noon(day))
        assert result.exit_code == exit_code, result
        return result

    def asks(self, day: str, *words: str | Path, exit_code: int = 0) -> Any:
        """Ask a question and get its data."""
        return run_json(*words, fleet=self.fleet, now=noon(day), exit_code=exit_code)

    def writes(self, day: str, *words: str) -> str:
        """Type one line and get the id of what it wrote."""
        return str(self.asks(day, *words)["written"][0]["id"])

    def totals(self, day: str, *names: str) -> dict[str, Any]:
        """Every counter of parts, since new."""
        return {
            name: {
                counter: value["since_new"]
                for counter, value in self.asks(day, "parts", name)["counters"].items()
            }
            for name in names
        }

    def counters(self, day: str, aircraft: str) -> Any:
        """Every counter of an aircraft."""
        return self.asks(day, "aircraft", aircraft)["counters"]

    def git(self, *words: str) -> str:
        """Run git as the owner would."""
        done = subprocess.run(["git", *words], cwd=self.fleet, capture_output=True, check=False)
        assert done.returncode == 0, (words, done.stderr)
        return done.stdout.decode("utf-8", "replace")


def make_seller(folder: Path) -> Person:
    """A jet with an engine that was elsewhere, a shared pack, a crash, a deferral; canaries."""
    fleet = make_fleet(folder, FILES)
    init_repository(fleet)
    save_paths(fleet, sorted(FILES), "Begin at Hollow Meadow, message-kranich")
    seller = Person(fleet)
    seller.says("2026-03-01", "install", "tu-07", "rj", "engine")
    seller.says("2026-03-01", "install", "sv-22", "gj", "flap-servo")
    seller.says("2026-03-07", "fly", "rj", "3", "--minutes", "21", "--pack", "pk-04")
    seller.says("2026-03-08", "remove", "tu-07", "--note", "taken out at Hollow Meadow")
    seller.says("2026-03-08", "install", "tu-07", "gj", "engine", "--by", "rupert")
    seller.says("2026-03-14", "fly", "gj", "4", "--each", "7,8,6,7", "--pack", "pk-04")
    snag = seller.writes("2026-03-14", "snag", "gj", "nose over at Hollow Meadow, RJ beside it")
    seller.says("2026-03-14", "incident", "gj", "crash", "--note", "Rupert Jestico saw it")
    seller.says(
        "2026-03-15", "fix", snag, "new nose, paid 4137.55 to SKYPART ACCT 77, "
        "call +49 1605550199 or quillet@example.invalid",
    )  # fmt: skip
    open_ = seller.writes("2026-03-16", "snag", "gj", "paint chipped, see Red Jet", "--severity",
                          "deferrable")  # fmt: skip
    seller.says("2026-03-16", "defer", open_, "--reason", "only paint, BW has it too",
                "--flights", "20")  # fmt: skip
    seller.says("2026-03-17", "done", "hinge-look", "gj", "--note", "zinnober7 and ZÜRICH STRASSE")
    _attach(seller)
    _plant_in_history(seller)
    return seller


def _attach(seller: Person) -> None:
    """A picture with a place in it, and a file that is no picture."""
    from PIL import Image

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "slug-kranich.jpg"
        image = Image.effect_noise((64, 48), 50).convert("RGB")
        exif = Image.Exif()
        exif[0x010E] = "51.47781 Hollow Meadow"
        image.save(path, exif=exif)
        seller.says("2026-03-18", "attach", "gj", str(path))
        other = Path(folder) / "letter.pdf"
        other.write_bytes(b"%PDF-1.4 Rupert Jestico, Old Priory Lane 9")
        seller.says("2026-03-18", "attach", "gj", str(other), "--title", "letter")


def _plant_in_history(seller: Person) -> None:
    """An address that was private once, a tag, a branch, a stash."""
    fleet = seller.fleet
    private = fleet / "private.yaml"
    now = private.read_text("utf-8")
    private.write_text(now + 'address: "Old Priory Lane 9"\ngone: "gone-kranich"\n', "utf-8")
    seller.says("2026-03-19", "save")
    private.write_text(now + 'more: "51.47781"\nbuyers: ["buyer-kranich"]\n', "utf-8")
    seller.says("2026-03-19", "save")
    seller.git("tag", "-a", "-m", "tagged-kranich", "tagged-kranich")
    seller.git("branch", "branch-kranich")
    paper = fleet / "papers/cover.yaml"
    kept = paper.read_text("utf-8")
    paper.write_text(kept + "cost: 'stash-kranich'\n", "utf-8")
    seller.git("stash", "push", "-q", "-m", "stash-kranich")
    assert paper.read_text("utf-8") == kept


def delivered(file: Path) -> dict[str, bytes]:
    """Every byte that is delivered: the file, its members, every object of the history in it."""
    data = file.read_bytes()
    found = {"the file": data}
    with zipfile.ZipFile(io.BytesIO(data)) as parcel:
        for info in parcel.infolist():
            found[info.filename] = parcel.read(info) + info.comment + info.extra
        found["comment"] = parcel.comment
    with tempfile.TemporaryDirectory() as folder:
        bundle = Path(folder) / "b"
        bundle.write_bytes(found["history.bundle"])
        bare = Path(folder) / "r"
        git = ["git", "--git-dir", str(bare)]
        subprocess.run(["git", "init", "-q", "--bare", str(bare)], check=True)
        subprocess.run([*git, "fetch", "-q", str(bundle), "+refs/*:refs/in/*"], check=True)
        found["refs"] = subprocess.run(
            ["git", "bundle", "list-heads", str(bundle)], check=True, capture_output=True
        ).stdout
        for words in (["log", "-p", "--all", "--text"],
                      ["cat-file", "--batch-all-objects", "--batch"]):  # fmt: skip
            done = subprocess.run([*git, *words], check=True, capture_output=True)
            found[" ".join(words)] = done.stdout
    return found


def forms_of(word: str) -> set[bytes]:
    """A word as it could be hidden: encodings, capitals, other spacing."""
    texts = {word, word.lower(), word.upper(), word.casefold()}
    texts |= {unicodedata.normalize(form, word) for form in ("NFC", "NFD")}
    texts |= {word.replace(" ", ""), word.replace("-", ""), word.replace(" ", "-")}
    found = {text.encode() for text in texts}
    for text in texts:
        data = text.encode()
        found |= {data.hex().encode(), quote(text).encode(), text.encode("unicode_escape")}
        found |= {base64.b64encode(b"\0" * n + data)[n and 4 : -4] for n in range(3)}
        found |= {data.decode().encode("utf-16-le")}
    return {form for form in found if len(form) > 5}


def search(pieces: dict[str, bytes], words: tuple[str, ...]) -> list[tuple[str, str, bytes]]:
    """Every place where any form of any word is found."""
    return [
        (word, name, form)
        for word in words
        for form in forms_of(word)
        for name, data in pieces.items()
        if form in data or form.lower() in data.lower()
    ]
