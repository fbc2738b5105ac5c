"""Files with results, read into drafts of entries."""
