"""Zone numbers against the airlines' list, and what a camera writes against the standards.

* Zone groups: ATA 100 list, `data/zones_ata.csv` beside this (status: read in a public copy).
* Place in a photo: Exif 2.3 (JEITA CP-3451C), 4.6.6 "GPS attribute information", and the tags
  0x8825, 0x0001-0x0004. From memory of the standard; the parser below follows TIFF 6.0,
  section 2, and shares no code with the program or its imaging library.
* Parts of a JPEG: ITU-T T.81, annex B, table B.1. Parts of a PNG: W3C PNG, section 5.
"""

from __future__ import annotations

import csv
import io
import struct
from pathlib import Path

import pytest
from PIL import Image

from register.records.zones import ZONE_GROUPS
from register.storage.pictures import find_extras, reduce_picture

HERE = Path(__file__).parent
#: Words of the list and of ours that mean the same group.
SAME = {
    "100": ("fuselage", "lower"),
    "200": ("fuselage", "upper"),
    "300": ("tail",),
    "400": ("powerplant",),
    "500": ("left", "wing"),
    "600": ("right", "wing"),
    "700": ("landing", "gear"),
    "800": ("doors",),
}
#: "Empennage" is the list's word for a tail.
WORDS = {"stabilizers / empennage": "tail"}


def read_zones() -> dict[str, str]:
    """Number and title of each group."""
    lines = (HERE / "data/zones_ata.csv").read_text("utf-8").splitlines()
    rows = csv.DictReader(line for line in lines if not line.startswith("#"))
    return {row["zone"]: row["title"] for row in rows}


@pytest.mark.parametrize(("number", "title"), read_zones().items())
def test_zone_groups_are_those_of_the_list(number: str, title: str) -> None:
    theirs = WORDS.get(title.lower(), title.lower())
    ours = ZONE_GROUPS[number[0]].lower()
    assert all(word in theirs and word in ours for word in SAME[number])


def test_no_group_of_the_list_is_missing() -> None:
    assert {number[0] for number in read_zones()} == set(ZONE_GROUPS)


def find_place(data: bytes) -> dict[int, tuple[int, int]]:
    """Entries of the GPS directory of a JPEG: tag to type and count; nothing where it has none."""
    start = data.find(b"Exif\0\0")
    if start < 0:
        return {}
    tiff = data[start + 6 :]
    order = "<" if tiff[:2] == b"II" else ">"

    def entries(at: int) -> dict[int, tuple[int, int, int]]:
        (count,) = struct.unpack_from(f"{order}H", tiff, at)
        found = {}
        for n in range(count):
            tag, kind, many, value = struct.unpack_from(f"{order}HHII", tiff, at + 2 + 12 * n)
            found[tag] = (kind, many, value)
        return found

    (first,) = struct.unpack_from(f"{order}I", tiff, 4)
    top = entries(first)
    if 0x8825 not in top:
        return {}
    return {tag: (kind, many) for tag, (kind, many, _) in entries(top[0x8825][2]).items()}


def test_a_planted_place_is_found_before_and_gone_after() -> None:
    exif = Image.Exif()
    place = exif.get_ifd(0x8825)
    place[1], place[2], place[3], place[4] = "S", (12.0, 34.0, 56.0), "W", (65.0, 43.0, 21.0)
    target = io.BytesIO()
    Image.new("RGB", (300, 200), "grey").save(target, "JPEG", exif=exif)
    before = find_place(target.getvalue())
    # Latitude and longitude are three rationals each: type 5, count 3.
    assert before[2] == before[4] == (5, 3)
    after = reduce_picture("a.jpg", target.getvalue()).data
    assert find_place(after) == {}
    assert b"Exif" not in after


def jpeg_markers(data: bytes) -> list[int]:
    """Markers before the first scan, in order (T.81, B.1.1.3: 0xFF and a code)."""
    found, at = [], 2
    while data[at] == 0xFF and data[at + 1] != 0xDA:
        found.append(data[at + 1])
        at += 2 + int.from_bytes(data[at + 2 : at + 4], "big")
    return found


def test_what_is_kept_of_a_photo_are_frame_and_tables_only() -> None:
    target = io.BytesIO()
    Image.effect_noise((800, 600), 40).convert("RGB").save(target, "JPEG", comment=b"x")
    kept = reduce_picture("a.jpg", target.getvalue()).data
    # JFIF header, quantisation tables, start of frame (baseline or progressive), Huffman tables.
    assert set(jpeg_markers(kept)) <= {0xE0, 0xDB, 0xC0, 0xC2, 0xC4}
    assert find_extras(kept) == ""


def test_what_is_kept_of_a_drawing_are_critical_parts_only() -> None:
    """PNG section 5.4: the fifth bit of a part's first letter is 0 where it is critical."""
    target = io.BytesIO()
    image = Image.new("RGBA", (120, 80), (10, 200, 30, 255))
    image.save(target, "PNG", dpi=(300, 300))
    assert find_extras(target.getvalue())
    kept = reduce_picture("a.png", target.getvalue()).data
    at, kinds = 8, []
    while at < len(kept):
        kinds.append(kept[at + 4 : at + 8])
        at += 12 + int.from_bytes(kept[at : at + 4], "big")
    assert all(not kind[0] & 0x20 for kind in kinds)
    assert kinds[0] == b"IHDR"
    assert kinds[-1] == b"IEND"
