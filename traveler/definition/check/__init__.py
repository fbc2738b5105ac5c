"""The checks of a definition beyond its shape; load.py lists them in order."""
