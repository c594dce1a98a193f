"""Reference figures, each with its source."""
