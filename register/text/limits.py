"""How large one record file may be. Both readers keep the same limits."""

from __future__ import annotations

MAX_BYTES = 256 * 1024
"""The largest record file that is read, in bytes."""
MAX_DEPTH = 12
"""Levels of mappings and lists inside each other."""
MAX_NODES = 20_000
"""Keys and values in one file."""
