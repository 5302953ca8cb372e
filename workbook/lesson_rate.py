"""What the page of the lesson on counting imports; pages that learners have name it."""

from workbook.units.rate.lesson import open_page

__all__ = ["open_page"]
