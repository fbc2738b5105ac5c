"""Travelers, calibration records, release and trace for a small machine maker."""
