"""Whatever figures stand in the files, balance, leak, cure and check answer and never raise."""

from __future__ import annotations

import tempfile
from datetime import UTC, datetime
from pathlib import Path

from hypothesis import example, given, settings
from hypothesis import strategies as st

from fleets import make_fleet, run

figures = st.sampled_from(
    ["0", "-1", "0.000000001", "999999999", "-999999999", "12", "7.5", '"7.5 lb"', '"12 g"', '"x"',
     "", "[]", "{}", "-273.15", '"1e5"', ".inf", "true"]
)  # fmt: skip
KEYS = (
    *("n", "l", "c", "e", "f", "a", "full", "taxi", "heavy", "w1", "w2", "t1", "fuel", "att"),
    *("p1", "p2", "h1", "h2", "amb", "vol", "min", "lb", "lm", "hm", "fm", "ct", "im", "ia"),
)


def write(folder: Path, f: dict[str, str]) -> Path:
    """A fleet with these figures wherever a figure can stand."""
    events = "aircraft/heron/events/2026/05"
    return make_fleet(
        folder,
        {
            "aircraft/heron/aircraft.yaml": f"""
                id: "hern000001"
                title: "Heron"
                stage: "in-service"
                balance:
                  datum: "nose"
                  arms: {{nose: {f["n"]}, main: {f["l"]}}}
                  tracks: {{main: {f["c"]}}}
                  mean_chord: {{leading_edge: {f["e"]}, length: {f["c"]}}}
                  limits: {{forward: {f["f"]}, aft: {f["a"]}}}
                  lateral_limit: {f["lb"]}
                  tank: {{arm: {f["a"]}, full: {f["full"]}, taxi: {f["taxi"]}}}
                  heaviest: {f["heavy"]}
                  masses:
                    - {{limit: {f["heavy"]}, kind: dry}}
                    - {{limit: {f["full"]}, kind: take-off}}
                  items: {{pump: {{mass: {f["im"]}, arm: {f["ia"]}, to_come: true}}}}
                  ballast: {{box: {{arm: {f["ia"]}}}}}
                air:
                  gear:
                    volume_ml: {f["vol"]}
                    full: {f["full"]}
                    minimum: {f["min"]}
                    ambient: {f["amb"]}
                    loss: {{bar: {f["lb"]}, minutes: {f["lm"]}}}
                """,
            f"{events}/w.yaml": f"""
                record: "weighing"
                id: "w2k8xw0001"
                when: "2026-05-09"
                aircraft: "heron"
                weights:
                  - {{point: "nose", reading: {f["w1"]}, tare: {f["t1"]}}}
                  - {{point: "main", reading: {f["w2"]}}}
                fuel: {f["fuel"]}
                attitude: {f["att"]}
                """,
            **{
                f"{events}/r{n}.yaml": f"""
                record: "reading"
                id: "r2k8xw000{n}"
                when: "2026-05-09T1{n}:00+00:00"
                subject: "heron"
                name: "gear"
                value: {f[f"p{n}"]}
                unit: "bar"
                temperature: {f[f"h{n}"]}
                ambient: {f["amb"]}
                """
                for n in (1, 2)
            },
            f"{events}/c.yaml": f"""
                record: "cure"
                id: "c2k8xw0001"
                when: "2026-05-09"
                aircraft: "heron"
                adhesive: "glue"
                handling_minutes: {f["hm"]}
                full_minutes: {f["fm"]}
                temperature: {f["ct"]}
                """,
        },
    )  # fmt: skip


PLAIN = dict.fromkeys(KEYS, "7.5")


@given(st.fixed_dictionaries(dict.fromkeys(KEYS, figures)))
@example({**PLAIN, "h1": "-273.15"})
@example({**PLAIN, "w1": "999999999", "w2": "0.000000001", "n": "-999999999", "heavy": "999999999"})
@example({**PLAIN, "fm": "999999999", "im": "0.000000001", "ia": "999999999"})
@example({**PLAIN, "n": "0", "l": "12", "f": "0", "a": "12", "heavy": "999999999", "min": "0"})
@settings(max_examples=12)
def test_every_figure_is_answered(figures: dict[str, str]) -> None:
    now = datetime(2026, 5, 16, 9, 0, tzinfo=UTC)
    lines = [
        ["balance", "heron"],
        ["balance", "heron", "--add", "x=0.5@100", "--ballast-at", "7.5"],
        ["leak", "heron", "--json"],
        ["leak", "heron", "gear"],
        ["cure", "--all", "--json"],
        ["history", "heron"],
        ["why", "heron"],
        ["check"],
    ]
    with tempfile.TemporaryDirectory() as folder:
        fleet = write(Path(folder), figures)
        for line in lines:
            result = run(*line, fleet=fleet, now=now)
            assert result.exit_code in (0, 1, 2), (line, result)
            assert "Traceback" not in result.err
