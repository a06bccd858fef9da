"""Checks that take minutes: run by name, by hand, before a release."""
