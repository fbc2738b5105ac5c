"""The checks of a verdict: each takes a case and gives findings."""
