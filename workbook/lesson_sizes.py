"""What the page of the lesson on mask and tube imports; pages that learners have name it."""

from workbook.units.sizing.lesson import open_page

__all__ = ["open_page"]
