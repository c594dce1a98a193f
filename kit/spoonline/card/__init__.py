"""The finished recipe card and its exports."""
