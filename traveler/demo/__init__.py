"""The demonstration: Marrowby Machine Works, an invented shop, and a day of its work."""
