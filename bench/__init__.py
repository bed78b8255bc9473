"""Benchmarks: fleets of any size from a seed, and the goals of speed measured on them.

Not part of the wheel. `python bench/run.py --help` says how to measure.
"""
