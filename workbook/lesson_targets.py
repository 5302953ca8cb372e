"""What the page of the lesson on pressures imports; pages that learners have name it."""

from workbook.units.targets.lesson import open_page

__all__ = ["open_page"]
