"""Advice on adjusting: what to turn, how far and which way, until a check is within limits."""
