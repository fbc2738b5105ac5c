"""Plots of readings for a black-and-white printer."""
