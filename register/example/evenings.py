"""Evenings in the workshop of the example: weighing, throws, air, departures, jobs."""

from __future__ import annotations

from decimal import Decimal

from register.example.bench import Bench
from register.example.things import Data
from register.text.nodes import Plain

PICTURE = "brake-gauge.png"
_EPOXY: Data = {
    "adhesive": "epoxy 30 minutes",
    "handling_minutes": 180,
    "full_minutes": 1440,
    "basis": {"kind": "maker", "reference": "leaflet"},
}


class Evenings:
    """Writes what happened at the bench. `known` are ids of entries made elsewhere, by key."""

    def __init__(self, bench: Bench, known: dict[str, str]):
        self.bench = bench
        self.known = known
        self.files: dict[str, bytes] = {}

    def write(self, picture: bytes) -> None:
        """Everything, in the order of the aircraft."""
        self._scales()
        self._throws()
        self._air()
        self._notices()
        self._departures()
        self._jobs_heron()
        self._jobs_bulwark()
        self._photo(picture)

    # --- small words --------------------------------------------------------------

    def _put(self, key: str, aircraft: str, kind: str, day: str, body: Data, **more: str) -> str:
        named: dict[str, Plain] = {"aircraft": self.bench.ref(aircraft), **body}
        return self.bench.put(key, f"aircraft/{aircraft}", kind, day, named, **more)

    def _subject(
        self, key: str, aircraft: str, kind: str, day: str, body: Data, **more: str
    ) -> str:
        subject = str(body.pop("subject", aircraft))
        named: dict[str, Plain] = {"subject": self.bench.ref(subject), **body}
        return self.bench.put(key, f"aircraft/{aircraft}", kind, day, named, **more)

    # --- measuring ------------------------------------------------------------------

    def _scales(self) -> None:
        for aircraft, day, weights in (
            ("drover", "2026-03-21", {"main-left": "8.15", "main-right": "8.22", "tail": "1.02"}),
            ("heron", "2025-03-22", {"nose": "2.06", "main-left": "6.90", "main-right": "6.85"}),
            ("heron", "2026-04-12", {"nose": "2.14", "main-left": "6.93", "main-right": "6.88"}),
        ):
            readings: list[Plain] = [
                {"point": point, "reading": Decimal(reading)} for point, reading in weights.items()
            ]
            body: Data = {"tanks": "empty", "attitude": 0, "weights": readings}
            self._put(f"{aircraft}-scales-{day}", aircraft, "weighing", day, body)

    def _throws(self) -> None:
        for aircraft, day, surface, throws, measure, more in (
            ("heron", "2026-04-02", "aileron-right", ("17.2", "13.4"), "chordal", True),
            ("heron", "2026-04-02", "aileron-left", ("17.5", "12.9"), "chordal", "0.4"),
            ("heron", "2026-05-10", "aileron-left", ("18.6", "12.8"), "chordal", "0.6"),
            ("kestrel", "2026-04-09", "aileron-left", ("16.8", "13.1"), "chordal", True),
            ("kestrel", "2026-04-09", "aileron-right", ("16.6", "12.7"), "chordal", True),
            ("drover", "2026-03-29", "aileron-left", ("21.4", "17.6"), "perpendicular", True),
            ("drover", "2026-03-29", "aileron-right", ("23.1", "18.2"), "perpendicular", True),
            ("bulwark", "2026-05-09", "rudder", ("58.5", "61"), "arc", True),
        ):
            ways = ("left", "right") if surface == "rudder" else ("up", "down")
            moved: Data = {way: Decimal(value) for way, value in zip(ways, throws, strict=True)}
            body: Data = {"surface": surface, "rate": "high", "measure": measure, "throws": moved}
            if more is True or day == "2026-04-02":
                body["sets_up"] = True
            if isinstance(more, str):
                body["readings"] = [{"name": "play", "value": Decimal(more), "unit": "mm"}]
            self._put(f"{aircraft}-{surface}-{day}", aircraft, "throws", day, body)

    def _air(self) -> None:
        for n, (day, first, second) in enumerate(
            (
                ("2025-09-06", ("7.3", 22, "16:10"), ("7.1", 20, "16:25")),
                ("2026-04-18", ("7.4", 19, "09:05"), ("7.1", 15, "09:20")),
            )
        ):
            for begins, (bar, degrees, clock) in ((True, first), (None, second)):
                body: Data = {
                    "name": "gear-air",
                    "value": Decimal(bar),
                    "unit": "bar",
                    "temperature": degrees,
                    "begins": begins,
                }
                key = f"heron-air-{n}-{clock}"
                self._subject(key, "heron", "reading", day, body, clock=clock)

    # --- notices and departures --------------------------------------------------------

    def _notices(self) -> None:
        self._subject(
            "heron-pin",
            "heron",
            "notice-answer",
            "2026-04-11",
            {
                "subject": "gear-l-1",
                "notice": "leg-pin",
                "result": "clear",
                "text": "pin still, block dry",
            },
            id_="nwg4t2x7ka",
        )
        self._subject(
            "kestrel-pin",
            "kestrel",
            "notice-answer",
            "2026-05-11",
            {
                "subject": "gear-r-1",
                "notice": "leg-pin",
                "result": "found",
                "text": "pin crept 2 mm, block damp",
            },
            id_="nwk7r3b9ce",
        )

    def _departures(self) -> None:
        self._put(
            "petrel-grommets",
            "petrel",
            "modification",
            "2026-03-14",
            {
                "at": "rotor",
                "text": "rubber grommets between fan and its ring",
                "manual": "fan screwed hard to the ring",
                "why": "a hum at two thirds throttle loosened the hatch magnets",
                "tried": ["felt strips", "more screws"],
                "mass": Decimal("0.009"),
                "strength": "thrust goes through four grommets",
                "state": "trial",
                "before": [{"name": "hum", "value": 78, "unit": "dB"}],
                "after_work": [{"name": "hum", "value": 71, "unit": "dB"}],
            },
            id_="mpt4s8k2ve",
        )
        self._put(
            "heron-hatch-heads",
            "heron",
            "modification",
            "2025-02-15",
            {
                "at": "rear-hatch",
                "text": "button heads on the rear hatch",
                "manual": "M3 x 10 countersunk",
                "why": "the countersunk ones bruised the rim",
                "mass": Decimal("0.002"),
                "state": "fixed",
            },
        )

    # --- jobs -----------------------------------------------------------------------------

    def _job(self, key: str, aircraft: str, day: str, body: Data, **more: str) -> str:
        return self._put(key, aircraft, "job", day, body, **more)

    def _jobs_heron(self) -> None:
        insert = self._job(
            "heron-insert",
            "heron",
            "2026-05-10",
            {
                "text": "set a new insert for the rear hatch screw",
                "at": "rear-hatch",
                "minutes": 25,
                "cure": _EPOXY,
            },
        )
        self._job(
            "heron-hatch-screw",
            "heron",
            "2026-05-10",
            {
                "text": "try the new insert with a screw at the torque",
                "at": "rear-hatch",
                "waits_for": [insert],
                "minutes": 10,
            },
        )

    def _jobs_bulwark(self) -> None:
        well = self._job(
            "bulwark-well",
            "bulwark",
            "2026-04-18",
            {
                "text": "line the left wheel well with thin ply",
                "at": "left-wheel-well",
                "hand": "left",
                "minutes": 70,
            },
            id_="jbt8n4c2xa",
        )
        self._job(
            "bulwark-well-done",
            "bulwark",
            "2026-05-02",
            {"job": well, "state": "done", "text": "1 mm ply, sealed"},
            id_="jdw5q7e3kb",
        )
        outlet = self._job(
            "bulwark-outlet",
            "bulwark",
            "2026-05-02",
            {
                "text": "cut the cooling outlet behind the cylinder",
                "at": "cowl",
                "minutes": 55,
            },
            id_="jfr2m9g6tc",
        )
        self._job(
            "bulwark-paint",
            "bulwark",
            "2026-05-02",
            {"text": "paint the cowl", "at": "cowl", "waits_for": [outlet], "minutes": 120},
            id_="jgx6p3h8wd",
        )
        self._job(
            "bulwark-duct",
            "bulwark",
            "2026-05-09",
            {"text": "fit the cooling duct", "at": "cooling-duct", "minutes": 40},
        )
        body: Data = {
            "text": "hinge block",
            "at": "aileron-servo-left",
            **_EPOXY,
            "mixed": "2026-05-15T20:30+02:00",
            "temperature": 20,
        }
        self._put("bulwark-cure", "bulwark", "cure", "2026-05-15", body, clock="20:30")

    # --- a picture --------------------------------------------------------------------------

    def _photo(self, picture: bytes) -> None:
        id_ = self.bench.next_id("heron-photo")
        path = f"aircraft/heron/attachments/2026-05-03-brake-gauge-left-{id_}.png"
        self.files[path] = picture
        self._put(
            "heron-photo",
            "heron",
            "note",
            "2026-05-03",
            {
                "text": "Brake gauge, left",
                "about": self.known["heron-brake"],
                "attachment": path,
            },
        )
