"""The forms and panels that the notebooks show."""
