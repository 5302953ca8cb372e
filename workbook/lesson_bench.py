"""What the page of the lesson on the bench imports; pages that learners have name it."""

from workbook.units.bench.lesson import open_page

__all__ = ["open_page"]
