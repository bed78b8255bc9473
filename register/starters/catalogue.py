"""Which starter programmes there are, and the bytes of one."""

from __future__ import annotations

from importlib.resources import files

from register.trouble import Exit, RegisterError

_SUFFIX = ".yaml"


def starter_names() -> tuple[str, ...]:
    """Names of the starter programmes, in alphabetical order."""
    names = (item.name for item in files(__package__).iterdir())
    return tuple(sorted(name.removesuffix(_SUFFIX) for name in names if name.endswith(_SUFFIX)))


def read_starter(name: str) -> bytes:
    """The file of one starter programme, byte for byte.

    Raises `RegisterError` (usage) for a name that is not in `starter_names`; the name
    is compared, never made into a path.
    """
    known = starter_names()
    if name not in known:
        raise RegisterError(
            f"there is no starter programme called {name[:40]!r}",
            mend=f"take one of: {', '.join(known)}",
            exit_code=Exit.USAGE,
            code="starter-unknown",
        )
    return files(__package__).joinpath(name + _SUFFIX).read_bytes()
