"""Check what a built wheel carries: `contents.py TREE WHEEL`.

Exactly two importable names, and every file of the tree's two packages. A name too many
would land in the owner's environment; a file too few is found only when it is used.
"""

from __future__ import annotations

import sys
import zipfile
from pathlib import Path

TOP_LEVELS = ("cli", "register")


def find_faults(tree: Path, wheel: Path) -> list[str]:
    """Everything wrong with the wheel, as sentences; empty when nothing is."""
    with zipfile.ZipFile(wheel) as archive:
        packed = {name for name in archive.namelist() if not name.endswith("/")}
    info = "-".join(wheel.name.split("-")[:2]) + ".dist-info"
    tops = {name.split("/")[0] for name in packed}
    expected = {*TOP_LEVELS, info}
    faults = [f"{top} is in the wheel and should not be" for top in sorted(tops - expected)]
    faults += [f"{top} is missing from the wheel" for top in sorted(expected - tops)]
    for top in TOP_LEVELS:
        for file in sorted((tree / top).rglob("*")):
            name = file.relative_to(tree).as_posix()
            if file.is_file() and "__pycache__" not in file.parts and name not in packed:
                faults.append(f"{name} is missing from the wheel")
    return faults


def main() -> int:
    """Print the faults; exit 1 when there are any."""
    tree, wheel = Path(sys.argv[1]), Path(sys.argv[2])
    faults = find_faults(tree, wheel)
    for fault in faults:
        print(fault, file=sys.stderr)
    if not faults:
        print(f"{wheel.name}: top levels {', '.join(TOP_LEVELS)} and the dist-info, nothing else")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
