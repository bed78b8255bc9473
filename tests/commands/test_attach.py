"""attach: pictures come in small and bare, other files unchanged, nothing twice or by half."""

from __future__ import annotations

import io
import os
import struct
import subprocess
import zlib
from pathlib import Path

import pytest
from event_fleet import events_of, make_event_fleet
from PIL import Image, ImageDraw

from fleets import read_files, run, run_json
from register.git.repository import init_repository
from register.storage.pictures import (
    LONGEST_SIDE,
    MOST_POINTS,
    find_extras,
    reduce_picture,
    sort_file,
)
from register.trouble import RegisterError

CANARY = b"CANARY"


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    return make_event_fleet(tmp_path)


def draw(wide: int, high: int, mode: str = "RGB") -> Image.Image:
    """A picture whose corners differ: red at the top left, blue at the bottom right."""
    image = Image.new(mode, (wide, high), "white")
    pen = ImageDraw.Draw(image)
    pen.rectangle((0, 0, wide // 3, high // 3), fill="red")
    pen.rectangle((wide * 2 // 3, high * 2 // 3, wide, high), fill="blue")
    return image


def with_place(image: Image.Image, form: str, orientation: int = 1) -> bytes:
    """The picture as a camera would write it: place, maker, thumbnail, comment."""
    exif = Image.Exif()
    exif[0x0112] = orientation
    exif[0x010F] = "CANARY maker"
    place = exif.get_ifd(0x8825)
    place[1], place[2], place[3], place[4] = "N", (51.0, 30.0, 12.5), "E", (7.0, 12.0, 3.25)
    target = io.BytesIO()
    more = {"comment": b"CANARY comment"} if form == "JPEG" else {}
    image.save(target, form, exif=exif, **more)
    data = target.getvalue()
    assert 0x8825 in Image.open(io.BytesIO(data)).getexif()
    return data


def jpeg(wide: int = 640, high: int = 480) -> bytes:
    return with_place(draw(wide, high), "JPEG")


def kept_file(fleet: Path) -> Path:
    (found,) = fleet.glob("*/*/attachments/*")
    return found


def put(fleet: Path, name: str, data: bytes) -> Path:
    path = fleet.parent / name
    path.write_bytes(data)
    return path


def test_a_photo_comes_in_small_upright_and_bare(fleet: Path) -> None:
    photo = put(fleet, "IMG_1.JPG", with_place(draw(4000, 3000), "JPEG", orientation=6))
    result = run("attach", "heron", photo, "--title", "Chip, left wing", fleet=fleet)
    assert result.exit_code == 0, result
    kept = kept_file(fleet)
    assert kept.name.startswith("2026-05-16-chip-left-wing-")
    data = kept.read_bytes()
    with Image.open(kept) as image:
        # Orientation 6 is shown turned by 90 degrees.
        assert image.size == (LONGEST_SIDE * 3 // 4, LONGEST_SIDE)
        assert not image.getexif()
        red = image.convert("RGB").getpixel((image.width - 20, 20))
    assert isinstance(red, tuple)
    assert red[0] > 200 > red[2] + 100
    assert CANARY not in data
    assert b"Exif" not in data
    assert find_extras(data) == ""
    note = events_of(fleet, "note")[0].body
    assert note.attachment == kept.relative_to(fleet).as_posix()
    assert note.text == "Chip, left wing"


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_no_form_brings_its_place_along(fleet: Path, form: str) -> None:
    photo = put(fleet, f"a.{form.lower()}", with_place(draw(600, 400), form))
    assert find_extras(photo.read_bytes())
    assert run("attach", "heron", photo, fleet=fleet).exit_code == 0
    data = kept_file(fleet).read_bytes()
    assert find_extras(data) == ""
    for canary in (CANARY, b"Exif", b"exif", b"eXIf", struct.pack(">I", 51)):
        assert canary not in data
    # Nor anywhere in the history.
    everything = subprocess.run(
        ["git", "cat-file", "--batch-all-objects", "--batch"],
        cwd=fleet, capture_output=True, check=True,
    ).stdout  # fmt: skip
    assert CANARY not in everything


def test_a_tail_behind_the_picture_is_left_behind(fleet: Path) -> None:
    photo = put(fleet, "a.jpg", jpeg() + b"CANARY film behind the picture" + jpeg())
    run("attach", "heron", photo, fleet=fleet)
    assert CANARY not in kept_file(fleet).read_bytes()


def test_a_drawing_stays_a_drawing(fleet: Path) -> None:
    target = io.BytesIO()
    draw(500, 300, "RGBA").save(target, "PNG", pnginfo=None)
    run("attach", "heron", put(fleet, "plan.png", target.getvalue()), fleet=fleet)
    kept = kept_file(fleet)
    assert kept.suffix == ".png"
    with Image.open(kept) as image:
        assert image.size == (500, 300)
        assert image.getpixel((2, 2)) == (255, 0, 0, 255)


def test_a_file_of_a_record_is_shown_with_it(fleet: Path) -> None:
    id_ = str(run_json("snag", "heron", "chip", "-s", "c", fleet=fleet)["id"])
    result = run("attach", id_[:5], put(fleet, "a.jpg", jpeg()), "-t", "coin", fleet=fleet)
    assert result.exit_code == 0, result
    assert events_of(fleet, "note")[0].body.about == id_
    (mark,) = run_json("damage", "heron", fleet=fleet)["marks"]
    assert mark["files"] == [kept_file(fleet).relative_to(fleet).as_posix()]
    assert "file kept: coin" in run("history", "heron", fleet=fleet).out


def test_a_part_on_the_shelf_keeps_its_own(fleet: Path) -> None:
    run("attach", "sv-31", put(fleet, "a.jpg", jpeg()), fleet=fleet)
    assert kept_file(fleet).parts[-4:-1] == ("parts", "sv-31", "attachments")


def test_other_files_are_kept_as_they_are_and_that_is_said(fleet: Path) -> None:
    data = b"%PDF-1.7\nnot a picture\n"
    result = run("attach", "heron", put(fleet, "Sheet 1.PDF", data), fleet=fleet)
    assert result.exit_code == 0
    assert "kept unchanged" in result.out
    kept = kept_file(fleet)
    assert kept.suffix == ".pdf"
    assert kept.read_bytes() == data


def test_a_yaml_file_is_never_read_as_a_record(fleet: Path) -> None:
    run("attach", "heron", put(fleet, "a.yaml", b'record: "flights"\n'), fleet=fleet)
    assert kept_file(fleet).name.endswith(".yaml.txt")
    assert events_of(fleet, "flights")[-1].id == "f1rstaaaaa"


def make_bomb(wide: int, high: int) -> bytes:
    """A PNG of a few hundred bytes that says it is very large."""

    def part(kind: bytes, body: bytes) -> bytes:
        check = struct.pack(">I", zlib.crc32(kind + body))
        return struct.pack(">I", len(body)) + kind + body + check

    head = struct.pack(">IIBBBBB", wide, high, 8, 2, 0, 0, 0)
    points = zlib.compress(b"\0" * 100_000)
    return b"\x89PNG\r\n\x1a\n" + part(b"IHDR", head) + part(b"IDAT", points) + part(b"IEND", b"")


@pytest.mark.parametrize(
    ("name", "data", "code", "says"),
    [
        ("bomb.png", make_bomb(30_000, 30_000), 2, "million are decoded"),
        ("bomb2.png", make_bomb(2**31 - 1, 2**31 - 1), 2, "bomb2.png"),
        ("cut.jpg", jpeg()[:2000], 2, "cut short"),
        ("text.jpg", b"hello, I am no picture", 2, "it is no picture"),
        ("empty.jpg", b"", 2, "is empty"),
        ("a.heic", b"\0\0\0\x18ftypheic" + b"\0" * 40, 4, "is a picture of a form"),
        ("a.jpg", b"\0\0\0\x18ftypheic" + b"\0" * 40, 4, "is a picture of a form"),
        ("a.mov", b"\0\0\0\x14ftypqt  " + b"\0" * 40, 4, "is a film"),
        ("a.tif", b"II*\0" + b"\0" * 40, 4, "is a picture of a form"),
        ("a.svg", b"<svg onload='x()'/>", 4, "is a picture of a form"),
        ("a.webp", b"RIFF\0\0\0\0WEBPVP8 ", 2, "cannot be read"),
        ("a.bin", b"x" * 8_000_001, 2, "at most"),
    ],
)  # fmt: skip
def test_what_is_not_taken_in(fleet: Path, name: str, data: bytes, code: int, says: str) -> None:
    before = read_files(fleet)
    result = run("attach", "heron", put(fleet, name, data), fleet=fleet)
    assert result.exit_code == code, result
    assert says in result.err
    assert "mend:" in result.err
    assert read_files(fleet) == before


def test_files_that_are_not_there(fleet: Path) -> None:
    assert run("attach", "heron", "no.jpg", fleet=fleet).exit_code == 2
    assert run("attach", "heron", str(fleet), fleet=fleet).exit_code == 2
    photo = put(fleet, "a.jpg", jpeg())
    missing = run("attach", "hornet", photo, fleet=fleet)
    assert missing.exit_code == 2
    assert "no aircraft, part or record" in missing.err
    os.mkfifo(fleet.parent / "pipe.jpg")
    assert run("attach", "heron", fleet.parent / "pipe.jpg", fleet=fleet).exit_code == 2


def test_check_save_doctor_and_everyday_commands_cope(
    fleet: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    run("attach", "heron", put(fleet, "a.jpg", jpeg()), fleet=fleet)
    assert "attachment" not in run("check", fleet=fleet).out
    assert run("save", fleet=fleet).exit_code == 0
    assert run("doctor", "--look", fleet=fleet).exit_code == 0
    status = subprocess.run(
        ["git", "status", "--porcelain"], cwd=fleet, capture_output=True, check=True
    )
    assert status.stdout == b""
    kept = kept_file(fleet)
    # A picture that cannot even be opened does not hold up an everyday command.
    kept.chmod(0)
    for words in (["due"], ["fleet"], ["history", "heron"], ["snag"]):
        assert run(*words, fleet=fleet).exit_code == 0
    kept.unlink()
    checked = run("check", fleet=fleet)
    assert "[attachment-missing]" in checked.out
    assert run("due", fleet=fleet).exit_code == 0


def test_a_fleet_without_history_keeps_it_too(tmp_path: Path) -> None:
    from fleets import make_fleet

    fleet = make_fleet(tmp_path, {"aircraft/heron/aircraft.yaml": 'id: "hern000001"\n'})
    result = run("attach", "heron", put(fleet, "a.jpg", jpeg()), fleet=fleet)
    assert result.exit_code == 0, result
    assert kept_file(fleet).stat().st_size > 100
    init_repository(fleet)


@pytest.mark.parametrize("size", [(1, 1), (1, 5000), (5000, 1), (1600, 1600), (1601, 900)])
def test_any_size_fits_and_keeps_its_shape(size: tuple[int, int]) -> None:
    target = io.BytesIO()
    draw(*size).save(target, "JPEG")
    picture = reduce_picture("a.jpg", target.getvalue())
    assert max(picture.width, picture.height) <= LONGEST_SIDE
    assert (picture.was_width, picture.was_height) == size
    if min(size) > 100:
        assert picture.width / picture.height == pytest.approx(size[0] / size[1], rel=0.01)


def test_more_points_than_are_decoded_are_refused_before_decoding() -> None:
    side = int(MOST_POINTS**0.5) + 2
    with pytest.raises(RegisterError, match="million are decoded"):
        reduce_picture("a.png", make_bomb(side, side))


def test_extras_are_found_wherever_they_stand() -> None:
    bare = reduce_picture("a.jpg", jpeg()).data
    assert find_extras(bare) == ""
    note = b"\xff\xfe\x00\x08CANARY"
    assert find_extras(bare[:2] + note + bare[2:])
    assert find_extras(bare[:-2] + note + bare[-2:])
    assert find_extras(bare + b"x") == "a tail"
    assert find_extras(bare[:-2]) == "no end"
    assert find_extras(b"GIF89a") == "an unknown form"


def test_bytes_decide_before_the_name() -> None:
    assert sort_file("a.txt", jpeg()) == "picture"
    assert sort_file("a.pdf", b"\0\0\0\x18ftypavif") == "undecoded"
    assert sort_file("notes.txt", b"BM is not a bitmap here") == "other"
    assert sort_file("noending", b"words") == "other"
