"""Pictures on their way into the fleet: made small, and made anew without what came with them.

A camera writes place, time, owner and a second picture into its files. Nothing of that is
copied: the picture is decoded, turned upright, brought to common colours, and encoded from
its bare points. What comes out is then looked through for anything but a picture, so that
no later version of a library can bring metadata back unseen.

Besides Pillow (a general imaging library) nothing reads a picture; it is loaded only here.
"""

from __future__ import annotations

import io
import struct
import warnings
from typing import TYPE_CHECKING

from msgspec import Struct

from register.trouble import Exit, RegisterError

if TYPE_CHECKING:
    from PIL import Image

#: Points along the longer side of a kept picture: an A4 page in print, about 200 to the inch.
LONGEST_SIDE = 1600
#: A decoded picture takes three or four bytes a point; more is refused before decoding. A
#: camera's JPEG can be decoded at a fraction of its size, the others cannot.
MOST_POINTS = 50_000_000
MOST_CAMERA_POINTS = 120_000_000
#: A drawing or screen picture stays PNG up to so many bytes, and becomes JPEG above.
LARGEST_PNG = 700_000
QUALITY = 85
#: What is decoded; no other decoder of the library is tried.
FORMATS = ("JPEG", "PNG", "WEBP", "GIF", "BMP")
#: Brands of files (ISO 14496-12) that hold pictures and are not decoded here; others are films.
_UNDECODED = ("heic", "heix", "heif", "hevc", "mif1", "msf1", "avif", "avis", "crx ")
_DECODED_ENDINGS = frozenset(("jpg", "jpeg", "jpe", "png", "webp", "gif", "bmp"))
_UNDECODED_ENDINGS = frozenset(
    (
        "heic", "heif", "avif", "tif", "tiff", "dng", "cr2", "cr3", "nef", "arw", "raf", "orf",
        "rw2", "jxl", "jp2", "psd", "ico", "svg",
    )
)  # fmt: skip
_FILM_ENDINGS = frozenset(("mp4", "mov", "avi", "mkv", "m4v", "3gp", "webm", "insv", "mts"))
#: Parts of a PNG that are the picture itself.
_PNG_PARTS = frozenset((b"IHDR", b"PLTE", b"tRNS", b"IDAT", b"IEND"))
_PNG_START = b"\x89PNG\r\n\x1a\n"


class Picture(Struct, frozen=True):
    """A picture as it is kept: its bytes, the ending of its name, its size, what it was."""

    data: bytes
    ending: str
    width: int
    height: int
    was_width: int
    was_height: int


def sort_file(name: str, data: bytes) -> str:
    """`picture`, `film`, `undecoded` (a picture this cannot read) or `other`, by its bytes
    first and its name second: nothing that could carry a place passes as something else.
    """
    if data[4:8] == b"ftyp":
        brand = data[8:12].decode("latin-1").lower()
        return "undecoded" if brand in _UNDECODED else "film"
    if data[:4] == b"RIFF":
        return "picture" if data[8:12] == b"WEBP" else "film"
    bitmap = data[:2] == b"BM" and int.from_bytes(data[2:6], "little") == len(data)
    if bitmap or data.startswith((b"\xff\xd8\xff", _PNG_START, b"GIF8")):
        return "picture"
    if data.startswith((b"II*\0", b"MM\0*")):
        return "undecoded"
    ending = name.rpartition(".")[2].lower() if "." in name else ""
    if ending in _FILM_ENDINGS or data.startswith(b"\x1a\x45\xdf\xa3"):
        return "film"
    if ending in _UNDECODED_ENDINGS:
        return "undecoded"
    return "picture" if ending in _DECODED_ENDINGS else "other"


def reduce_picture(name: str, data: bytes) -> Picture:
    """A picture made small and bare.

    Raises RegisterError (USAGE) where it is no picture, cut short, or larger than can be
    decoded; CANNOT_RUN where the result still held something but the picture.
    """
    from PIL import Image

    with warnings.catch_warnings():
        # The library's own limit warns only; ours, below, refuses.
        warnings.simplefilter("ignore")
        try:
            with Image.open(io.BytesIO(data), formats=FORMATS) as opened:
                wide, high = opened.size
                _check_size(name, opened.format or "", wide, high)
                is_drawing = opened.format == "PNG"
                # A camera's picture is decoded at a fraction of its size, if large.
                opened.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
                bare = _make_bare(opened)
        except RegisterError:
            raise
        except Exception as error:  # a decoder fed with any bytes may raise anything
            raise _not_decoded(name, error) from error
    kept = _encode(bare, is_drawing=is_drawing)
    left = find_extras(kept[0])
    if left:
        raise RegisterError(
            f"{name[:80]}: the picture could not be freed of {left}; nothing was kept",
            mend="this should not happen: report it, with the version of Pillow",
            exit_code=Exit.CANNOT_RUN,
            code="picture-not-bare",
        )
    return Picture(kept[0], kept[1], bare.width, bare.height, wide, high)


def bare_picture(name: str, data: bytes) -> Picture:
    """A picture as it goes on: as it is where nothing would be made smaller or left out, so that
    it loses nothing from one owner to the next, else made so.

    Raises RegisterError as `reduce_picture`.
    """
    made = reduce_picture(name, data)
    if (made.width, made.height) != (made.was_width, made.was_height) or find_extras(data):
        return made
    ending = "png" if data.startswith(_PNG_START) else "jpg"
    return Picture(data, ending, made.width, made.height, made.width, made.height)


