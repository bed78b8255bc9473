"""The list of snags, as `snag` without words shows it."""

from __future__ import annotations

from cli.render.fleet import render_snags

__all__ = ["render_snags"]
