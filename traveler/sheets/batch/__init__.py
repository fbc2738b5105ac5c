"""Printing sheets of many units: what they share is rendered once and stamped."""
