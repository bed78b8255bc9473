"""Published sizes of keys, nuts, washers and holes, each table with its source.

Nothing is computed or interpolated here: a size that a table does not hold is not known.
Tables of sockets often print the limits of the recess (2.08 mm for an M3 button head); what
is kept is the nominal size of the key. No standard itself was open to read: "read" means
seen in public copies of the table, "from memory" that it was not seen.
"""

from __future__ import annotations

from typing import NamedTuple


class Figure(NamedTuple):
    """One published figure: the value as printed, its unit, where from and how it is known."""

    value: str
    unit: str
    source: str
    status: str = "read"

    @property
    def text(self) -> str:
        """Value and unit: 2.5 mm, 3/32 in, T10."""
        return f"{self.value} {self.unit}".strip()


class Sizes(NamedTuple):
    """One table: the figures of one thing by thread size."""

    source: str
    unit: str
    values: dict[str, str]
    status: str = "read"
    #: Sizes whose figure is known in another way than the rest.
    marked: tuple[tuple[str, str], ...] = ()

    def find(self, size: str) -> Figure | None:
        """The figure of a size, or None where the table has none."""
        value = self.values.get(size)
        if value is None:
            return None
        return Figure(value, self.unit, self.source, dict(self.marked).get(size, self.status))


def _row(sizes: str, values: str) -> dict[str, str]:
    pairs = zip(sizes.split(), values.split(), strict=True)
    return {size: value for size, value in pairs if value != "-"}


_M = "M1.6 M2 M2.5 M3 M4 M5 M6 M8"
_N = "#0 #1 #2 #4 #6 #8 #10 1/4"
_ONE_COPY = "read in one copy only"

