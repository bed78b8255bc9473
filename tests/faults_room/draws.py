"""Data drawn from known laws, by a generator that is given: repeatable, and of no library."""

from __future__ import annotations

import random

from register.faults.lives import Life, make_life
from register.faults.watches import Watch, make_watch


def draw_steady(rng: random.Random, rate: float, end: float) -> list[float]:
    """Events of a steady stream up to an end."""
    times: list[float] = []
    at = rng.expovariate(rate)
    while at <= end:
        times.append(at)
        at += rng.expovariate(rate)
    return times


def draw_watches(rng: random.Random, units: int, rounded: bool = False) -> list[Watch]:
    """Aircraft with bunched events, late starts and differing ends; whole flights if rounded."""
    watches = []
    for _ in range(units):
        start, length = rng.choice((0, 0, 10)), rng.randint(30, 100)
        times = draw_steady(rng, rng.choice((0.02, 0.08)), length)
        if rounded:
            times = [min(float(length), float(int(time) + 1)) for time in times]
        watches.append(make_watch([start + time for time in times], start + length, start))
    return watches


def draw_lives(
    rng: random.Random, units: int, shape: float = 2.0, late: bool = True, rounded: bool = True
) -> list[Life]:
    """Parts that wear out, some suspended, some first seen at an age; whole flights if rounded."""
    lives: list[Life] = []
    while len(lives) < units:
        age = rng.weibullvariate(100, shape)
        end = rng.uniform(20, 150)
        entry = rng.uniform(0, 60) if late and rng.random() < 0.4 else 0.0
        seen = min(age, end)
        if rounded:
            seen, entry = float(int(seen) + 1), float(int(entry))
        if seen > entry:
            lives.append(make_life(seen, age <= end, entry))
    return lives
