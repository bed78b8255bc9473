"""A light install: what it still computes, and what it says of the rest."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from collections.abc import Callable

import pytest

from register.faults.alike import compare_gaps, compare_units
from register.faults.cumulative import estimate_cumulative
from register.faults.extra import find_mend
from register.faults.lives import make_life
from register.faults.two_rates import compare_rates
from register.faults.watches import make_watch
from register.faults.weibull import fit_weibull
from register.trouble import Exit, RegisterError

LIGHT = """
import sys
sys.modules["numpy"] = sys.modules["scipy"] = None
from register.faults.drift import Reading, estimate_drift, project_crossing
from register.faults.lives import estimate_failed_at, estimate_survival, make_life
from register.faults.rates import estimate_rate, estimate_time_between
from register.faults.trend import assess_reversals, assess_trend, estimate_growth
from register.faults.watches import make_watch
import register.faults.alike, register.faults.cumulative, register.faults.enough
import register.faults.two_rates, register.faults.weibull

watch = make_watch([3, 10, 14, 30], 50)
assert estimate_rate(4, 50).high > 0.08 > estimate_rate(4, 50).low
assert estimate_time_between(4, 50).low < 12.5
assert assess_trend([watch]).handbook.p < 1
assert assess_reversals([1, 2, 3, 5]).p < 1
assert estimate_growth(watch).power.low < 1
assert estimate_failed_at([make_life(5, True), make_life(9, False)], 7).value == 0.5
readings = [Reading(at, at + 0.1 * (-1) ** at) for at in range(9)]
assert estimate_drift(readings).slope.low > 0
assert project_crossing(readings, 20, "most").at.value > 10
print(sorted({name.split(".")[0] for name in sys.modules} & {"numpy", "scipy", "pandas"}))
"""


def test_rates_trends_survival_and_drift_need_the_standard_library_alone() -> None:
    done = subprocess.run(
        [sys.executable, "-c", LIGHT], capture_output=True, text=True, check=False
    )
    assert done.stderr == ""
    # Both stand among the modules as None only: nothing was loaded.
    assert done.stdout == "['numpy', 'scipy']\n"


@pytest.mark.parametrize(
    "compute",
    [
        lambda: compare_rates((1, 10.0), (2, 10.0)),
        lambda: compare_units([1, 2], [10.0, 10.0]),
        lambda: compare_gaps([[1.0, 2.0], [3.0]]),
        lambda: estimate_cumulative([make_watch([1], 5), make_watch([2, 3], 5)]),
        lambda: fit_weibull([make_life(5, True), make_life(9, True), make_life(9, False)]),
    ],
)
def test_the_rest_says_what_to_install(
    monkeypatch: pytest.MonkeyPatch, compute: Callable[[], object]
) -> None:
    for name in ("scipy", "scipy.special", "scipy.optimize", "scipy.stats"):
        monkeypatch.setitem(sys.modules, name, None)
    with pytest.raises(RegisterError) as raised:
        compute()
    error = raised.value
    assert error.exit_code == Exit.CANNOT_RUN
    assert error.code == "figures-not-installed"
    assert error.mend == find_mend()
    assert "scipy" in error.says


@pytest.mark.parametrize("has_pip", [True, False])
def test_the_line_is_for_the_python_that_runs(has_pip: bool) -> None:
    words = shlex.split(find_mend(has_pip))
    begins = [sys.executable, "-m", "pip", "install"]
    assert words[: 4 if has_pip else 5] == (
        begins if has_pip else ["uv", "pip", "install", "--python", sys.executable]
    )
    named = words[4 if has_pip else 5 :]
    assert sorted(re.split(r"[<>=]", word)[0] for word in named) == ["matplotlib", "numpy", "scipy"]
