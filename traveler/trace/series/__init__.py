"""Readings of one check over many units: which of them count, in which order, against which limits."""
