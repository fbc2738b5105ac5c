"""Questions over the records: history, where used, cases, recalls, dossier, statistics, plots, exports."""
