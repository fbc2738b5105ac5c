"""Quantities, limits, decisions, geometry: exact and without input or output."""
