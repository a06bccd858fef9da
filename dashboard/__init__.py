"""The dashboard: pages that show what the model computes."""
