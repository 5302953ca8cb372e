"""What a lesson shows of the rules: a rule or step as a card, a procedure and readings as tables.

Each is HTML with a text twin. Nothing is said by colour alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

from workbook.core.language import ENGLISH, _, direction, in_force, tag
from workbook.core.quantities import plain
from workbook.rules import Basis, Citation, Procedure, Rule, RuleBook, Step, editions
from workbook.rules.edition import PRACTICE
from workbook.rules.rule import STANDS_IN

STYLE = """<style>
.tpiece-card, .tpiece-sheet { color: var(--jp-content-font-color1, CanvasText);
  font-family: var(--jp-content-font-family, sans-serif); font-size: 16px; line-height: 1.5; }
.tpiece-card { background: var(--jp-layout-color1, Canvas); border: 1px solid
  var(--jp-border-color1, GrayText); border-inline-start: 6px solid
  var(--jp-brand-color1, GrayText); border-radius: 4px; box-sizing: border-box;
  margin: 8px 0; max-width: 46rem; padding: 8px 16px; }
.tpiece-card.tpiece-card p, .tpiece-card ul { margin: 4px 0; }
.tpiece-card .tpiece-kind { font-size: 14px; font-weight: 600; }
.tpiece-card .tpiece-basis { font-size: 14px; }
.tpiece-card .tpiece-number { font-size: 20px; font-weight: 600; }
.tpiece-card .tpiece-beware { border: 2px dashed currentColor; border-radius: 4px;
  padding: 4px 8px; }
.tpiece-card summary, .tpiece-sheet summary { cursor: pointer; display: list-item;
  line-height: 28px; padding: 8px 0; width: fit-content; }
.tpiece-card summary:focus-visible, .tpiece-sheet summary:focus-visible {
  outline: 3px solid var(--jp-brand-color1, Highlight); outline-offset: 2px; }
.tpiece-sheet { margin: 8px 0; max-width: 58rem; }
.tpiece-sheet table.tpiece-table { border-collapse: collapse; color: inherit; font-size: 16px;
  margin: 0; table-layout: auto; width: 100%; }
.tpiece-sheet .tpiece-table caption { font-weight: 600; padding: 4px 0; text-align: start; }
.tpiece-sheet .tpiece-table tr.tpiece-row { background: transparent; }
.tpiece-sheet .tpiece-table th, .tpiece-sheet .tpiece-table td { border: 1px solid
  var(--jp-border-color1, GrayText); max-width: none; padding: 6px 10px; text-align: start;
  vertical-align: top; white-space: normal; overflow-wrap: break-word; line-height: 1.5; }
.tpiece-sheet .tpiece-table th[scope=row] { font-weight: 400; }
.tpiece-sheet .tpiece-table th[scope=rowgroup] { background: var(--jp-layout-color2, Canvas);
  font-weight: 600; }
.tpiece-sheet .tpiece-table tr.tpiece-last > * { border-top-width: 3px; font-weight: 600; }
@media (max-width: 600px) {
  .tpiece-sheet table.tpiece-table { font-size: 14px; }
  .tpiece-sheet .tpiece-table th, .tpiece-sheet .tpiece-table td { padding: 4px 5px; }
  .tpiece-sheet .tpiece-wide thead { clip-path: inset(50%); height: 1px; overflow: hidden;
    position: absolute; width: 1px; }
  .tpiece-sheet .tpiece-wide :is(caption, tbody, tr, th, td) { display: block; }
  .tpiece-sheet .tpiece-wide tr.tpiece-row { margin-bottom: 8px; }
  .tpiece-sheet .tpiece-wide tbody th { font-weight: 600; }
  .tpiece-sheet .tpiece-wide td::before { content: attr(data-label) " "; font-weight: 600; }
}
</style>"""

WIDE = 4  # columns that a telephone has no room for, side by side


@dataclass(frozen=True, slots=True)
class Shown:
    """Something to look at, and the same in words."""

    html: str
    text: str

    def _repr_mimebundle_(self, include: Any = None, exclude: Any = None) -> dict[str, str]:
        return {"text/html": STYLE + spoken(self.html), "text/plain": self.text}


def spoken(html: str) -> str:
    """Return what is shown with the language it is in, where that is not the host page's own."""
    if in_force() == ENGLISH or not html:
        return html
    return f'<div lang="{tag()}" dir="{direction()}">{html}</div>'


def rule_card(book: RuleBook, id: str) -> Shown:
    """Return a rule as a card: one number for each population it is told apart for."""
    rules = book.all(id)
    first = rules[0]
    numbers = [_number(rule, len(rules) > 1) for rule in rules if rule.unit is not None]
    cited = _told(list(dict.fromkeys(rule.citation for rule in rules)))
    site = [_replaced(rule, len(rules) > 1) for rule in rules if rule.replaces is not None]
    lent = [_(STANDS_IN)] if first.stands_in else []
    return _card(
        _kind(first, book, any(rule.from_site for rule in rules)),
        _(first.says),
        [*numbers, *lent, *site],
        cited,
    )


