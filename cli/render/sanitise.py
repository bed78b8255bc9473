"""Every text from a record passes here before a screen: no control ever reaches a terminal."""

from __future__ import annotations

from register.text.unseen import clean_text

__all__ = ["clean_text"]
