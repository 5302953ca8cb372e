"""What the page of the lesson on fault finding imports; pages that learners have name it."""

from workbook.units.faults.lesson import open_page

__all__ = ["open_page"]
