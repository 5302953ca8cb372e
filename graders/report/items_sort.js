"use strict";
// Sorts any table by the headers that name a kind; a cell says its number in data-value.
(() => {
  const words = new Intl.Collator(undefined, { numeric: true });
  const key = (cell) => ("value" in cell.dataset ? parseFloat(cell.dataset.value) : cell.textContent.trim());
  const none = (value) => value === "" || value !== value; // nothing comes last, whichever way
  const order = (up) => ([a], [b]) => {
    if (none(a) || none(b)) return none(a) - none(b);
    const by = typeof a === "number" ? a - b : words.compare(a, b);
    return up ? by : -by;
  };
  const sort = (head) => {
    const table = head.closest("table"), body = table.tBodies[0];
    const up = head.getAttribute("aria-sort") !== "ascending";
    const rows = [...body.rows].map((row) => [key(row.cells[head.cellIndex]), row]);
    for (const each of table.tHead.rows[0].cells) each.removeAttribute("aria-sort");
    head.setAttribute("aria-sort", up ? "ascending" : "descending");
    body.append(...rows.sort(order(up)).map(([, row]) => row));
  };
  for (const head of document.querySelectorAll("th[data-sort]")) {
    const button = document.createElement("button");
    button.type = "button";
    button.append(...head.childNodes);
    button.addEventListener("click", () => sort(head));
    head.append(button);
  }
})();
