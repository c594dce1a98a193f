"""Two changes at once: plans of pots, their reading, surfaces."""
