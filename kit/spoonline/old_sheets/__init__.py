"""Reading somebody's old spreadsheet of trials."""

from spoonline.old_sheets.columns import Choices
from spoonline.old_sheets.sheet import Sheet, read_sheet
from spoonline.old_sheets.trials import OldRow, Understood, news, proposed_choices, to_records, understood

__all__ = [
    "Choices",
    "OldRow",
    "Sheet",
    "Understood",
    "news",
    "proposed_choices",
    "read_sheet",
    "to_records",
    "understood",
]
