"""Many farms: the plans of a folder, each played on the valley it shares with others."""
