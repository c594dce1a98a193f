"""Cooked batches, their readings and the dose curve."""
