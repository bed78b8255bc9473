"""The example fleet: five invented aircraft over three seasons, the same bytes each time.

Write it anew after a change, from the root of the repository:

    pytest tests/example --accept
"""

from __future__ import annotations

from datetime import date

from register.example.as_built_files import STOCK, read_as_built, read_picture
from register.example.bench import Bench
from register.example.evenings import PICTURE, Evenings
from register.example.faults import write_faults
from register.example.happenings import Happenings
from register.example.marks import write_marks
from register.example.parts import PARTS, Part
from register.example.programmes import KEPT, render_programme
from register.example.season import SEASONS, Diary, flying_days
from register.example.stories import Act, Dated
from register.example.things import AIRCRAFT, FLEET, KITS, PAPERS, PRIVATE, Data
from register.example.upkeep import Workshop
from register.example.writing import Pen
from register.text.emitting import render_yaml
from register.text.nodes import Plain

SEED = 90_2631
#: The Saturday for which the example is tuned.
SHOWCASE = date(2026, 5, 16)


def build_example() -> dict[str, bytes]:
    """Every file of the example fleet by its fleet-relative path. Pure: no disk, no clock."""
    pen = Pen(SEED)
    for name in (*AIRCRAFT, *KITS, *KEPT, *PAPERS, *PARTS):
        pen.name(name)
    known = _live(pen)
    bench = Bench(pen)
    evenings = Evenings(bench, known)
    evenings.write(read_picture(PICTURE))
    write_marks(bench)
    write_faults(bench)
    written = pen.render() | bench.render()
    return dict(sorted((_standing_files(pen) | written | evenings.files).items()))


def _live(pen: Pen) -> dict[str, str]:
    """Three seasons, day after day. The ids of what happened, by its key."""
    shop = Workshop(pen)
    diary = Diary(shop)
    happenings = Happenings(shop, diary)
    acts: list[Dated] = list(happenings.all())
    for aircraft in SEASONS:
        for day in flying_days(aircraft):
            acts.append((day, 1, _flight(diary, aircraft, day)))
    for _, _, act in sorted(acts, key=lambda dated: dated[:2]):
        act()
    return happenings.ids


def _flight(diary: Diary, aircraft: str, day: date) -> Act:
    return lambda: diary.fly(aircraft, day)


def _standing_files(pen: Pen) -> dict[str, bytes]:
    files: dict[str, Data] = {"fleet.yaml": FLEET, "private.yaml": PRIVATE}
    for name, kit in KITS.items():
        files[f"kits/{name}.yaml"] = {"id": pen.ids[name], **kit}
    for name, aircraft in AIRCRAFT.items():
        data: Data = {"id": pen.ids[name], **aircraft, "kit": pen.ref(str(aircraft["kit"]))}
        named = aircraft["programmes"]
        if isinstance(named, list):
            data["programmes"] = [pen.ref(str(programme)) for programme in named]
        files[f"aircraft/{name}/aircraft.yaml"] = data
    for name, paper in PAPERS.items():
        files[f"papers/{name}.yaml"] = {"id": pen.ids[name], **paper, "covers": _covers(pen, paper)}
    for name, part in PARTS.items():
        files[f"parts/{name}/part.yaml"] = _part(pen.ids[name], part)
    rendered = {path: render_yaml(data).encode() for path, data in files.items()}
    for name in (*KITS, *AIRCRAFT):
        path = f"kits/{name}.yaml" if name in KITS else f"aircraft/{name}/aircraft.yaml"
        rendered[path] += read_as_built(name)
    rendered["stock.yaml"] = read_as_built(STOCK)
    programmes = {f"programmes/{name}.yaml": render_programme(name, pen.ids[name]) for name in KEPT}
    return rendered | programmes


def _covers(pen: Pen, paper: Data) -> list[Plain]:
    covers = paper["covers"]
    names = [str(name) for name in covers] if isinstance(covers, list) else []
    return [pen.ref(name) if name in AIRCRAFT else name for name in names]


def _part(id_: str, part: Part) -> Data:
    return {
        "id": id_,
        "kind": part.kind,
        "title": part.title,
        "use": "assigned" if part.assigned else "installed",
        **part.more,
    }
