"""Our own load: read, parse and build every record of a fleet, nothing kept, nothing computed."""

from __future__ import annotations

import sys
from pathlib import Path

from register.fleet import read_records

if __name__ == "__main__":
    sheaves = read_records(Path(sys.argv[1])).sheaves
    count = sum(len(sheaves.entries(folder)) for folder in sheaves.catalogue)
    sys.stdout.write(f"{count}\n")
