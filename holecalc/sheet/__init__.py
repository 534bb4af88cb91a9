"""What leaves the workbook for the bench: the operator's sheet, the list and the drawing of a part.

The sheet is one page of HTML that holds all there is to a part, and prints. Its pieces are here by
themselves as well, for whoever shows them elsewhere.
"""

from holecalc.sheet.fetching import Fetched, to_fetch
from holecalc.sheet.files import FILES, SheetError, Written, csv_text, file_name, file_text, write
from holecalc.sheet.page import (
    CAUTIONS,
    Origin,
    corrections,
    fasteners,
    html_text,
    setup_tables,
    summary,
)
from holecalc.sheet.pictures import plan_views, sections

__all__ = [
    "CAUTIONS",
    "FILES",
    "Fetched",
    "Origin",
    "SheetError",
    "Written",
    "corrections",
    "csv_text",
    "fasteners",
    "file_name",
    "file_text",
    "html_text",
    "plan_views",
    "sections",
    "setup_tables",
    "summary",
    "to_fetch",
    "write",
]
