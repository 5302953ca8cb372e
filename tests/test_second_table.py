"""Every number a learner can meet stands twice: in its rule, and in a table typed apart from it."""

from __future__ import annotations

import copy
from collections.abc import Iterator, Mapping
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from tests import second_marks as marks
from tests.second_table import FOLDER, differences, number, rule_files, second
from workbook.physics import coefficients

FILES = rule_files()
RULES = sorted(name for name, tables in FILES.items() if {"rule", "replace"} & set(tables))
KEYS = {
    unit: marks.read(marks.GRADERS / "units" / f"{unit}.toml")
    for unit in ("faults/key", "scenario/key", "setup/bench")
}
KINDS = {"faults/key": "part", "scenario/key": "criterion", "setup/bench": "part"}
TYPED = {"procedures", "sources"}  # files of the data that are no rules


@pytest.mark.parametrize("file", RULES)
def test_every_number_of_a_rule_file_is_held_by_a_second_table(file: str) -> None:
    """None is missing on either side; number, basis, babies and sentence are the same."""
    assert differences(file, FILES[file]) == []


def test_no_rule_file_and_no_row_is_left_out() -> None:
    """Every file of the data is one of those compared here, and every row is of one of them."""
    assert set(FILES) == {*RULES, *TYPED}
    assert {file for file, _, _ in second()} == set(RULES)


def test_needs_of_a_procedure_and_what_is_critical_of_them_stand_twice() -> None:
    """Which step needs which, and whose breach could harm."""
    assert marks.needs_differ(FILES["procedures"]) == []


def test_hazards_of_the_watch_and_their_rules_stand_twice() -> None:
    """Each hazard asks the rule typed here, and a run without any is worth so much."""
    assert marks.watch_differs(marks.read(marks.WATCH)) == []


@pytest.mark.parametrize("unit", KEYS)
def test_what_is_critical_of_a_slip_and_what_a_part_is_worth_stand_twice(unit: str) -> None:
    """A slip harms, keeps half or neither, as typed; so do the points of its part."""
    assert marks.slips_differ(unit, KEYS[unit]) == []
    assert marks.points_differ(unit, KINDS[unit], KEYS[unit]) == []


def test_choices_that_could_harm_a_baby_stand_twice() -> None:
    """Each choice of sizes, chest, heart and set-up that is critical, and where it is."""
    assert marks.choices_differ(marks.harmful()) == []


def test_years_of_sources_and_editions_stand_twice() -> None:
    """The year, what is printed on it, and the day an edition came out."""
    assert marks.sources_differ(FILES) == []
    assert marks.published_differ(FILES) == []


def test_coefficients_of_the_model_stand_twice() -> None:
    """Valves, tubes, lungs, cylinder and faults, with their basis."""
    assert marks.coefficients_differ() == []


# --- that a change is noticed

Place = tuple[Any, ...]


def places(table: Any, at: Place = ()) -> Iterator[Place]:
    """Yield where every number and every flag of nested tables stands."""
    if isinstance(table, bool | int | float):
        yield at
    elif isinstance(table, Mapping | list):
        for key, inner in table.items() if isinstance(table, Mapping) else enumerate(table):
            yield from places(inner, (*at, key))


def changed(table: dict[str, Any], at: Place) -> dict[str, Any]:
    """Return tables with the number or flag at a place turned into another."""
    made = copy.deepcopy(table)
    inner = made
    for key in at[:-1]:
        inner = inner[key]
    was = inner[at[-1]]
    inner[at[-1]] = not was if isinstance(was, bool) else was + 1
    return made


def unnoticed(file: str, differ: Any) -> list[Place]:
    """Return each number of a file that can be changed alone without a difference."""
    table = FILES[file]
    found = list(places(table))
    assert found
    return [at for at in found if not differ(changed(table, at))]


