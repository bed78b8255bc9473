"""The codes of all problems, read from the source: what stands where a `code` is asked for."""

from __future__ import annotations

import ast
from collections.abc import Iterator, Mapping
from pathlib import Path

ROOT = Path(__file__).parents[2]
SOURCES = ("register", "cli")
#: Takes two codes from a table of complaints; both stand written out elsewhere too.
FROM_A_TABLE = ("register.text.syntax",)


def find_codes(trees: Mapping[str, ast.Module]) -> tuple[set[str], list[str]]:
    """Codes given to `Problem` or to anything that hands its `code` on, and calls that hide theirs.

    A function hands a code on if it has an argument named so. Errors that end a command
    have codes of their own, and no folder.
    """
    takers = {module: _find_takers(tree) for module, tree in trees.items()}
    codes: set[str] = set()
    hidden: list[str] = []
    for module, tree in trees.items():
        known = {"Problem": 1, **_known_here(tree, takers), **takers[module]}
        handed_on = {id(call) for call in _calls_that_hand_on(tree)}
        for call in _calls(tree):
            name = _name_of(call.func)
            if name not in known:
                continue
            given = _given(call, known[name])
            found = set(_literals(given)) if given is not None else set()
            codes |= found
            if not found and id(call) not in handed_on and module not in FROM_A_TABLE:
                hidden.append(f"{module}:{call.lineno}")
    return codes, hidden


def _calls(tree: ast.AST) -> Iterator[ast.Call]:
    return (node for node in ast.walk(tree) if isinstance(node, ast.Call))


def _calls_that_hand_on(tree: ast.Module) -> Iterator[ast.Call]:
    """Calls inside a function that was itself given the code."""
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef) and "code" in [arg.arg for arg in node.args.args]:
            yield from _calls(node)


def _known_here(tree: ast.Module, takers: Mapping[str, dict[str, int]]) -> dict[str, int]:
    """Takers that a module imports, and `report`, the one method called from other modules."""
    found = dict(item for each in takers.values() for item in each.items() if item[0] == "report")
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom):
            theirs = takers.get(node.module or "", {})
            found.update(
                {item.name: theirs[item.name] for item in node.names if item.name in theirs}
            )
    return found


def read_trees() -> dict[str, ast.Module]:
    """Every module of the program, by dotted name."""
    return {
        ".".join(path.relative_to(ROOT).with_suffix("").parts): ast.parse(path.read_bytes())
        for top in SOURCES
        for path in sorted((ROOT / top).rglob("*.py"))
    }


def _find_takers(tree: ast.Module) -> dict[str, int]:
    """Functions that make problems and have an argument `code`, and its place in a call."""
    takers = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef) and _makes_problems(node):
            names = [arg.arg for arg in node.args.args]
            if "code" in names:
                takers[node.name] = names.index("code") - (names[0] == "self")
    return takers


def _makes_problems(node: ast.FunctionDef) -> bool:
    return any(_name_of(call.func) == "Problem" for call in _calls(node))


def _name_of(function: ast.expr) -> str:
    if isinstance(function, ast.Name):
        return function.id
    return function.attr if isinstance(function, ast.Attribute) else ""


def _given(call: ast.Call, place: int) -> ast.expr | None:
    for keyword in call.keywords:
        if keyword.arg == "code":
            return keyword.value
    return call.args[place] if place < len(call.args) else None


def _literals(given: ast.expr) -> Iterator[str]:
    if isinstance(given, ast.Constant) and isinstance(given.value, str):
        yield given.value
    elif isinstance(given, ast.IfExp):
        yield from _literals(given.body)
        yield from _literals(given.orelse)
