"""What was written down: record kinds, the SQLite file, its journal of change sets and its frames."""
