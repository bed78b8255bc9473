"""The numeric library, an extra: loaded when a figure needs it, or its absence explained."""

from __future__ import annotations

import shlex
import sys
from importlib.metadata import PackageNotFoundError, requires
from importlib.util import find_spec
from types import ModuleType

from register.trouble import Exit, RegisterError

LIBRARIES = ("numpy", "scipy", "matplotlib")
"""What the extra brings."""


def find_mend(has_pip: bool | None = None) -> str:
    """The line that adds the libraries beside this program, however it was installed.

    `has_pip` says whether its environment has a pip of its own; it is looked up if not given.

    The program is on no index, and whoever has the wheel has no sources: so not the extra is
    named but what it brings, for the Python that runs here. Some environments have no pip of
    their own; uv made those.
    """
    names = " ".join(shlex.quote(name) for name in _wanted())
    python = shlex.quote(sys.executable)
    if find_spec("pip") is not None if has_pip is None else has_pip:
        return f"{python} -m pip install {names}"
    return f"uv pip install --python {python} {names}"


def _wanted() -> tuple[str, ...]:
    """The libraries with the versions that the program's own metadata asks for."""
    try:
        listed = requires("tailsheaf") or ()
    except PackageNotFoundError:
        return LIBRARIES
    found = [line.partition(";") for line in listed]
    named = tuple(name.strip() for name, _, mark in found if "figures" in mark)
    return named or LIBRARIES


def load_special() -> ModuleType:
    """scipy's special functions.

    Raises:
        RegisterError: the extra is not installed (exit 3).
    """
    try:
        import scipy.special  # type: ignore[import-untyped]
    except ImportError as missing:
        raise _explain() from missing
    special: ModuleType = scipy.special
    return special


def load_optimize() -> ModuleType:
    """scipy's root finders.

    Raises:
        RegisterError: the extra is not installed (exit 3).
    """
    try:
        import scipy.optimize  # type: ignore[import-untyped]
    except ImportError as missing:
        raise _explain() from missing
    optimize: ModuleType = scipy.optimize
    return optimize


def load_stats() -> ModuleType:
    """scipy's statistics, the slowest of the three to load: for k samples only.

    Raises:
        RegisterError: the extra is not installed (exit 3).
    """
    try:
        import scipy.stats  # type: ignore[import-untyped]
    except ImportError as missing:
        raise _explain() from missing
    stats: ModuleType = scipy.stats
    return stats


def _explain() -> RegisterError:
    """Cannot compute without scipy."""
    return RegisterError(
        "this figure needs numpy and scipy, which the light install leaves out; counts, rates, "
        "times between and trends are shown without them",
        mend=find_mend(),
        exit_code=Exit.CANNOT_RUN,
        code="figures-not-installed",
    )
