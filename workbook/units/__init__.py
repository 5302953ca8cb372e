"""The units on the learner's side: one room each, with what it draws, shows and practises.

A room that asks questions says so by its ``UNIT``; `workbook.cases` finds it there.
"""
