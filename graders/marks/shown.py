"""How a unit says which beliefs its drawn questions show, each as often as there are answers."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from workbook.cases import Question
from workbook.rules import RuleBook

Beliefs = list[str]  # a belief as often as there are answers that show it
Numbers = Mapping[str, float]  # belief -> the number that is typed by it
Shown = Mapping[str, Callable[[Question, RuleBook], Beliefs]]  # by question: what a drawn one shows
Spoken = Mapping[str, Callable[[], Iterable[str]]]  # and what it can show, whatever is drawn
