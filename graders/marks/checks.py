"""Reusable checks: each takes what was answered and returns findings."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from graders.marks.verdict import Finding
from workbook.core.language import _, number
from workbook.core.quantities import MEASURES, UnitError, convert, plain, typed_number
from workbook.rules import Need, Procedure, Rule

LARGEST_NUMBER = 1e6  # what a gauge could never show; larger text is a slip of the keyboard


def unanswered(criterion: str, possible: float, *, critical: bool = False) -> tuple[Finding, ...]:
    """Return the finding for a question nobody answered."""
    says = _("Not answered yet. Open the exercise, answer this question, and hand in again.")
    return (Finding(criterion, False, says, 0.0, possible, critical),)


def unreadable(
    criterion: str, possible: float, says: str, *, critical: bool = False
) -> tuple[Finding, ...]:
    """Return the finding for an answer that does not have the shape of one."""
    says = _("This answer could not be read: {why}").format(why=says)
    return (Finding(criterion, False, says, 0.0, possible, critical),)


def no_such_choice(
    criterion: str, possible: float, *, critical: bool = False
) -> tuple[Finding, ...]:
    """Return the finding for a choice that is not one of those that were given."""
    says = _("it is not one of the choices this learner was given. Choose again and hand in.")
    return unreadable(criterion, possible, says, critical=critical)


def is_order_of(value: Any, ids: Iterable[str]) -> bool:
    """Say whether a value is a list with each id exactly once."""
    if not isinstance(value, list) or not all(isinstance(v, str) for v in value):
        return False
    return sorted(value) == sorted(ids)


def in_order(
    order: Sequence[str],
    procedure: Procedure,
    possible: float,
    named: Mapping[str, str],
    unless: Mapping[str, str],
) -> tuple[Finding, ...]:
    """Return the findings on an order: credit for prerequisites kept, and each one broken.

    About half of all prerequisites are kept by chance, so credit starts there. ``named`` maps a
    prerequisite written ``before>step`` to the misconception its breach shows, ``unless`` a
    prerequisite to a graver one whose breach already explains it.
    """
    broken = procedure.broken(order)
    marks = {f"{need.before}>{need.step}" for need in broken}
    named = {mark: name for mark, name in named.items() if unless.get(mark) not in marks}
    total = len(procedure.needs)
    share = max(0.0, 1 - 2 * len(broken) / total)
    if not broken:
        says = _(
            "In all {total} pairs the step that must come first does come first. "
            "This order is safe."
        ).format(total=total)
        return (Finding("order", True, says, possible, possible),)
    kept = total - len(broken)
    says = _("In {kept} of {total} pairs the step that must come first does come first.").format(
        kept=kept, total=total
    )
    first = Finding("order", False, says, round(possible * share, 2), possible)
    return (first, *(_breach(need, procedure, named) for need in broken))


def _breach(need: Need, procedure: Procedure, named: Mapping[str, str]) -> Finding:
    before, step = procedure[need.before], procedure[need.step]
    says = _("“{first}” must come before “{then}”: {why}.").format(
        first=_(before.says).rstrip("."), then=_(step.says).rstrip("."), why=_(need.why)
    )
    key = f"{need.before}>{need.step}"
    return Finding(
        key, False, says, 0.0, 0.0, need.critical, step.id, str(step.citation), named.get(key, "")
    )


def number_in(value: Any, unit: str) -> float:
    """Return a typed number with its unit as a float in ``unit``.

    Raises ValueError with one sentence for text that is no number, and UnitError for a unit that
    measures something else.
    """
    if not isinstance(value, Mapping) or not isinstance(value.get("text"), str):
        raise ValueError(_("it is not a number with a unit."))
    text, given = value["text"].strip(), value.get("unit")
    try:
        number = typed_number(text)
    except ValueError:
        shown = text if len(text) <= 20 else text[:20] + "…"
        raise ValueError(_("{text} is not a number.").format(text=repr(shown))) from None
    if not abs(number) <= LARGEST_NUMBER:
        says = _("{text} is not a pressure a gauge can show.")
        raise ValueError(says.format(text=repr(text[:20])))
    if not isinstance(given, str) or given not in MEASURES:
        says = _("{unit} is not a unit the workbook knows.")
        raise UnitError(says.format(unit=repr(str(given)[:20])))
    return convert(number, given, unit)


def reading(
    criterion: str,
    value: Any,
    right: float,
    accept: float,
    possible: float,
    *,
    explains: str,
    rule: Rule,
    slips: Mapping[str, float],
    unit: str = "cmH2O",
    by_eye: float = 0.0,
    rounded: float = 0.0,
) -> tuple[Finding, ...]:
    """Return the finding on a gauge reading: right within ``accept``, or which slip it shows.

    ``slips`` maps a misconception to the reading that a learner who holds it gives. An eye
    may be off by ``by_eye`` more. What rounding moves in another unit is allowed for up to
    ``rounded``, unless the reading lies nearer to a slip.
    """
    try:
        got = number_in(value, unit)
    except ValueError as error:
        return unreadable(criterion, possible, str(error))
    shown = plain(got, unit)
    nearest = all(abs(got - right) < abs(got - at) for at in slips.values())
    spare = min(rounded, half_a_place(value, unit)) if nearest else 0.0
    if abs(got - right) <= accept + by_eye + spare + 1e-9:
        says = _("{got} is right: {why}").format(got=shown, why=explains)
        return (Finding(criterion, True, says, possible, possible, rule=rule.id),)
    says = _("{got} is not what the gauge shows: {why}").format(got=shown, why=explains)
    sure = {name: at for name, at in slips.items() if 2 * abs(got - at) < abs(got - right)}
    slip = _slip(got, accept, sure)  # halfway to it, an eye far off explains it as well
    if (unit_slip := _wrong_unit(value, right, accept, unit)) is not None:
        says = _("The number would be right in {unit}, not in {given}: {why}")
        says, slip = says.format(unit=unit, given=unit_slip, why=explains), ""
    return (Finding(criterion, False, says, 0.0, possible, False, rule.id, source_of(rule), slip),)


def half_a_place(value: Mapping[str, Any], unit: str) -> float:
    """Return how far rounding to the last place typed may move a number, in ``unit``.

    Nothing in the unit itself: there nothing had to be converted.
    """
    if value["unit"] == unit:
        return 0.0
    _whole, _point, digits = value["text"].strip().replace(",", ".").partition(".")
    return convert(0.5 * 10.0 ** -len(digits), value["unit"], unit)


def span(low: float, high: float, unit: str) -> str:
    """Return a band as a person would say it: ``30 to 60 a minute``."""
    return _("{low} to {high}").format(low=number(low), high=plain(high, unit))


def source_of(rule: Rule) -> str:
    """Return where a rule comes from; one a site replaced or corrected with what it was before."""
    return str(rule.citation) if rule.replaces is None else f"{rule.shown}. {rule.citation}"


def _slip(got: float, accept: float, slips: Mapping[str, float]) -> str:
    return next((name for name, at in slips.items() if abs(got - at) <= accept + 1e-9), "")


def _wrong_unit(value: Mapping[str, Any], right: float, accept: float, unit: str) -> str | None:
    given = value["unit"]
    if given == unit or right == 0:
        return None
    return given if abs(number_in({**value, "unit": unit}, unit) - right) <= accept else None
