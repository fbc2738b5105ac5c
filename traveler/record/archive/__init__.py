"""Records outside the store: backups and bags."""
