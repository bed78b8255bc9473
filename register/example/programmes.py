"""The example's programmes: starter programmes cut down, with the owner's own changes."""

from __future__ import annotations

import re

from register.starters.catalogue import read_starter

_GROUP = re.compile(r'  - \{name: "([a-z-]+)", title: ".*"\}\n')
_TASK = re.compile(r'^  - id: "([a-z-]+)".*?(?=^  # ---|^  - id: |\Z)', re.MULTILINE | re.DOTALL)

#: What a programme asks of whoever gets the aircraft next.
NEW_OWNER = ("new-owner-inspection", "new-owner-labels", "new-owner-radio", "new-owner-failsafe")

KEPT: dict[str, tuple[str, ...]] = {
    "turbine-jet": (
        *("surface-throws", "surface-free-play", "hinge-pull", "linkage-look", "servo-gears"),
        *("receiver-pack-volts", "pack-capacity", "redundant-supply", "range-check", "failsafe"),
        *("skin-tap", "papers", "leak-down", "gear-locks", "turbine-look", "turbine-light"),
        *("turbine-service", "tail-pipe", "extinguisher-in-reach", "extinguisher-weigh"),
        *("swap-direction-throws", "swap-fasteners", "hard-landing-struts"),
        *("hard-landing-wheels", "hard-landing-tubes", "hard-landing-formers"),
        *("hard-landing-retract-travel", "hard-landing-turbine-mount"),
        *("storage-packs", "storage-turbine", "return-turbine"),
        *NEW_OWNER,
    ),
    "fan-jet": (
        *("surface-throws", "surface-free-play", "hinge-pull", "linkage-look"),
        *("pack-capacity", "failsafe", "skin-tap", "papers", "flight-pack-full"),
        *("landing-volts", "fan-rotor", "motor-bearings", "speed-controller", "static-power"),
        *("arming-plug", "retract-current", "inlet-duct", "swap-direction-throws"),
        *("swap-fasteners", "hard-landing-struts", "hard-landing-retract-travel"),
        *("tip-strike-tubes", "tip-strike-incidence", "tip-strike-servo-gears"),
        *("storage-packs", "storage-fan", "return-fan", "return-retracts"),
        *NEW_OWNER,
    ),
    "petrol-giant": (
        *("surface-throws", "surface-free-play", "hinge-pull", "horn-joint", "servo-arms"),
        *("linkage-look", "leads-connectors", "pack-capacity", "redundant-supply"),
        *("switch-regulator", "failsafe", "balance-and-mass", "wing-bolts"),
        *("papers", "ignition-kill", "propeller-bolts-day", "propeller-bolts-torque"),
        *("propeller-blades", "engine-mount", "spark-plug", "carburettor", "petrol-tank"),
        *("petrol-lines-replace", "gear-plate"),
        *NEW_OWNER,
    ),
    "glider-tug": (
        *("surface-throws", "surface-free-play", "linkage-look"),
        *("pack-capacity", "failsafe", "skin-tap", "papers", "ignition-kill"),
        *("propeller-bolts-torque", "propeller-blades", "spark-plug", "carburettor"),
        *("petrol-tank", "petrol-lines-replace", "static-speed", "tow-release-day"),
        *("tow-release-pull", "tow-release-wear", "tow-line-day", "tow-line-replace"),
        *("tug-gear", "swap-fasteners", "propeller-strike-propeller", "propeller-strike-shaft"),
        *("storage-packs", "storage-tanks", "storage-engine", "return-engine"),
        *NEW_OWNER,
    ),
}

#: programme, task -> (text of the starter, the owner's own text in its place).
CHANGES: dict[tuple[str, str], tuple[tuple[str, str], ...]] = {
    ("turbine-jet", "turbine-service"): (
        (
            '{counter: "engine-minutes"}      # add  amount:  hours times 60',
            '{counter: "engine-minutes", amount: 2400}      # 40 hours',
        ),
        ("    life: true\n", "    life: true\n    overhaul: true\n"),
        (
            'basis: {kind: "unknown", reference: "read the maker\'s sheet and set it"}',
            'basis: {kind: "maker", reference: "engine log book, page 4 (invented)"}',
        ),
        ("    # no figure here on purpose: makers differ", ""),
    ),
    ("turbine-jet", "leak-down"): (
        ('{counter: "flights", amount: 25}', '{counter: "flights", amount: 25, early: 3, late: 3}'),
        ('reset: "from-done"', 'reset: "from-due-in-window"      # mine: it may slide by three'),
    ),
    ("turbine-jet", "surface-free-play"): (
        (
            '    reset: "from-done"\n',
            '    reset: "from-done"\n'
            "    revisions:                          # mine: the play has begun to grow\n"
            '      - from: "2026-03-01"\n'
            "        every:\n"
            '          - {counter: "flights", amount: 8}\n',
        ),
    ),
    ("glider-tug", "propeller-bolts-torque"): (
        (
            '{counter: "flights", amount: 5}',
            '{counter: "flights", amount: 12}      # mine: locked bolts',
        ),
    ),
}

