"""A property worked out once: by whom, how often, and that it keeps its words."""

from __future__ import annotations

from dataclasses import dataclass, field

from workbook.core.once import once


@dataclass(frozen=True)
class Counted:
    """Counts how often it was asked."""

    asked: list[str] = field(default_factory=list)

    @once
    def twice(self) -> int:
        """Return how often it was worked out, twice."""
        self.asked.append("twice")
        return 2 * len(self.asked)


def test_it_is_worked_out_once_for_each_object() -> None:
    """Of a frozen one, too; another object works out its own."""
    one, other = Counted(), Counted()
    assert [one.twice, one.twice, one.twice] == [2, 2, 2]
    assert one.asked == ["twice"]
    assert other.twice == 2
    assert one == other


def test_the_class_shows_what_it_says() -> None:
    """A reader of the class finds its docstring."""
    assert isinstance(Counted.twice, once)
    assert Counted.twice.__doc__ == "Return how often it was worked out, twice."
