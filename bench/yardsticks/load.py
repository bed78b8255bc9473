"""Our own load: read, parse and build every record of a fleet, nothing kept, nothing computed.

It begins and ends as the console script does, as to looking for garbage.
"""

from __future__ import annotations

import gc
import sys
from pathlib import Path

from register.fleet import read_records

if __name__ == "__main__":
    gc.set_threshold(200_000, 50, 50)
    sheaves = read_records(Path(sys.argv[1])).sheaves
    count = sum(len(sheaves.entries(folder)) for folder in sheaves.catalogue)
    sys.stdout.write(f"{count}\n")
    gc.disable()
    gc.freeze()
