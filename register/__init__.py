"""The register: records in a folder, and what can be computed from them.

Nothing in this package knows a terminal. Rooms import only leftwards:
storage, git, text, records, ledger, tasks, findings, standing, checks,
views, entry, desk.
"""
