"""The finished recipe card and its exports."""

from spoonline.card.card import RecipeCard, file_name
from spoonline.card.content import CardContent
from spoonline.card.decision import Decision, decide

__all__ = ["CardContent", "Decision", "RecipeCard", "decide", "file_name"]
