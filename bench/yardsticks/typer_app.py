"""Y: the least a Typer program with a Rich table can do: two commands, twenty fixed rows."""

from __future__ import annotations

from typing import Annotated

import typer

app = typer.Typer()


@app.command()
def due(name: Annotated[str | None, typer.Argument(help="One aircraft, or all.")] = None) -> None:
    """Draw twenty fixed rows as for a terminal."""
    from rich.console import Console
    from rich.table import Table

    table = Table("aircraft", "task", "state", "left")
    for number in range(20):
        table.add_row(f"aircraft-{number}", "free play", "due", f"{number} flights")
    Console(force_terminal=True, width=100).print(table)


@app.command()
def fly(name: str, count: Annotated[int, typer.Option(help="How many.")] = 1) -> None:
    """Say one line."""
    typer.echo(f"{count} flights of {name}")


if __name__ == "__main__":
    app()
