"""The demonstration: Marrowby Machine Works, an invented shop, and one week of its work."""
