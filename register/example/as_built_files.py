"""What the owner wrote into his files by hand: zones, surfaces, joints, access, notices, stock."""

from __future__ import annotations

from importlib.resources import files

_FOLDER = "as_built"
STOCK = "stock"


def read_as_built(name: str) -> bytes:
    """The lines that stand below those of a kit's or aircraft's file; none if he wrote none."""
    file = files(__package__).joinpath(_FOLDER, f"{name}.yaml")
    return file.read_bytes() if file.is_file() else b""


def read_picture(name: str) -> bytes:
    """A drawn picture of the example, byte for byte."""
    return files(__package__).joinpath(_FOLDER, name).read_bytes()
