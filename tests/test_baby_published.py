"""The baby beside published courses: every row with its error, misses kept, nothing tuned on it."""

from __future__ import annotations

import re

import pytest

from workbook.physics.baby import published
from workbook.physics.baby.published import baby_markdown, baby_rows
from workbook.rules import Basis
from workbook.rules.files import file

pytestmark = pytest.mark.slow

ROWS = {row.id: row for row in baby_rows()}

# (row, what the publication says, in the row's unit; where): typed a second time, from the
# publications' abstracts and not from the table.
SAID = [
    ("sat-1", 66, "Pediatrics 2010;125:e1340: 66, 73, 89 % at 1, 2, 5 min"),
    ("sat-2", 73, "the same"),
    ("sat-5", 89, "the same"),
    ("sat-90", 7.9, "the same: a median of 7.9 min to more than 90 %"),
    ("tenth-1", 39, "the same: 10th percentile"),
    ("ninetieth-1", 87, "the same: 90th percentile"),
    ("tenth-5", 73, "the same: 10th percentile"),
    ("ninetieth-5", 97, "the same: 90th percentile"),
    ("rise-begins", 20, "Acta Paediatr 2023;112:697: low for 20 s of PPV"),
    ("rise-takes", 25, "the same: rising over the next 20 to 30 s"),
    ("first-heart", 112, "the same: 112 (84, 149), 19 s after birth"),
    ("leads-40", 149, "Neonatology 2016;110:231: 149 (SD 33) at 40 s"),
    ("slow-2", 32, "percentiles of 207 babies: 32, 52, 83 % at 2, 5, 10 min"),
    ("slow-5", 52, "the same"),
    ("slow-10", 83, "the same"),
    ("clamped-30", 169, "J Perinatol 2023;43:709: early clamping, 169 and 184 a minute"),
    ("clamped-180", 184, "the same"),
    ("from-35-5", 87, "J Pediatr 2006;148:590: 87 % (80 to 95) at 5 min"),
    ("from-35-90", 8, "the same: the median did not reach 90 % until 8 min"),
    ("term-1", 70, "Int J Contemp Pediatr: vaginal birth 70 % (66 to 73) and 89 % (85 to 91)"),
    ("term-5", 89, "the same"),
    ("late-2", 77, "J Perinatol 2010;30:399: 77, 84, 88, 90, 95 % at 2 to 6 min"),
    ("late-4", 88, "the same"),
    ("late-6", 95, "the same"),
    ("ventilated-100", 73, "Arch Dis Child Fetal Neonatal Ed: 73 (24-165) s of PPV"),
    ("ventilated-120", 243, "the same: 243 (191-351) s"),
    ("sensor", 118, "PMC8700180: put on at 152 s, first value at 270 s"),
    ("leads", 33, "the same: put on at 138 s, first value at 171 s"),
]
# What the model gives: rounded, so that a change of the model is seen. Rows that miss are marked.
GIVES = [
    ("sat-2", 73.1), ("sat-10", 94.9), ("air-5", 54.0), ("pure-2", 83.3), ("shown-1", 95),
    ("below-35-10", 90.2), ("below-35-15", 93.7), ("peep-heart", 2),
]  # fmt: skip
MISSES = {
    "deep-begins", "tenth-1", "ninetieth-1", "tenth-5", "carbon", "apnoea-heart",
    "slow-2", "slow-10", "sensor", "leads", "clamped-30", "clamped-180", "from-35-90",
    "ventilated-120",
}  # fmt: skip


@pytest.mark.parametrize(("id", "said", "_where"), SAID, ids=[row[0] for row in SAID])
def test_a_row_says_what_the_publication_says(id, said, _where):
    """The number in the table is the one typed here from the abstract."""
    assert ROWS[id].published == said


@pytest.mark.parametrize(("id", "gives"), GIVES)
def test_the_model_gives_what_it_gave(id, gives):
    """Within a step of the model's own accuracy."""
    assert ROWS[id].model == pytest.approx(gives, abs=1.0)


def test_rows_that_miss_stay_in_the_table_and_are_these():
    """A miss that goes or comes is looked at; none is left out."""
    assert {row.id for row in ROWS.values() if not row.agrees} == MISSES
    assert len(ROWS) == len(baby_rows()) > 40
    for row in ROWS.values():
        assert row.low <= row.published <= row.high
        assert row.note
        assert row.source


def test_fitted_rows_are_fitted_and_predicted_ones_are_told_apart():
    """A fitted row agrees, or it was not fitted; a predicted publication is met in no other row."""
    by = {
        s: [r for r in ROWS.values() if r.standing == s]
        for s in ("fitted", "in sight", "predicted")
    }
    assert all(row.agrees for row in by["fitted"])
    assert [len(rows) for rows in by.values()] == [9, 24, 11]
    predicted = {row.source for row in by["predicted"]}
    assert not predicted & {row.source for row in (*by["fitted"], *by["in sight"])}


def test_no_constant_was_taken_from_a_publication_called_predicted():
    """Nothing in the constants names one; what was fitted names a publication of a fitted row."""
    predicted = {row.source for row in ROWS.values() if row.standing == "predicted"}
    names = {re.split(r"[ ,]", source)[0] for source in predicted}
    fitted = {row.source.split(",")[0].lower().replace(" ", "-") for row in ROWS.values()
              if row.standing == "fitted"}  # fmt: skip
    for rule in file("baby"):
        told = f"{rule.citation.source} {rule.citation.locator}"
        assert not any(name in told for name in names), rule.id
        if "fitted" in rule.citation.locator:
            assert rule.citation.basis is Basis.COMPUTED
            assert rule.citation.source.key in fitted, rule.id


def test_the_guide_for_contributors_shows_the_same_table(request):
    """DEVELOPERS.md cannot drift from the model: print baby_markdown() to renew it."""
    guide = (request.config.rootpath / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert baby_markdown() in guide
    assert baby_markdown().count("**misses**") == len(MISSES)


def test_the_module_says_how_a_row_stands():
    """Whoever adds a row reads what each standing means."""
    assert "was fitted shows nothing" in (published.__doc__ or "")
