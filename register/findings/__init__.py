"""Findings: snags with their decisions, conditions of parts, papers, empty positions."""
