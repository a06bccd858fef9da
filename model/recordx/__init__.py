"""What was observed."""
