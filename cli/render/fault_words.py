"""The words that snags are described with: every one of them, to choose from."""

from __future__ import annotations

from cli.render.screen import Column, Screen, Span
from cli.session import Session
from register.records.fault_words import CHAPTERS, EVERYDAY, SYSTEM_WORDS, WORDS, FaultRules

_SHOWN = 4


def render_words(session: Session, rules: FaultRules) -> None:
    """Modes, mechanisms and circumstances with words of every day for them; the systems."""
    screen = Screen()
    screen.title("Words for faults", "own ones: fault_words: in fleet.yaml")
    for key in WORDS:
        screen.gap()
        rows = [(word, ", ".join(_said(key, word)[:_SHOWN])) for word in rules.words(key)]
        screen.table((Column(f"--{key}"), Column("also typed as", flexible=True)), rows, indent=1)
    screen.gap()
    own = {number: word for word, number in rules.systems.items()}
    systems = [
        (number, CHAPTERS.get(number, own.get(number, "")), ", ".join(_words_of(rules, number)))
        for number in sorted({*CHAPTERS, *own})
    ]
    columns = (Column("--system"), Column("what it is"), Column("also typed as", flexible=True))
    screen.table(columns, systems, indent=1)
    screen.gap()
    screen.line(Span("tailsheaf snag heron WORDS --mode loose --system gear", "command"))
    session.show(screen, _shape(rules))


def _shape(rules: FaultRules) -> dict[str, object]:
    return {
        "version": 1,
        **{key: {word: _said(key, word) for word in rules.words(key)} for key in WORDS},
        "system": {
            number: {"title": title, "words": _words_of(rules, number)}
            for number, title in CHAPTERS.items()
        },
    }


def _said(key: str, word: str) -> list[str]:
    return [said for said, meant in EVERYDAY[key].items() if meant == word]


def _words_of(rules: FaultRules, number: str) -> list[str]:
    every = {**SYSTEM_WORDS, **rules.systems}
    return [word for word, chapter in every.items() if chapter == number]
