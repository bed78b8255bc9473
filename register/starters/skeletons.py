"""Skeletons to fill in: every key of a section, or of a programme, with its meaning.

One file for each beside this module, in YAML that is read without a complaint as it stands. A
test holds their keys and words to those that the readers know.
"""

from __future__ import annotations

from importlib.resources import files

from msgspec import Struct

from register.trouble import Exit, RegisterError

_FOLDER = "blanks"
#: Sections of a kit's or an aircraft's file, in the order in which one is described.
SECTIONS = (
    "outline",
    "zones",
    "colours",
    "surfaces",
    "linkages",
    "joints",
    "lines",
    "access",
    "notices",
    "balance",
    "air",
)
PROGRAMME = "programme"
_WHERE = """\
# For kits/KIT.yaml, where it holds for every aircraft of the kit, or for
# aircraft/NAME/aircraft.yaml, which is laid over it key by key ("none" takes an
# entry away). {name}: stands once in a file. All figures and names here are
# invented: put your own, take out what you do not know. What is left out is not
# stated, never zero. Then type:  tailsheaf check
#
"""


class Skeleton(Struct, frozen=True):
    """One to fill in. `about` is its line in a list, `text` what is printed."""

    name: str
    about: str
    text: str


def read_skeleton(name: str) -> Skeleton:
    """The skeleton of one section, by a name as typed.

    Raises `RegisterError` (usage) for a section that there is not.
    """
    from register.records.scalars import nearest

    word = name.strip().lower().rstrip(":")
    if word not in SECTIONS:
        guess = nearest(word, SECTIONS)
        raise RegisterError(
            f"there is no section called {name[:40]!r}: it is one of {', '.join(SECTIONS)}",
            mend=f"tailsheaf kit --skeleton {guess or SECTIONS[0]}",
            exit_code=Exit.USAGE,
            code="usage",
        )
    head, _, rest = _read(word).partition("\n#\n")
    return Skeleton(word, _about(head), f"{head}\n#\n{_WHERE.format(name=word)}{rest}")


def read_skeletons() -> tuple[Skeleton, ...]:
    """Those of all sections."""
    return tuple(read_skeleton(name) for name in SECTIONS)


def read_programme_skeleton() -> Skeleton:
    """That of a programme file."""
    text = _read(PROGRAMME)
    return Skeleton(PROGRAMME, _about(text.partition("\n")[0]), text)


def _read(name: str) -> str:
    return files(__package__).joinpath(_FOLDER, f"{name}.yaml").read_bytes().decode("utf-8")


def _about(first: str) -> str:
    return first.removeprefix("# ").partition(": ")[2]
