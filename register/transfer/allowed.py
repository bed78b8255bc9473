"""The allow-lists: what goes of each kind of record. What is not named here stays behind.

`TEXT` is free text and is masked; `CODE` is a value of the program's own words, a number, date
or code, and is masked too; `REF` names a thing and is written with its id; `EVENT` names a
record and goes only if that record goes; `PERSON` becomes a pseudonym.
"""

from __future__ import annotations

from register.transfer.allowed_sections import BASIS, SECTIONS
from register.transfer.fields import (
    ATTACHMENT,
    CODE,
    EVENT,
    KITREF,
    PERSON,
    PROGRAMME,
    REF,
    TEXT,
    Either,
    Keys,
    Listed,
    Named,
    Rule,
)

MEASURED = Keys({"name": CODE, "value": CODE, "unit": CODE})
SPANS = Named(
    Either(CODE, Keys({"value": CODE, "known": CODE, "low": CODE, "high": CODE, "basis": BASIS}))
)
#: What every event has. `machine` is a random name; `seq` orders what one machine wrote.
COMMON: dict[str, Rule] = {
    "record": CODE,
    "id": CODE,
    "when": CODE,
    "after": EVENT,
    "by": PERSON,
    "typed": CODE,
    "machine": CODE,
    "source": CODE,
    "note": TEXT,
    "seq": CODE,
}
_SPOT = Keys({"along": CODE, "along_from": TEXT, "across": CODE, "across_from": TEXT})
_CURE_WANTED = Keys(
    {"adhesive": TEXT, "handling_minutes": CODE, "full_minutes": CODE, "basis": BASIS}
)
_DRAWS = Listed(Keys({"item": CODE, "count": CODE}))

EVENTS: dict[str, dict[str, Rule]] = {
    "flights": {
        "aircraft": REF,
        "count": CODE,
        "minutes": CODE,
        "each": Listed(CODE),
        "landings": CODE,
        "gear_cycles": CODE,
        "engine_starts": CODE,
        "tows": CODE,
        "engine_minutes": CODE,
        "counters": Named(CODE),
        "uses": Listed(REF),
    },
    "engine-run": {"part": REF, "minutes": CODE, "starts": CODE},
    "charge": {"parts": Listed(REF), "part": REF, "count": CODE},
    "meter-reading": {"part": REF, "counter": CODE, "value": CODE, "replaced": CODE},
    "task-done": {
        "task": CODE,
        "subject": REF,
        "position": CODE,
        "result": CODE,
        "readings": Listed(MEASURED),
    },
    "reading": {
        "subject": REF,
        "snag": EVENT,
        "name": CODE,
        "value": CODE,
        "unit": CODE,
        "temperature": CODE,
        "ambient": CODE,
        "begins": CODE,
    },
    "snag": {
        "aircraft": REF,
        "part": REF,
        "position": CODE,
        "text": TEXT,
        "severity": CODE,
        "found": CODE,
        "zone": CODE,
        "system": CODE,
        "joint": CODE,
        "broken": CODE,
        "rest": CODE,
        "place": _SPOT,
        "size": CODE,
        "finish": TEXT,
        "mode": CODE,
        "mechanism": CODE,
        "circumstance": CODE,
        "cure": _CURE_WANTED,
    },
    "severity": {"snag": EVENT, "severity": CODE, "reason": TEXT, "seen": Listed(EVENT)},
    "deferral": {
        "snag": EVENT,
        "reason": TEXT,
        "limit": TEXT,
        "until": CODE,
        "flights": CODE,
        "extends": EVENT,
        "seen": Listed(EVENT),
    },
    "fix": {
        "snags": Listed(EVENT),
        "snag": EVENT,
        "action": TEXT,
        "closes": CODE,
        "cause": TEXT,
        "seen": Listed(EVENT),
        "mending": CODE,
        "draws": _DRAWS,
        "rest": CODE,
        "minutes": CODE,
    },
    "install": {"part": REF, "aircraft": REF, "into": REF, "position": CODE},
    "remove": {"part": REF, "aircraft": REF, "reason": TEXT},
    "condition": {"part": REF, "condition": CODE, "reason": TEXT},
    "incident": {"aircraft": REF, "what": CODE},
    "layup": {"subject": REF, "state": CODE},
    "stage": {"aircraft": REF, "stage": CODE},
    "withdrawal": {"withdraws": EVENT, "reason": TEXT, "duplicate_of": EVENT},
    "note": {
        "aircraft": REF,
        "part": REF,
        "position": CODE,
        "text": TEXT,
        "about": EVENT,
        "attachment": ATTACHMENT,
        "title": TEXT,
    },
    "weighing": {
        "aircraft": REF,
        "weights": Listed(Keys({"point": CODE, "reading": CODE, "tare": CODE, "as_read": CODE})),
        "tanks": CODE,
        "fuel": CODE,
        "attitude": CODE,
    },
    "throws": {
        "aircraft": REF,
        "surface": CODE,
        "rate": CODE,
        "measure": CODE,
        "throws": Named(CODE),
        "station": CODE,
        "sets_up": CODE,
        "readings": Listed(MEASURED),
    },
    "modification": {
        "aircraft": REF,
        "part": REF,
        "position": CODE,
        "at": CODE,
        "text": TEXT,
        "manual": TEXT,
        "why": TEXT,
        "tried": Listed(TEXT),
        "mass": CODE,
        "throws": TEXT,
        "strength": TEXT,
        "state": CODE,
        "before": Listed(MEASURED),
        "after_work": Listed(MEASURED),
        "follows": EVENT,
        "fastener": Named(CODE),
    },
    "job": {
        "aircraft": REF,
        "text": TEXT,
        "at": CODE,
        "hand": CODE,
        "waits_for": Listed(EVENT),
        "cure": _CURE_WANTED,
        "minutes": CODE,
        "state": CODE,
        "job": EVENT,
        "other_hand_of": EVENT,
    },
    "cure": {
        "aircraft": REF,
        "part": REF,
        "at": CODE,
        "text": TEXT,
        "adhesive": TEXT,
        "mixed": CODE,
        "handling_minutes": CODE,
        "full_minutes": CODE,
        "temperature": CODE,
        "basis": BASIS,
        "holds": Listed(EVENT),
    },
    "notice-answer": {"notice": CODE, "subject": REF, "result": CODE, "text": TEXT, "lot": CODE},
    "usage-elsewhere": {
        "part": REF,
        "since": CODE,
        "until": CODE,
        "counters": SPANS,
        "stands_for": CODE,
    },
    "change-of-owner": {"aircraft": REF, "way": CODE},
}

