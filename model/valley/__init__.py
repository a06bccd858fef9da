"""The valley: the dam, the order in which it serves, and general-security accounts."""
