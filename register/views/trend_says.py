"""What may be concluded of one series of readings, in a sentence."""

from __future__ import annotations

from register.faults.drift import LEVEL_READINGS, Crossing, Drift
from register.faults.enough import READINGS
from register.views.reading_steps import Series, StepMark

NOT_READ_AGAIN = "work since, not read again"


def say_words(series: Series, drift: Drift | None, crossing: Crossing | None, verdict: str) -> str:
    """What may be concluded, and what may not."""
    step = series.since_step
    count = len(series.reads)
    if verdict == "mended" and step is not None:
        when = step.event.moment.day.isoformat()
        return f"{step.says}, {when}; nothing was read since, so nothing is known of it now"
    if verdict == "past":
        return f"the last reading is beyond the limit{_since_words(step)}"
    if verdict == "approaching":
        return (
            "it drifts towards its limit; the range holds if it goes on as it was, and a harder "
            "season or other work changes that"
        )
    if verdict == "near":
        return "most of the room to the limit is used; whether it still moves cannot be told"
    if verdict == "drifting":
        return "it drifts, and no limit is set that it could meet"
    if verdict == "away":
        return "it drifts, away from its limit"
    if verdict == "no-limit":
        return f"no drift was found, and no limit is set{_few_words(drift, count)}"
    if verdict == "steady":
        return "no drift was found; one of three times the scatter would more often be found"
    if crossing is not None and crossing.at.too_few and drift and not drift.test.too_few:
        return f"fewer than {LEVEL_READINGS} readings since the last work: where it stands is open"
    return f"too few to tell{_few_words(drift, count)}"


def _since_words(step: StepMark | None) -> str:
    """Work after the last reading, which nobody has read again."""
    if step is None:
        return ""
    return f"; {NOT_READ_AGAIN}: {step.says}, {step.event.moment.day.isoformat()}"


def _few_words(drift: Drift | None, count: int) -> str:
    if drift is not None and not drift.test.too_few:
        return ""
    if count >= READINGS:
        return f": {count} readings in short spells between work"
    return f": {count} reading{'' if count == 1 else 's'}, {READINGS} are needed"