def _check_size(name: str, form: str, wide: int, high: int) -> None:
    most = MOST_CAMERA_POINTS if form in ("JPEG", "MPO") else MOST_POINTS
    if wide * high > most:
        raise _too_large(name, f"says it is {wide} x {high} points", most)


def _too_large(name: str, says: str, most: int) -> RegisterError:
    return RegisterError(
        f"{name[:80]} {says}; at most {most // 10**6} million are decoded",
        mend="make it smaller with the program it comes from",
        code="picture-too-large",
    )


def _not_decoded(name: str, error: Exception) -> RegisterError:
    if type(error).__name__ == "DecompressionBombError":
        return _too_large(name, "says it is very large", MOST_POINTS)
    why = "it is no picture"
    if "truncated" in str(error).lower() or isinstance(error, EOFError | struct.error):
        why = "the file is cut short"
    elif type(error).__name__ != "UnidentifiedImageError":
        why = f"it is damaged ({type(error).__name__})"
    return RegisterError(
        f"{name[:80]} cannot be read as a picture: {why}",
        mend="copy it again from the camera, or save it as JPEG",
        code="picture-wrong",
    )


def _make_bare(opened: Image.Image) -> Image.Image:
    """Upright, in common colours, no longer than allowed, and with nothing but its points."""
    from PIL import Image, ImageOps

    upright = ImageOps.exif_transpose(opened)
    coloured = _common_colours(upright)
    coloured.thumbnail((LONGEST_SIDE, LONGEST_SIDE), Image.Resampling.LANCZOS)
    bare = Image.new(coloured.mode, coloured.size)
    bare.paste(coloured)
    return bare


def _common_colours(image: Image.Image) -> Image.Image:
    """As sRGB where the picture came with a profile: paint should look as it was taken."""
    from PIL import Image, ImageCms

    has_alpha = image.mode in ("RGBA", "LA", "PA") or "transparency" in image.info
    profile = image.info.get("icc_profile")
    plain = image.convert("RGBA" if has_alpha else "RGB")
    if profile and image.mode in ("RGB", "RGBA"):
        try:
            changed = ImageCms.profileToProfile(
                plain, ImageCms.ImageCmsProfile(io.BytesIO(profile)), ImageCms.createProfile("sRGB")
            )
        except (ImageCms.PyCMSError, OSError, ValueError):
            # A broken profile is no reason to lose the picture.
            changed = None
        plain = changed if isinstance(changed, Image.Image) else plain
    return plain


def _encode(bare: Image.Image, *, is_drawing: bool) -> tuple[bytes, str]:
    from PIL import Image

    if is_drawing:
        target = io.BytesIO()
        bare.save(target, "PNG", optimize=True)
        if target.tell() <= LARGEST_PNG:
            return target.getvalue(), "png"
    if bare.mode == "RGBA":
        white = Image.new("RGB", bare.size, (255, 255, 255))
        white.paste(bare, mask=bare.getchannel("A"))
        bare = white
    target = io.BytesIO()
    bare.save(target, "JPEG", quality=QUALITY, optimize=True, progressive=True)
    return target.getvalue(), "jpg"


def find_extras(data: bytes) -> str:
    """What a JPEG or PNG holds besides the picture, in a word; empty when nothing.

    Read from the file's own structure (ITU-T T.81 annex B; PNG, W3C, section 5), not from
    the library that wrote it.
    """
    if data.startswith(_PNG_START):
        return _find_png_extras(data)
    if not data.startswith(b"\xff\xd8"):
        return "an unknown form"
    at = 2
    while at + 4 <= len(data):
        if data[at] != 0xFF:
            return "bytes outside any part"
        marker, length = data[at + 1], int.from_bytes(data[at + 2 : at + 4], "big")
        # APP0 is the bare header; any other APPn, or a comment, is more than the picture.
        if 0xE1 <= marker <= 0xEF or marker == 0xFE:
            return f"part {marker:02X}"
        if marker == 0xE0 and not data.startswith(b"JFIF\0", at + 4):
            return "part E0"
        at += 2 + length
        if marker == 0xDA:
            at = _end_of_scan(data, at)
            if data[at : at + 2] == b"\xff\xd9":
                return "" if at + 2 == len(data) else "a tail"
    return "no end"


def _end_of_scan(data: bytes, at: int) -> int:
    """Where the next part begins: 0xFF in a scan stands before 0 or a restart mark only."""
    while at + 1 < len(data):
        at = data.find(b"\xff", at)
        if at < 0:
            return len(data)
        if data[at + 1 : at + 2] != b"\0" and not b"\xd0" <= data[at + 1 : at + 2] <= b"\xd7":
            return at
        at += 2
    return len(data)


def _find_png_extras(data: bytes) -> str:
    at = len(_PNG_START)
    while at + 12 <= len(data):
        length, kind = int.from_bytes(data[at : at + 4], "big"), data[at + 4 : at + 8]
        if kind not in _PNG_PARTS:
            return f"part {kind.decode('latin-1')}"
        at += 12 + length
        if kind == b"IEND":
            return "" if at == len(data) else "a tail"
    return "no end"
