"""Matplotlib figures, each with a text description."""
