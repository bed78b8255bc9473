"""What keeps breaking, computed: rates, trends, comparisons, part life, drift.

Pure estimators over plain figures; who knows records hands them `Watch`, `Life` and `Reading`.
Rates, times between, trends, survival and drift are sums and sorts and need the standard library
alone. Comparing rates, likeness of a fleet, mean cumulative functions and Weibull fits need scipy,
which is the extra `figures` and is loaded when such a figure is asked for.
"""
