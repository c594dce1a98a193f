"""A fluid, and the kitchen tests that read it."""
