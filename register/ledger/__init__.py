"""The ledger: all records settled and ordered, and every counter computed from them.

Nothing is ever counted inside a file; whatever is asked is derived here.
"""
