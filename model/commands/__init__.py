"""The command line: one file a command, each with its options and what it prints."""
