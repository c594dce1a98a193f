"""Cooling, keeping and reheating."""
