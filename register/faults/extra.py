"""The numeric library, an extra: loaded when a figure needs it, or its absence explained."""

from __future__ import annotations

from types import ModuleType

from register.trouble import Exit, RegisterError

MEND = "uv tool install --force '.[figures]'"
"""The line to type, in the folder tailsheaf was installed from."""


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
        mend=MEND,
        exit_code=Exit.CANNOT_RUN,
        code="figures-not-installed",
    )
