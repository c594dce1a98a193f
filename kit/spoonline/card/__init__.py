"""The finished recipe card and its exports."""

from spoonline.card.card import RecipeCard, file_name
from spoonline.card.content import CardContent

__all__ = ["CardContent", "RecipeCard", "file_name"]
