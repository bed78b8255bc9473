"""Checks: one named rule each, from a ledger to problems. No rule raises or changes anything."""

from __future__ import annotations

from register.checks.rules import CHECKS, check_ledger

__all__ = ["CHECKS", "check_ledger"]
