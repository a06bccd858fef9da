"""Would a test notice if the code were wrong? Small errors are put in, one at a time."""
