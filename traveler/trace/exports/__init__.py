"""The records as plain tables for people's own tools: documented columns, exact numbers as text."""