def _told(cited: list[Citation]) -> list[Citation]:
    """Return what is cited, a publication once: a blank beside its numbers has its own line."""
    named = {each.source for each in cited if not each.blank}
    return [each for each in cited if not each.blank or each.source not in named]


def step_card(step: Step) -> Shown:
    """Return one step of a procedure as a card, with the reason for it."""
    why = _("Why: {reason}").format(reason=_(step.reason))
    return _card(_("Step"), _(step.says), [why], [step.citation])


def _replaced(rule: Rule, several: bool) -> str:
    old = rule.replaces or rule
    practice = old.edition == PRACTICE
    if rule.corrected:
        says = _("{whom}: read in print; before, here: {text}.") if several else _(
            "Read in print; before, here: {text}."
        )  # fmt: skip
    elif several:
        says = (
            _("{whom}: common practice says: {text}.")
            if practice
            else _("{whom}: the edition says: {text}.")
        )
    else:
        says = _("Common practice says: {text}.") if practice else _("The edition says: {text}.")
    return says.format(whom=_capital(_(rule.population.says)), text=old.text)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _kind(rule: Rule, book: RuleBook, from_site: bool) -> str:
    if from_site:
        return _("Rule of your site ({protocol})").format(protocol=book.protocol)
    if rule.id.startswith("fact."):
        return _("Published finding")
    named = rule.edition != PRACTICE and rule.edition in editions()  # sizes belong to no edition
    if not named:
        return _("Rule")
    return _("Rule, {edition}").format(edition=editions()[rule.edition].title)


def _number(rule: Rule, several: bool) -> str:
    if not several:
        return rule.text
    says = _("{whom}: {text} (your site)") if rule.from_site else "{whom}: {text}"
    return says.format(whom=_(rule.population.says), text=rule.text)


def _card(kind: str, says: str, lines: Sequence[str], cited: Sequence[Citation]) -> Shown:
    stated = (each for each in cited if not (each.blank and lines))  # its line says it already
    sure = dict.fromkeys((each.says, _from_memory(each)) for each in stated)
    # A citation ends with its basis in words, so the text names the basis too.
    text = [f"{kind}. {says}", *lines, *map(_source, cited)]
    more = [each for each in cited if str(each) != each.says]  # nothing to open that is seen
    html = (
        f'<div class="tpiece-card" role="group" aria-label="{escape(kind)}">'
        f'<p class="tpiece-kind">{escape(kind)}</p><p>{escape(says)}</p>'
        + "".join(f"<p{_large(line)}>{escape(line)}</p>" for line in lines)
        + "".join(f"<p{_marked(memory)}>{escape(says)}</p>" for says, memory in sure)
        + (_details(_("Source"), more) if more else "")
        + "</div>"
    )
    return Shown(html, "\n".join(text))


def _source(cited: Citation) -> str:
    return _("Source: {source}").format(source=cited)


def _large(line: str) -> str:
    """Print a bare number large; a sentence stays as it is."""
    return "" if line.endswith(".") else ' class="tpiece-number"'


def _from_memory(cited: Citation) -> bool:
    return cited.from_memory


def _marked(memory: bool) -> str:
    """Frame the one basis that must not be overlooked."""
    kind = "tpiece-beware" if memory else "tpiece-basis"
    return f' class="{kind}"'


def _beware(cited: Iterable[Citation]) -> list[str]:
    """Return what must be seen without opening anything: that a value is from memory."""
    return [Basis.MEMORY.says] if any(map(_from_memory, cited)) else []


def _details(title: str, lines: Iterable[object]) -> str:
    return _fold(title, "".join(f"<p>{escape(str(line))}</p>" for line in lines))


def _fold(title: str, inside: str) -> str:
    # The focused element itself must carry the attribute, else JupyterLab takes the key.
    summary = f'<summary data-lm-suppress-shortcuts="true">{escape(title)}</summary>'
    return f"<details>{summary}{inside}</details>"


def hints(lines: Sequence[str]) -> Shown:
    """Return hints that open one by one, each saying more than the one before."""
    says = _("Hint {n} of {total}")
    titles = [says.format(n=n, total=len(lines)) for n in range(1, len(lines) + 1)]
    each = "".join(_details(title, [line]) for title, line in zip(titles, lines, strict=True))
    text = "\n".join(f"{title}: {line}" for title, line in zip(titles, lines, strict=True))
    return Shown(f'<div class="tpiece-sheet">{each}</div>', text)


def note(text: str) -> Shown:
    """Return a sentence to stand between tables and cards."""
    return Shown(f'<div class="tpiece-sheet"><p>{escape(text)}</p></div>' if text else "", text)


def stack(parts: Sequence[Shown]) -> Shown:
    """Return several things as one, below each other."""
    text = "\n".join(part.text for part in parts if part.text)
    return Shown("".join(part.html for part in parts), text)


def folded(title: str, inside: Shown) -> Shown:
    """Return something folded away, to be opened on request."""
    html = f'<div class="tpiece-sheet">{_fold(title, inside.html)}</div>'
    return Shown(html, title)


