"""Questions over the store: history, where-used, statistics."""
