"""Sheets for paper and screen: plan or verdict to pages to PDF."""
