"""The dossier: everything about one unit."""
