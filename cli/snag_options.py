"""What a snag may say beside its words: how bad, where, which screws, how large."""

from __future__ import annotations

from typing import Annotated, TypeAlias

import typer

Severity: TypeAlias = Annotated[
    str | None,
    typer.Option(
        "--severity", "-s", help="g(rounding), l(imiting), d(eferrable), m(onitor), c(osmetic)."
    ),
]
Position: TypeAlias = Annotated[
    str | None, typer.Option("--position", "-p", help="Where on the aircraft.")
]
Zone: TypeAlias = Annotated[str | None, typer.Option("--zone", help="Part of the airframe.")]
Spot: TypeAlias = Annotated[
    str | None,
    typer.Option(
        "--place",
        help='In the zone: "120 from leading edge, 340 from root", or just 120,340 (mm).',
    ),
]
Size: TypeAlias = Annotated[str | None, typer.Option("--size", metavar="MM", help="How large.")]
Finish: TypeAlias = Annotated[
    str | None, typer.Option("--finish", help='Its paint: "light grey, two-pack".')
]
Found: TypeAlias = Annotated[
    str | None, typer.Option("--found", help="When it came to light: after-flight, workshop, …")
]
System: TypeAlias = Annotated[
    str | None,
    typer.Option("--system", help="gear, radio, fuel, … or a chapter: 32 (all: faults --words)."),
]
Mode: TypeAlias = Annotated[
    str | None,
    typer.Option("--mode", help="How it failed: loose, cracked, … (all: faults --words)."),
]
Mechanism: TypeAlias = Annotated[
    str | None, typer.Option("--mechanism", help="Why physically: wear, fatigue, heat, …")
]
Circumstance: TypeAlias = Annotated[
    str | None, typer.Option("--circumstance", help="What lay behind it: design, adjustment, …")
]
JointName: TypeAlias = Annotated[
    str | None, typer.Option("--joint", help="The joint whose fasteners failed.")
]
Broken: TypeAlias = Annotated[
    str | None, typer.Option("--broken", metavar="N", help="How many of them.")
]
WillCure: TypeAlias = Annotated[
    str | None,
    typer.Option("--cure", help='What will have to cure: "epoxy 30 minutes=3h/24h", or 24h.'),
]
Rest: TypeAlias = Annotated[
    str | None,
    typer.Option("--rest", help="Where the rest of it is: out, in-hole, loose-inside (grounds)."),
]
