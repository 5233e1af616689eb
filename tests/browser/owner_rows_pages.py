"""The owner's view of every table, by Django's admin site: one of each of its pages."""

from tests.browser.shown import Shown

PAGES = [
    Shown("rows-tables", "owner", "/owner/rows/"),
    Shown("rows-room", "owner", "/owner/rows/register/"),
    Shown("rows-trail", "owner", "/owner/rows/trail/change/"),
    Shown("rows-list", "owner", "/owner/rows/register/unit/"),
    Shown("rows-row", "owner", "/owner/rows/register/unit/{units.first}/change/"),
    Shown("rows-history", "owner", "/owner/rows/register/unit/{units.first}/history/"),
    Shown("rows-refused", "owner", "/owner/rows/register/unit/add/", status=403),
]
