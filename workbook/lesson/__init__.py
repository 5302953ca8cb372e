"""What every lesson is made of, and what a page calls: predictions, explanations, practice."""

from workbook.lesson.page import open_page

__all__ = ["open_page"]
