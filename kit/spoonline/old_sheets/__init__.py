"""Reading somebody's old spreadsheet of trials."""

from spoonline.old_sheets.columns import Choices
from spoonline.old_sheets.sheet import Sheet, read_sheet
from spoonline.old_sheets.trials import Understood, proposed_choices, to_records, understood

__all__ = ["Choices", "Sheet", "Understood", "proposed_choices", "read_sheet", "to_records", "understood"]
