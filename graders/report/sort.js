"use strict";
// Sorts the table of learners by its headers and says how many the filters leave.
(() => {
  const table = document.querySelector("table.who");
  if (!table) return;
  const body = table.tBodies[0];
  const words = new Intl.Collator(undefined, { numeric: true });
  const number = (cell) => { const n = parseFloat(cell.textContent); return n === n ? n : -1; };
  const mark = (cell) => {
    const rank = /\bk(\d)/.exec(cell.className), percent = /[\d.]+(?= %)/.exec(cell.textContent);
    return (rank ? 1000 * rank[1] : 9000) + (percent ? +percent[0] : -1);
  };
  const keys = { text: (cell) => cell.textContent.trim(), mark, number };
  const sort = (head) => {
    const up = head.getAttribute("aria-sort") !== "ascending", kind = head.dataset.sort;
    const by = kind === "text" ? words.compare : (a, b) => a - b;
    const rows = [...body.rows].map((row) => [keys[kind](row.cells[head.cellIndex]), row]);
    rows.sort((a, b) => (up ? by(a[0], b[0]) : by(b[0], a[0])));
    for (const each of table.tHead.rows[0].cells) each.removeAttribute("aria-sort");
    head.setAttribute("aria-sort", up ? "ascending" : "descending");
    const all = document.createDocumentFragment();
    for (const [, row] of rows) all.append(row);
    body.append(all);
  };
  for (const head of table.tHead.rows[0].cells) {
    if (!head.dataset.sort) continue;
    const button = document.createElement("button");
    button.type = "button";
    button.append(...head.childNodes);
    button.addEventListener("click", () => sort(head));
    head.append(button);
  }
  const form = document.querySelector("form.filters"), said = form && form.querySelector("output");
  if (!form) return;
  const count = () => {
    const shown = [...body.rows].filter((row) => row.offsetParent).length;
    said.textContent = `${shown} of ${body.rows.length} shown`;
  };
  form.addEventListener("change", count);
  form.addEventListener("reset", () => setTimeout(count));
  count();
})();
