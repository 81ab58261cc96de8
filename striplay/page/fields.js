// Sort the lines of many fields, find one by its name, and show those of some verdicts.

const body = /** @type {HTMLTableSectionElement} */ (document.getElementById("fields"));
const form = /** @type {HTMLFormElement} */ (document.getElementById("choose"));
const sought = /** @type {HTMLInputElement} */ (document.getElementById("name"));
const shown = /** @type {HTMLElement} */ (document.getElementById("shown"));
const lines = Array.from(body.rows);
const boxes = Array.from(form.querySelectorAll("input")).filter((one) => one.type === "checkbox");
const heads = Array.from(document.querySelectorAll("thead th"));

/** Show the lines that are asked for, and say how many. */
function choose() {
  const words = sought.value.trim().toLocaleLowerCase();
  const asked = new Set(boxes.filter((box) => box.checked).map((box) => box.value));
  let count = 0;
  for (const line of lines) {
    const field = (line.cells[2].textContent || "").toLocaleLowerCase();
    line.hidden = !(asked.has(line.dataset.verdict || "") && field.includes(words));
    count += line.hidden ? 0 : 1;
  }
  shown.textContent = `${count} of ${lines.length} fields of this page shown`;
}

/** @param {HTMLTableRowElement} line @param {number} at @returns {string} what a cell is sorted by */
const valueOf = (line, at) => line.cells[at].dataset.value ?? line.cells[at].textContent ?? "";

/**
 * Compare two values: numbers by size, text as people sort it, empty ones last.
 * @param {string} one
 * @param {string} other
 * @param {number} way 1 or -1
 */
function compare(one, other, way) {
  if (one === "" || other === "") {
    return Number(one === "") - Number(other === "");
  }
  const [a, b] = [Number(one), Number(other)];
  if (Number.isNaN(a) || Number.isNaN(b)) {
    return way * one.localeCompare(other, undefined, { numeric: true });
  }
  return way * (a - b);
}

/** @param {number} at the column to sort by; the other way round where it is sorted by it already */
function sort(at) {
  const rising = heads[at].getAttribute("aria-sort") !== "ascending";
  const way = rising ? 1 : -1;
  for (const head of heads) {
    head.removeAttribute("aria-sort");
  }
  heads[at].setAttribute("aria-sort", rising ? "ascending" : "descending");
  const keyed = lines.map((line) => ({ line, value: valueOf(line, at) }));
  keyed.sort((a, b) => compare(a.value, b.value, way));
  body.append(...keyed.map((one) => one.line));
}

heads.forEach((head, at) => {
  head.querySelector("button")?.addEventListener("click", () => sort(at));
});
form.addEventListener("submit", (event) => event.preventDefault());
form.addEventListener("input", choose);
form.hidden = false;
choose();
