"""Properties of any protocol: laying it over an edition, and writing and reading it."""

from __future__ import annotations

from dataclasses import fields, replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from workbook.core.quantities import convert
from workbook.rules import Basis, RuleBook, rulebook
from workbook.rules.rule import Citation
from workbook.rules.site.protocol import EXAMPLE, Protocol, overlay
from workbook.rules.site.protocolfile import read_protocol
from workbook.rules.site.replaceable import locked, sane_limit

pytestmark = pytest.mark.slow

REPLACEABLE = [r for r in rulebook("aha-2020") if r.unit is not None and not locked(r)]


@st.composite
def protocols(draw):
    """Draw a protocol that sets some rules of the edition to sane values."""
    site = read_protocol(EXAMPLE).source
    made = []
    for rule in draw(st.lists(st.sampled_from(REPLACEABLE), unique=True, max_size=8)):
        limit = sane_limit(rule)
        low, high = (convert(end, limit.unit, rule.unit) for end in limit.band)
        value = draw(st.floats(low, high).filter(lambda x, r=rule, m=limit: _inside(x, r, m)))
        citation = Citation(site, Basis.PRACTICE, draw(st.sampled_from(["", "page 3", 'a "b" \\'])))
        says = rule.says if rule.stated else "The site's own sentence."
        low_end = None if rule.low is None and rule.stated else value
        high_end = None if rule.high is None and rule.stated else value
        one = value if None in (low_end, high_end) and rule.typical is not None else None
        made.append(
            replace(
                rule, says=says.removesuffix(" Unverified."), low=low_end, high=high_end,
                typical=one, citation=citation, replaces=rule, blank=False,
            )
        )  # fmt: skip
    example = read_protocol(EXAMPLE)
    return Protocol(example.title, "aha-2020", site, example.review_by, tuple(made))


def _inside(value, rule, limit):
    return limit.holds(convert(value, rule.unit, limit.unit))


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(protocols())
def test_an_overlay_is_idempotent_and_touches_no_other_rule(protocol):
    """Twice is once; what is not named stays the same object; order and count stay."""
    book = rulebook("aha-2020")
    once = overlay(book, protocol)
    twice = overlay(once, protocol)
    assert all(getattr(twice, f.name) == getattr(once, f.name) for f in fields(RuleBook))
    named = {(rule.id, rule.population) for rule in protocol.rules}
    for before, after in zip(book.rules, once.rules, strict=True):
        if (before.id, before.population) in named:
            assert after.replaces is before
            assert (after.id, after.unit, after.population) == (
                before.id, before.unit, before.population
            )  # fmt: skip
        else:
            assert after is before


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(protocols())
def test_a_protocol_written_and_read_is_the_same(tmp_path, protocol):
    """Nothing is lost or changed by the file."""
    path = tmp_path / "protocol.toml"
    path.write_text(protocol.text(), encoding="utf-8")
    assert read_protocol(path) == protocol
