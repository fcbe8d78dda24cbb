"""The frozen diagnosis benchmark: data that do not change, entries, and their scores."""
