"""Linkages that cannot be, or that no set-up should have: computed from what the files say."""

from __future__ import annotations

from collections.abc import Iterator

from register.checks.survey import Survey, name_known, warn
from register.records.as_built import overlaid, read_section, read_section_of
from register.records.linkages import Linkage
from register.records.surfaces import Surface
from register.records.workshop_bodies import ThrowSheet
from register.text.nodes import Mapping
from register.trouble import Problem


def check_linkages(survey: Survey) -> Iterator[Problem]:
    """Every linkage of every kit, and of every aircraft laid over its kit's."""
    records = survey.ledger.records
    found = [
        problem
        for kit in records.kits.values()
        if kit.node is not None and kit.node.get("linkages") is not None
        for problem in _check_file(kit.node)
    ]
    for name in records.aircraft:
        node = overlaid(records, name)
        if node is not None and node.get("linkages") is not None:
            found.extend(_check_file(node))
    yield from dict.fromkeys(found)


def check_throw_sheets(survey: Survey) -> Iterator[Problem]:
    """Throws recorded of a surface that its aircraft, which describes some, does not have."""
    records = survey.ledger.records
    known: dict[str, dict[str, Surface]] = {}
    for event in survey.ledger.events:
        body = event.body
        if not isinstance(body, ThrowSheet):
            continue
        name = survey.ledger.names.aircraft_name(body.aircraft)
        if name is None:
            continue
        if name not in known:
            known[name] = read_section(records, name, "surfaces")[0]
        if known[name] and body.surface not in known[name]:
            yield warn(
                event.place("surface"),
                "surface-unknown",
                f"surface: {name} has no surface {body.surface!r}",
                name_known(body.surface, known[name], "surface", f"add surfaces: {body.surface}:"),
            )


def _check_file(node: Mapping) -> Iterator[Problem]:
    surfaces: dict[str, Surface] = read_section_of(node, "surfaces")[0]
    linkages: dict[str, Linkage] = read_section_of(node, "linkages")[0]
    for linkage in linkages.values():
        surface = surfaces.get(linkage.surface)
        if surface is not None:
            yield from _check_linkage(linkage, surface)


def _check_linkage(linkage: Linkage, surface: Surface) -> Iterator[Problem]:
    # The workshop's computing is loaded only where there is a linkage.
    from register.workshop.drive import Unsolved, build_drive
    from register.workshop.rods import engaged_now, judge_engagement
    from register.workshop.throws import wanted_degrees
    from register.workshop.travel import sweep_travel, use_of

    refused, _ = judge_engagement(linkage.rod, engaged_now(linkage.rod))
    if refused is not None:
        yield warn(
            linkage.rod.place,
            "thread-short",
            f"linkage {linkage.name}: {refused}",
            "fit a longer rod and write its  engagement: [7, 7]",
        )
    drive = build_drive(linkage, surface)
    if isinstance(drive, Unsolved):
        if drive.code == "cannot-close":
            says = f"linkage {linkage.name} cannot close: {drive.says}"
            yield Problem(linkage.place, "linkage-open", says, drive.mend)
        return
    sweep = sweep_travel(drive, surface)
    for met in sweep.met if sweep is not None else ():
        if met.kind == "near-centre":
            continue
        what = {
            "stop": f"{surface.name} reaches its stop",
            "binds": "the linkage binds",
            "over-centre": "the linkage goes over-centre",
        }[met.kind]
        side = "low" if met.end < met.pulse else "high"
        yield warn(
            linkage.place,
            "servo-stalls" if met.kind != "over-centre" else "over-centre",
            f"linkage {linkage.name}: {what} at {met.pulse:.0f} µs, before the end point of "
            f"{met.end:.0f}: servo {linkage.servo or 'not stated'}",
            f"set the end point, and write  {side}: {met.pulse:.0f}",
        )
    for wanted in surface.wanted:
        for throw in wanted.throws:
            degrees = wanted_degrees(wanted, surface, throw.way)
            use = None if degrees is None else use_of(drive, surface, throw.way, degrees)
            if use is not None and (use.point is None or use.beyond):
                how = "cannot take it there" if use.point is None else "ends before"
                yield warn(
                    wanted.place,
                    "throw-out-of-reach",
                    f"{throw.way} {throw.value} of {surface.name} is out of reach: linkage "
                    f"{linkage.name} {how}",
                    "another arm, horn or end point: tailsheaf throws AIRCRAFT "
                    f"{linkage.name} --what-if arm=20",
                )
