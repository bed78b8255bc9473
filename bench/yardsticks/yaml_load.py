"""C: find, read and parse every record file of a fleet with PyYAML's C loader, nothing else."""

from __future__ import annotations

import os
import sys

import yaml  # type: ignore[import-untyped]


def load(folder: str) -> int:
    """How many files were parsed."""
    count = 0
    with os.scandir(folder) as entries:
        for entry in entries:
            if entry.is_dir(follow_symlinks=False):
                count += 0 if entry.name == ".git" else load(entry.path)
            elif entry.name.endswith(".yaml"):
                with open(entry.path, "rb") as file:  # noqa: PTH123  (the quickest way there is)
                    yaml.load(file.read(), Loader=yaml.CSafeLoader)
                count += 1
    return count


if __name__ == "__main__":
    sys.stdout.write(f"{load(sys.argv[1])}\n")
