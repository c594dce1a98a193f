"""The finished recipe card: one content, five faces, a gate before it is handed over."""

from spoonline.card.card import RecipeCard, booklet, export, file_name
from spoonline.card.content import CardContent, Photo, Point, data_uri
from spoonline.card.decision import Decision, decide
from spoonline.card.editor import Remark, read_through
from spoonline.card.house_style import load_style, style_from, style_text
from spoonline.card.pdf import PAPERS
from spoonline.card.records import CardNote, SignOff
from spoonline.card.render import FACES