@pytest.mark.parametrize("file", RULES)
def test_no_number_of_a_rule_file_changes_unnoticed(file: str) -> None:
    """Each number and flag in turn is turned into another, and a difference is found."""

    def differ(tables: dict[str, Any]) -> list[str]:
        return differences(file, tables) + marks.sources_differ({**FILES, file: tables})

    assert unnoticed(file, differ) == []


def test_no_critical_need_and_no_year_changes_unnoticed() -> None:
    """A need made critical, or no longer so, and a year that is another, are found."""
    assert unnoticed("procedures", marks.needs_differ) == []
    assert (
        unnoticed("sources", lambda tables: marks.sources_differ({**FILES, "sources": tables}))
        == []
    )


def test_a_rule_or_a_need_that_nobody_typed_is_noticed() -> None:
    """What exists in the data alone differs, and so does what is gone from it."""
    more = copy.deepcopy(FILES["gas"])
    more["rule"].append({**more["rule"][0], "id": "cylinder.new"})
    assert differences("gas", more) == ["gas cylinder.new all: in the data alone"]
    fewer = copy.deepcopy(FILES["gas"])
    del fewer["rule"][0]
    assert differences("gas", fewer) == ["gas cylinder.D all: in the second table alone"]


def test_a_basis_a_group_of_babies_and_a_sentence_are_held_too() -> None:
    """A basis that is raised, other weeks and another figure in the words are differences."""
    rules = FILES["erc-2021"]["rule"]
    place = next(n for n, rule in enumerate(rules) if rule.get("population"))
    for key, other in (
        ("basis", "computed"),
        ("confidence", "high"),
        ("unit", "hPa"),
        ("says", "At 99 weeks."),
        ("population", {"says": "below 28 weeks", "gestation_below": 28}),
    ):
        made = copy.deepcopy(FILES["erc-2021"])
        made["rule"][place][key] = other
        assert differences("erc-2021", made)


def test_a_coefficient_that_was_changed_is_noticed() -> None:
    """Each in turn, a little larger."""
    for name, value in vars(coefficients).items():
        one = value[-1] if isinstance(value, tuple) else value
        if isinstance(one, coefficients.Coefficient):
            other = replace(one, value=one.value * 1.01)
            made = (*value[:-1], other) if isinstance(value, tuple) else other
            module = SimpleNamespace(**{**vars(coefficients), name: made})
            assert [line.split(":")[0] for line in marks.coefficients_differ(module)] == [name]


def test_a_slip_no_longer_critical_is_noticed() -> None:
    """Each flag of a marker's slips in turn."""
    for unit, key in KEYS.items():
        for at in places(key["slip"]):
            assert marks.slips_differ(unit, changed(key, ("slip", *at)))


def test_a_choice_no_longer_critical_is_noticed() -> None:
    """Each situation taken away in turn, and one more."""
    for block, choices in marks.harmful().items():
        for key, situations in choices.items():
            for other in (
                [*situations, "more"],
                *([s for s in situations if s != one] for one in situations),
            ):
                made = {**marks.harmful(), block: {**choices, key: other}}
                assert marks.choices_differ(made)


@pytest.mark.parametrize(
    ("cell", "numbers"),
    [
        ("-", {}),
        ("30", {"value": 30}),
        ("20 to 25", {"low": 20, "high": 25}),
        ("28 to 29, 28", {"low": 28, "high": 29, "typical": 28}),
        ("from 34", {"low": 34, "typical": 34}),
        ("up to 1", {"high": 1, "typical": 1}),
        ("below 98, 98", {"below": 98, "typical": 98}),
    ],
)
def test_a_cell_is_read_as_it_is_written(cell: str, numbers: dict[str, float]) -> None:
    """Each way to write a number."""
    assert number(cell) == numbers


def test_tables_stay_short_enough_to_read() -> None:
    """A table of more than three hundred lines is parted."""
    assert all(len(path.read_text("utf-8").splitlines()) < 300 for path in FOLDER.iterdir())
