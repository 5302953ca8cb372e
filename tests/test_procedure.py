"""Procedures: a partial order, held against networkx."""

from __future__ import annotations

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbook.rules import ordered, read_procedures

SET_UP = read_procedures()["set-up"]
GRAPH = nx.DiGraph((need.before, need.step) for need in SET_UP.needs)
GRAPH.add_nodes_from(SET_UP.ids)


def test_the_set_up_has_about_fourteen_steps_each_with_reason_and_source():
    """Every step says what, why, and where that comes from."""
    assert 13 <= len(SET_UP) <= 15
    for step in SET_UP:
        assert step.says
        assert step.reason
        assert str(step.citation)


def test_the_taught_order_is_a_topological_order():
    """The order of the file is one networkx would allow."""
    assert nx.is_directed_acyclic_graph(GRAPH)
    place = {step: n for n, step in enumerate(SET_UP.ids)}
    assert all(place[a] < place[b] for a, b in GRAPH.edges)
    assert SET_UP.broken(SET_UP.ids) == ()


def test_what_must_come_later_agrees_with_networkx():
    """Descendants in the graph are the steps that must follow."""
    for step in SET_UP.ids:
        assert SET_UP.after(step) == nx.descendants(GRAPH, step)


@given(st.permutations(SET_UP.ids))
def test_any_order_breaks_exactly_the_edges_networkx_sees_reversed(order):
    """Broken prerequisites are the graph's backward edges, for any order at all."""
    place = {step: n for n, step in enumerate(order)}
    backward = {(a, b) for a, b in GRAPH.edges if place[a] > place[b]}
    assert {(n.before, n.step) for n in SET_UP.broken(order)} == backward


@given(st.permutations(SET_UP.ids))
def test_following_a_preference_gives_a_legal_order(preference):
    """``ordered`` keeps every prerequisite, and so breaks none."""
    order = ordered(SET_UP, preference)
    assert sorted(order) == sorted(SET_UP.ids)
    assert SET_UP.broken(order) == ()


def test_an_unknown_step_is_named_with_the_known_ones():
    """Asking for a step that does not exist says which exist."""
    with pytest.raises(KeyError, match="not a step of set-up"):
        SET_UP["polish"]


def test_what_could_harm_in_a_set_up_is_what_was_meant():
    """Typed a second time: nothing may stand the other way round here, or a baby meets it."""
    assert {(n.before, n.step) for n in SET_UP.needs if n.critical} == {
        ("set-flow", "set-relief"), ("set-flow", "set-pip"), ("set-flow", "set-peep"),
        ("set-relief", "set-pip"), ("set-pip", "set-peep"), ("set-flow", "attach-baby"),
        ("set-relief", "attach-baby"), ("set-pip", "attach-baby"), ("set-peep", "attach-baby"),
        ("recheck", "attach-baby"), ("ready-bag", "attach-baby"),
    }  # fmt: skip


def test_the_back_up_bag_is_a_guideline_item():
    """The self-inflating bag at hand comes from the 2023 focused update, not from habit."""
    assert SET_UP["ready-bag"].citation.source.key == "aha-2023"
    assert any(n.critical for n in SET_UP.needs if n.before == "ready-bag")
