"""Tablet pages: a thin shell over the jobs."""
