"""Sequences: possible runs of seasons, drawn from the record; one file per method."""
