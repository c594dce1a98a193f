"""Reading somebody's old spreadsheet of trials."""

from spoonline.old_sheets.columns import Choices, proposed_choices
from spoonline.old_sheets.sheet import Sheet, read_sheet
from spoonline.old_sheets.trials import Understood, news, to_records, understood
