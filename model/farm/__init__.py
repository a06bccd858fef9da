"""The farm: its crops, its water and its money."""
