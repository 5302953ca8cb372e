"""The workbook as a static site: lessons and exercises that run wholly in a browser."""
