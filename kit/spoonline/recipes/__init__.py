"""A recipe and its versions."""
