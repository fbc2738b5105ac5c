"""Plan and entries in, state and findings out: pure functions."""
