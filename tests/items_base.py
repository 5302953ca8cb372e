"""Two published data sets of questions, and what the figures of a table of scores need."""

from __future__ import annotations

import numpy as np

from graders.items.quality import ScoreStatistics, statistics
from workbook.rules import rulebook

BOOK = rulebook("aha-2020")
SURE = BOOK["item.confidence"].value / 100

# Bock and Lieberman 1970, Psychometrika 35:179-197: five questions, 1,000 people, all patterns.
FIVE = (
    "00000 3, 00001 6, 00010 2, 00011 11, 00100 1, 00101 1, 00110 3, 00111 4, 01000 1, 01001 8, "
    "01011 16, 01101 3, 01110 2, 01111 15, 10000 10, 10001 29, 10010 14, 10011 81, 10100 3, "
    "10101 28, 10110 15, 10111 80, 11000 16, 11001 56, 11010 21, 11011 173, 11100 11, 11101 61, "
    "11110 28, 11111 298"
)
# Knott 1990, The Statistician 40:217: four 0/1 questions of a survey, 379 people.
FOUR = (
    "0000 103, 0001 13, 0010 10, 0011 21, 0100 9, 0101 6, 0110 7, 0111 44, 1000 1, 1011 6, "
    "1100 3, 1101 3, 1110 12, 1111 141"
)


def patterns(text: str) -> np.ndarray:
    pairs = (pair.split() for pair in text.split(", "))
    rows = [[float(c) for c in answers] for answers, n in pairs for _ in range(int(n))]
    return np.array(rows)


def made(scores: object, maxima: list[float] | None = None) -> ScoreStatistics:
    array = np.array(scores, dtype=float)
    ids = [str(k + 1) for k in range(array.shape[1])]
    return statistics(array, ids, SURE, maxima)


FIVE_MADE, FOUR_MADE = made(patterns(FIVE)), made(patterns(FOUR))
