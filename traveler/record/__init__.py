"""Entries, their chain, the store that keeps them, and the readers of filled sheets and files."""