#: Head -> the tables of its key, metric and inch.
KEYS: dict[str, tuple[Sizes, ...]] = {
    "cap": (
        Sizes("ISO 4762", "mm", _row(_M, "1.5 1.5 2 2.5 3 4 5 6")),
        Sizes("ASME B18.3", "in", _row(_N, "0.050 1/16 5/64 3/32 7/64 9/64 5/32 3/16")),
    ),
    "button": (
        Sizes("ISO 7380-1", "mm", _row(_M, "- - - 2 2.5 3 4 5")),
        Sizes("ASME B18.3", "in", _row(_N, "0.035 0.050 0.050 1/16 5/64 3/32 1/8 5/32"), _ONE_COPY),
    ),
    "countersunk": (
        Sizes(
            "ISO 10642",
            "mm",
            _row(_M, "- 1.3 1.5 2 2.5 3 4 5"),
            marked=(("M2", _ONE_COPY), ("M2.5", _ONE_COPY)),
        ),
        Sizes("ASME B18.3", "in", _row(_N, "0.035 0.050 0.050 1/16 5/64 3/32 1/8 5/32"), _ONE_COPY),
    ),
    "set": (
        Sizes("ISO 4026 to 4029", "mm", _row(_M, "0.7 0.9 1.3 1.5 2 2.5 3 4")),
        Sizes(
            "ASME B18.3",
            "in",
            _row(_N, "0.028 0.035 0.035 0.050 1/16 5/64 3/32 1/8"),
            marked=(("#1", "two copies differ (0.028 and 0.035); 0.035 from memory"),),
        ),
    ),
    "pan": (Sizes("ISO 7045, cross recess", "", _row(_M, "PH0 PH0 PH1 PH1 PH2 PH2 PH3 PH4")),),
    "countersunk-cross": (
        Sizes("ISO 7046, cross recess", "", _row(_M, "PH0 PH0 PH1 PH1 PH2 PH2 PH3 PH4")),
    ),
    "pan-torx": (
        Sizes("ISO 14583, hexalobular", "", _row(_M, "- T6 T8 T10 T20 T25 T30 T45"), _ONE_COPY),
    ),
    "countersunk-torx": (
        Sizes("ISO 14581, hexalobular", "", _row(_M, "- T6 T8 T10 T20 T25 T30 T45"), _ONE_COPY),
    ),
    "nut": (
        Sizes("ISO 4032, across flats", "mm", _row(_M, "3.2 4 5 5.5 7 8 10 13")),
        Sizes(
            "ASME B18.2.2 machine screw nut, across flats",
            "in",
            _row(_N, "5/32 5/32 3/16 1/4 5/16 11/32 3/8 7/16"),
            _ONE_COPY,
        ),
    ),
    "hexagon": (
        Sizes(
            "ISO 272, across flats",
            "mm",
            _row(_M, "3.2 4 5 5.5 7 8 10 13"),
            "from memory; the same as the nut of ISO 4032, which was read",
        ),
    ),
}
#: What a key of each head is called.
TOOLS: dict[str, str] = {
    "cap": "hex key",
    "button": "hex key",
    "countersunk": "hex key",
    "set": "hex key",
    "pan": "cross screwdriver",
    "countersunk-cross": "cross screwdriver",
    "pan-torx": "hexalobular key",
    "countersunk-torx": "hexalobular key",
    "nut": "spanner",
    "hexagon": "spanner",
}
NUT_HEIGHT = Sizes("ISO 4032, height at most", "mm", _row(_M, "1.3 1.6 2 2.4 3.2 4.7 5.2 6.8"))
WASHER_BORE = Sizes("ISO 7089", "mm", _row(_M, "1.7 2.2 2.7 3.2 4.3 5.3 6.4 8.4"))
WASHER_OUTSIDE = Sizes("ISO 7089", "mm", _row(_M, "4 5 6 7 9 10 12 16"))
WASHER_THICKNESS = Sizes("ISO 7089", "mm", _row(_M, "0.3 0.3 0.5 0.5 0.8 1 1.6 1.6"), _ONE_COPY)
CLEARANCE: dict[str, Sizes] = {
    "fine": Sizes("ISO 273", "mm", _row(_M, "1.7 2.2 2.7 3.2 4.3 5.3 6.4 8.4")),
    "medium": Sizes("ISO 273", "mm", _row(_M, "1.8 2.4 2.9 3.4 4.5 5.5 6.6 9")),
    "coarse": Sizes("ISO 273", "mm", _row(_M, "2 2.6 3.1 3.6 4.8 5.8 7 10")),
}
#: By the full name of the thread: a fine pitch takes another drill than the coarse one.
TAPPING_DRILL = (
    Sizes("ISO 2306", "mm", _row(_M, "1.25 1.6 2.05 2.5 3.3 4.2 5 6.8")),
    Sizes(
        "shop table for 75 % of thread, no standard",
        "in",
        {
            "#0-80": "3/64 (0.0469)",
            "#1-72": "#53 (0.0595)",
            "#2-56": "#50 (0.0700)",
            "#4-40": "#43 (0.0890)",
            "#6-32": "#36 (0.1065)",
            "#8-32": "#29 (0.1360)",
            "#10-24": "#25 (0.1500)",
            "#10-32": "#21 (0.1590)",
            "1/4-20": "#7 (0.2010)",
        },
    ),
)
#: Outside diameter of a cap head, for the friction under it.
CAP_HEAD = Sizes(
    "ISO 4762, head diameter at most",
    "mm",
    _row(_M, "3 3.8 4.5 5.5 7 8.5 10 13"),
    "from memory",
)
#: The two lowest and highest figures of FAA AC 43.13-1B Table 7-1 for nuts loaded in tension:
#: bolts of cadmium-plated steel, threads free of oil; in·lbf.
AIRCRAFT_NUTS = Sizes(
    "FAA AC 43.13-1B Table 7-1, tension nuts, oil-free cadmium-plated steel",
    "in·lbf",
    {
        "#8-32": "12-15",
        "#8-36": "12-15",
        "#10-24": "20-25",
        "#10-32": "20-25",
        "1/4-20": "40-50",
        "1/4-28": "50-70",
    },
)


def find_key(head: str, size: str) -> Figure | None:
    """The key of a head and thread size."""
    return _first(KEYS.get(head, ()), size)


def find_tapping_drill(thread_name: str) -> Figure | None:
    """The drill before tapping, by the full name of the thread."""
    return _first(TAPPING_DRILL, thread_name)


def _first(tables: tuple[Sizes, ...], size: str) -> Figure | None:
    return next((found for table in tables if (found := table.find(size)) is not None), None)
