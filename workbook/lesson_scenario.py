"""What the page of lesson 7 imports; pages that learners have name it."""

from workbook.units.scenario.lesson import open_page

__all__ = ["open_page"]