def numbered(title: str, lines: Sequence[str]) -> Shown:
    """Return a numbered list with its title."""
    items = "".join(f"<li>{escape(line)}</li>" for line in lines)
    text = [f"{title}:", *(f"{n}. {line}" for n, line in enumerate(lines, start=1))]
    html = f'<div class="tpiece-sheet"><p>{escape(title)}:</p><ol>{items}</ol></div>'
    return Shown(html, "\n".join(text))


def procedure_table(procedure: Procedure, purposes: Mapping[str, Sequence[str]]) -> Shown:
    """Return a procedure as a table: steps grouped by purpose, each with its reason."""
    title = _(procedure.title)
    rows, text, n = "", [title], 0
    for purpose, ids in purposes.items():
        rows += _group(purpose, columns=2)
        text.append(f"{purpose}:")
        for step in (procedure[id] for id in ids):
            n += 1
            rows += _row([f"{n}. {_(step.says)}", _(step.reason)])
            text.append(f"{n}. {_(step.says)} " + _("Why: {reason}").format(reason=_(step.reason)))
    cited = list(dict.fromkeys(step.citation for step in procedure))
    text += [*_beware(cited), *map(_source, cited)]
    table = _table(title, (_("Step"), _("Why")), rows)
    beware = "".join(f"<p>{escape(line)}</p>" for line in _beware(cited))
    html = f'<div class="tpiece-sheet">{table}{beware}{_details(_("Sources"), cited)}</div>'
    return Shown(html, "\n".join(text))


@dataclass(frozen=True, slots=True)
class Reading:
    """What the gauge shows after one thing was done, in cmH2O."""

    step: str
    after: str
    held: float
    released: float


def readings_table(title: str, readings: Sequence[Reading], note: str = "") -> Shown:
    """Return what the gauge shows after each thing done, with the aperture occluded and open."""
    rows, text = "", [title]
    for n, each in enumerate(readings, start=1):
        held, released = (shown(value) for value in (each.held, each.released))
        last = n == len(readings)
        rows += _row([f"{n}. {each.after}", held, released], last=last)
        told = _("Occluded: {held}. Released: {released}.").format(held=held, released=released)
        text.append(f"{n}. {each.after} {told}")
    columns = (_("After this"), _("Gauge, occluded"), _("Gauge, released"))
    table = _table(title, columns, rows)
    below = f"<p>{escape(note)}</p>" if note else ""
    return Shown(
        f'<div class="tpiece-sheet">{table}{below}</div>', "\n".join([*text, note]).strip()
    )


def shown(pressure: float) -> str:
    """Return a gauge reading as a person reads it: to half of the smallest mark."""
    return plain(round(2 * pressure) / 2 + 0.0, "cmH2O")


def _table(title: str, columns: Sequence[str], rows: str, *, wide: bool = False) -> str:
    """Return a table; where it is wide, a narrow window shows each row as a list of its cells."""
    head = "".join(f'<th scope="col">{escape(column)}</th>' for column in columns)
    kind = "tpiece-table tpiece-wide" if wide else "tpiece-table"
    return (
        f'<table class="{kind}"><caption>{escape(title)}</caption>'
        f'<thead><tr class="tpiece-row">{head}</tr></thead><tbody>{rows}</tbody></table>'
    )


def rows_table(
    title: str,
    columns: Sequence[str],
    rows: Sequence[Sequence[str]],
    sources: Sequence[str] = (),
) -> Shown:
    """Return rows of cells as a table, with a fold below it; in words the fold says it all."""
    wide = len(columns) >= WIDE
    labels = columns if wide else ()
    table = _table(title, columns, "".join(_row(cells, labels) for cells in rows), wide=wide)
    fold = _details(_("Sources and assumptions"), sources) if sources else ""
    return Shown(f'<div class="tpiece-sheet">{table}{fold}</div>', "\n".join([title, *sources]))


def _group(title: str, *, columns: int) -> str:
    cell = f'<th scope="rowgroup" colspan="{columns}">{escape(title)}</th>'
    return f'</tbody><tbody><tr class="tpiece-row">{cell}</tr>'


def _before(label: str) -> str:
    """Return a column's head as it stands before a cell: a question ends by itself."""
    return label if label.endswith("?") else f"{label}:"


def _row(cells: Sequence[str], labels: Sequence[str] = (), *, last: bool = False) -> str:
    """Return a row; ``labels`` name each cell where it may stand without its column's head."""
    named = [f' data-label="{escape(_before(label))}"' for label in labels] or [""] * len(cells)
    tags = (("td", named[n]) if n else ("th", ' scope="row"') for n in range(len(cells)))
    made = "".join(
        f"<{tag}{scope}>{escape(cell)}</{tag}>"
        for (tag, scope), cell in zip(tags, cells, strict=True)
    )
    return f'<tr class="tpiece-row{" tpiece-last" if last else ""}">{made}</tr>'
