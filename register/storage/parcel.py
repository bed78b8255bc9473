"""The one file of a handover: a zip of a few named members, read with care."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping

from register.trouble import Exit, RegisterError

HISTORY, MANIFEST, SIGNATURE = "history.bundle", "manifest.json", "manifest.json.sig"
DOSSIER, DOSSIER_TEXT = "dossier.html", "dossier.txt"
#: Members and the most bytes each may have.
MEMBERS = {
    HISTORY: 200 * 1024 * 1024,
    MANIFEST: 20 * 1024 * 1024,
    SIGNATURE: 64 * 1024,
    DOSSIER: 100 * 1024 * 1024,
    DOSSIER_TEXT: 20 * 1024 * 1024,
}
LARGEST = 256 * 1024 * 1024
START = b"PK\x03\x04"
_DAY = (1980, 1, 1, 0, 0, 0)


def pack_parcel(members: Mapping[str, bytes]) -> bytes:
    """The file's bytes: the same members give the same bytes. A bundle is packed already."""
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w") as parcel:
        for name in sorted(members, key=list(MEMBERS).index):
            info = zipfile.ZipInfo(name, _DAY)
            info.external_attr = 0o644 << 16
            info.compress_type = zipfile.ZIP_STORED if name == HISTORY else zipfile.ZIP_DEFLATED
            parcel.writestr(info, members[name])
    return target.getvalue()


def open_parcel(data: bytes) -> dict[str, bytes]:
    """The members. Raises RegisterError (REFUSED `file-refused`) for anything else than such a
    file: other names, doubles, more bytes than said, a sum that is wrong."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as parcel:
            names = parcel.namelist()
            if len(set(names)) != len(names) or not {HISTORY, MANIFEST} <= set(names):
                raise refuse_file("it lacks a part of a handover, or has one twice")
            return {name: _read(parcel, name) for name in names}
    except RegisterError:
        raise
    except Exception as error:
        raise refuse_file("it is not a whole handover file") from error


def _read(parcel: zipfile.ZipFile, name: str) -> bytes:
    most = MEMBERS.get(name)
    if most is None:
        raise refuse_file(f"it holds {name[:60]!a}, which no handover has")
    with parcel.open(name) as member:
        found = member.read(most + 1)
    if len(found) > most:
        raise refuse_file(f"its {name} is larger than {most // 2**20} MB")
    return found


def refuse_file(why: str) -> RegisterError:
    """The refusal of a received file as a whole."""
    return RegisterError(
        f"this file is not taken in: {why}; nothing was written",
        mend="ask the sender for it again, by another way if need be",
        exit_code=Exit.REFUSED,
        code="file-refused",
    )
