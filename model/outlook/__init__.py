"""The odds of water in each of the next seasons, and what the rules gave before."""
