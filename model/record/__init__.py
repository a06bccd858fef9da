"""What was observed, month by month: read, checked and described."""