#: programme, task -> where it is done, and how many minutes the owner takes for it.
AT_THE_BENCH: dict[tuple[str, str], tuple[str, int]] = {
    ("turbine-jet", "surface-throws"): ("aircraft", 25),
    ("turbine-jet", "surface-free-play"): ("aircraft", 15),
    ("turbine-jet", "hinge-pull"): ("aircraft", 10),
    ("turbine-jet", "servo-gears"): ("aircraft", 30),
    ("turbine-jet", "range-check"): ("aircraft", 20),
    ("turbine-jet", "failsafe"): ("aircraft", 10),
    ("turbine-jet", "skin-tap"): ("aircraft", 25),
    ("turbine-jet", "leak-down"): ("gear-valve", 35),
    ("turbine-jet", "gear-locks"): ("main-gear", 20),
    ("turbine-jet", "turbine-light"): ("engine", 20),
    ("turbine-jet", "tail-pipe"): ("tail-cone", 10),
    ("turbine-jet", "hard-landing-retract-travel"): ("main-gear", 20),
    ("petrol-giant", "surface-throws"): ("aircraft", 30),
    ("petrol-giant", "hinge-pull"): ("aircraft", 10),
    ("petrol-giant", "leads-connectors"): ("receiver", 20),
    ("petrol-giant", "switch-regulator"): ("switch-regulator", 10),
    ("petrol-giant", "failsafe"): ("aircraft", 10),
    ("petrol-giant", "balance-and-mass"): ("aircraft", 40),
    ("petrol-giant", "spark-plug"): ("engine", 10),
    ("petrol-giant", "petrol-tank"): ("fuel-tank", 20),
    ("glider-tug", "tow-release-pull"): ("release", 15),
    ("glider-tug", "propeller-bolts-torque"): ("propeller", 10),
    ("fan-jet", "motor-bearings"): ("engine", 20),
    ("fan-jet", "fan-rotor"): ("rotor", 15),
}


def render_programme(name: str, id_: str) -> bytes:
    """One programme of the example: the starter's own words, fewer tasks."""
    text = read_starter(name).decode()
    head, _, body = text.partition("\ntasks:\n")
    blocks = {found[1]: found[0].rstrip("\n") for found in _TASK.finditer(body)}
    kept = [_change(name, task, blocks[task]) for task in blocks if task in KEPT[name]]
    missing = set(KEPT[name]) - blocks.keys()
    if missing:
        raise ValueError(f"{name} has no task {', '.join(sorted(missing))}")
    used = set(re.findall(r'^    group: "([a-z-]+)"', "\n".join(kept), re.MULTILINE))
    head = _GROUP.sub(lambda found: found[0] if found[1] in used else "", head + "\n")
    head = head.replace("# This file is yours", _cut_words(len(kept)) + "# This file is yours", 1)
    head = head.replace(', starter programme"\n', f'"\nid: "{id_}"\n', 1)
    return (head + "tasks:\n" + "\n\n".join(kept) + "\n").encode()


def _cut_words(count: int) -> str:
    return f"# Cut down by its owner to {count} tasks, with a few figures changed.\n#\n"


def _change(programme: str, task: str, block: str) -> str:
    for old, new in CHANGES.get((programme, task), ()):
        if old not in block:
            raise ValueError(f"{programme}: {task} has no line {old!r}")
        block = block.replace(old, new, 1)
    bench = AT_THE_BENCH.get((programme, task))
    if bench is not None:
        place, minutes = bench
        block = f'{block}\n    at: "{place}"\n    minutes: {minutes}'
    return block
