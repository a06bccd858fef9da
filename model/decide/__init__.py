"""Decisions: which plan to follow, compared on the same sequences."""
