"""What the editions say of one setting for one baby, side by side, in a learner's words."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from html import escape

from workbook.cases.starting import Baby, ends, stated
from workbook.core.language import _, number
from workbook.display import cards
from workbook.rules import Rule, RuleBook, editions, rulebook
from workbook.rules.edition import PRACTICE

BAR = 6  # least width of a bar, in hundredths of the scale: one number is seen too


def numbers_for(id: str, baby: Baby) -> dict[str, Rule]:
    """Return by edition what each states for a baby; one that gives no number is left out."""
    found = {edition: stated(rulebook(edition), id, baby) for edition in editions()}
    return {e: rule for e, rule in found.items() if rule is not None and e != PRACTICE}


def reach(id: str, baby: Baby) -> tuple[float, float]:
    """Return the lowest and the highest number that any edition states for a baby."""
    named = [end for rule in numbers_for(id, baby).values() for end in ends(rule)]
    return min(named), max(named)


def side_by_side(
    id: str, what: str, baby: Baby, asked: Collection[str], site: RuleBook
) -> cards.Shown:
    """Return the numbers stated for a baby, each with its editions and a bar on one scale.

    The editions asked about stand out; a number of the site's own protocol comes last.
    """
    known = editions()
    rules = {known[edition].named: rule for edition, rule in numbers_for(id, baby).items()}
    own = stated(site, id, baby)
    if own is not None and own.from_site:
        rules[_("your site")] = own
    strong = {known[edition].named for edition in asked}
    title = _("Starting {what}, edition by edition").format(what=what)
    alike: dict[tuple[str, str], list[str]] = {}
    for name, rule in rules.items():
        alike.setdefault((rule.text, rule.citation.word), []).append(name)
    text = [f"- {says}: {', '.join(names)}; {sure}." for (says, sure), names in alike.items()]
    table = _table(title, [(rules[names[0]], names) for names in alike.values()], strong)
    return cards.Shown(f'<div class="tpiece-sheet">{table}</div>', "\n".join([f"{title}:", *text]))


def _table(title: str, rows: Sequence[tuple[Rule, Sequence[str]]], strong: Collection[str]) -> str:
    low, high = _scale([rule for rule, _names in rows])
    columns = "".join(f'<th scope="col">{escape(head)}</th>' for head in (_("Says"), _("Edition")))
    scale = (
        '<th scope="col"><span style="display: flex; justify-content: space-between; gap: 4px">'
        f"<span>{escape(number(low))}</span>"
        f"<span>{escape(number(high))}</span></span></th>"
    )
    made = "".join(_row(rule, names, (low, high), strong) for rule, names in rows)
    return (
        f'<table class="tpiece-table"><caption>{escape(title)}</caption><thead>'
        f'<tr class="tpiece-row">{columns}{scale}</tr></thead><tbody>{made}</tbody></table>'
    )


def _row(
    rule: Rule, names: Sequence[str], scale: tuple[float, float], strong: Collection[str]
) -> str:
    named = (f"<strong>{escape(n)}</strong>" if n in strong else escape(n) for n in names)
    sure = f"<br><small>{escape(rule.citation.word)}</small>"
    return (
        f'<tr class="tpiece-row"><th scope="row">{escape(rule.text)}{sure}</th>'
        f"<td>{', '.join(named)}</td>"
        '<td style="width: 30%; min-width: 3rem; vertical-align: middle">'
        f"{_bar(rule, scale)}</td></tr>"
    )


def _bar(rule: Rule, scale: tuple[float, float]) -> str:
    """Return a band as a bar on the scale; the numbers beside it say the same."""
    low, high = scale
    span = (high - low) or 1.0
    left, right = (100 * (min(max(end, low), high) - low) / span for end in rule.band)
    width = max(right - left, BAR)
    left = min(left, 100 - width)
    return (
        f'<div aria-hidden="true" style="margin-inline-start: {left:.0f}%; width: {width:.0f}%; '
        'height: 12px; background: currentColor; opacity: 0.6"></div>'
    )


def _scale(rules: Collection[Rule]) -> tuple[float, float]:
    named = [end for rule in rules for end in ends(rule)]
    return min(named), max(named)