OPENING = Keys(
    {
        "as_of": CODE,
        "counters": SPANS,
        "since_overhaul": SPANS,
        "tasks": Listed(
            Keys({"task": CODE, "subject": REF, "when": CODE, "at": Named(CODE), "known": CODE})
        ),
    }
)
POSITIONS = Named(Either(CODE, Keys({"kind": CODE, "required": CODE, "system": CODE})))
PER_FLIGHT = Named(Either(CODE, Keys({"value": CODE, "basis": BASIS})))
LIFE = Listed(
    Keys(
        {
            "counter": CODE,
            "limit": CODE,
            "months": CODE,
            "date": CODE,
            "from": CODE,
            "basis": BASIS,
        }
    )
)
PART: dict[str, Rule] = {
    "id": CODE,
    "kind": CODE,
    "title": TEXT,
    "serial": CODE,
    "lot": CODE,
    "side": CODE,
    "use": CODE,
    "condition": CODE,
    "opening": OPENING,
    "made": CODE,
    "life": LIFE,
    "counters": Listed(CODE),
    "basis": BASIS,
}
#: A part that stays behind goes by these alone.
STUB: dict[str, Rule] = {"id": CODE, "kind": CODE, "title": TEXT, "use": CODE, "counters": CODE}
FLEET: dict[str, Rule] = {
    "schema": CODE,
    "home_zone": CODE,
    "season_start": CODE,
    "season_gap_days": CODE,
    "soon": Keys({"days": CODE, "flights": CODE, "minutes": CODE}),
    "counters": Listed(CODE),
    "part_kinds": Named(Listed(CODE)),
}

_INTERVALS = Listed(
    Keys(
        {
            key: CODE
            for key in (
                "counter", "amount", "early", "late", "months", "calendar_months", "days",
                "early_days", "late_days",
            )
        }
    )
)  # fmt: skip
_START = Listed(
    Keys(
        {
            "when": CODE,
            "what": Listed(CODE),
            "positions": Listed(CODE),
            "kinds": Listed(CODE),
            "within": CODE,
            "days": CODE,
            "flights": CODE,
            "after": Named(CODE),
            "valid_days": CODE,
            "warn_days": CODE,
            "system": CODE,
            "task": CODE,
            "from": CODE,
        }
    )
)
_READING = Listed(
    Keys(
        {
            "name": CODE,
            "unit": CODE,
            "low": CODE,
            "high": CODE,
            "ratio_low": CODE,
            "ratio_high": CODE,
            "within": CODE,
            "baseline": CODE,
            "basis": BASIS,
        }
    )
)
TASK = Keys(
    {
        "id": CODE,
        "title": TEXT,
        "group": CODE,
        "on": Either(CODE, Keys({"position": CODE, "part_kind": CODE})),
        "every": _INTERVALS,
        "first": _INTERVALS,
        "reset": CODE,
        "start": _START,
        "grounds": CODE,
        "reading": _READING,
        "basis": BASIS,
        "list": CODE,
        "if_out": TEXT,
        "caution": TEXT,
        "overhaul": CODE,
        "labour_minutes": CODE,
        "minutes": CODE,
        "at": Listed(CODE),
        "tools": Listed(TEXT),
        "life": CODE,
        "revisions": Listed(
            Keys({"from": CODE, "every": _INTERVALS, "first": _INTERVALS, "reset": CODE})
        ),
    }
)
PROGRAMME_FILE: dict[str, Rule] = {
    "id": CODE,
    "title": TEXT,
    "about": TEXT,
    "starter": CODE,
    "version": CODE,
    "groups": Listed(Keys({"name": CODE, "title": TEXT})),
    "tasks": Listed(TASK),
}


KIT: dict[str, Rule] = {
    "id": CODE,
    "title": TEXT,
    "positions": POSITIONS,
    "per_flight": PER_FLIGHT,
    **SECTIONS,
}
AIRCRAFT: dict[str, Rule] = {
    "id": CODE,
    "title": TEXT,
    "registration": CODE,
    "lot": CODE,
    "serial": CODE,
    "kit": KITREF,
    "programmes": Listed(PROGRAMME),
    "stage": CODE,
    "opening": OPENING,
    "positions": POSITIONS,
    "per_flight": PER_FLIGHT,
    "limits": Named(Either(CODE, Keys({"value": CODE, "unit": CODE, "basis": BASIS}))),
    **SECTIONS,
}
