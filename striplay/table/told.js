// What stands beside the field: accounts beside the saved plan's, verdicts, notices.
import { button, made, part } from "../page/parts.js";

/** @typedef {import("../page/data.js").Crop} Crop */
/** @typedef {import("../page/ground.js").Point} Point */
/** @typedef {import("./answer.js").Figure} Figure */
/** @typedef {import("./answer.js").SaidAnswer} SaidAnswer */
/** @typedef {import("./answer.js").Told} Told */
/** @typedef {import("./answer.js").Verdict} Verdict */
/** @typedef {(spot: Point) => void} Show brings a place into view */

const HEADS = ["Now", "Saved plan", "Change"];

/** Keep a number and its unit on one line. @param {string} text */
const unbroken = (text) => text.replace(/(\d) (?=[^\d\s])/g, "$1\u00a0");

/**
 * A cell that heads others.
 * @param {string} text
 * @param {string} scope
 */
function heading(text, scope) {
  const cell = made("th", text);
  cell.setAttribute("scope", scope);
  return cell;
}

/** @param {Figure} figure @param {boolean} beside whether the saved plan's stands beside it */
function lineOf({ label, text, saved_text: saved, change_text: change }, beside) {
  const row = made("tr", "", text === saved ? "same" : "");
  row.append(heading(label, "row"), made("td", unbroken(text), "now"));
  if (beside) {
    row.append(made("td", unbroken(saved)), made("td", unbroken(change)));
  }
  return row;
}

/** A group of lines under a name. @param {string} name @param {Figure[]} facts @param {boolean} beside */
function groupOf(name, facts, beside) {
  const body = document.createElement("tbody");
  if (name) {
    const row = made("tr", "", "group");
    const cell = heading(name, "rowgroup");
    cell.setAttribute("colspan", String(HEADS.length + 1));
    row.append(cell);
    body.append(row);
  }
  body.append(...facts.map((fact) => lineOf(fact, beside)));
  return body;
}

/**
 * Fill a table of accounts; without any it is hidden. The saved plan stands beside where a figure differs.
 * @param {HTMLElement} element
 * @param {string} caption
 * @param {{name: string, facts: Figure[]}[]} groups
 */
export function fillAccounts(element, caption, groups) {
  const beside = groups.some(({ facts }) => facts.some((one) => one.text !== one.saved_text && one.saved_text));
  const full = groups.filter((group) => group.facts.length);
  const head = document.createElement("thead");
  const row = document.createElement("tr");
  row.append(made("td", ""), ...(beside ? HEADS : HEADS.slice(0, 1)).map((text) => heading(text, "col")));
  head.append(row);
  const bodies = full.map(({ name, facts }) => groupOf(name, facts, beside));
  element.replaceChildren(made("caption", caption), head, ...bodies);
  element.hidden = !full.length;
}

/** A button that shows a place. @param {Point | null} spot @param {Show} show */
const spotOf = (spot, show) => (spot ? [button("Show the place", () => show(spot))] : []);

/**
 * Fill the notices: those before the figures, and of the others those that no verdict tells.
 * @param {Told[]} notices the gravest first @param {Verdict[]} verdicts @param {Show} show
 */
export function fillNotices(notices, verdicts, show) {
  const told = new Set(verdicts.flatMap(({ operation, words }) => [words, `${operation}: ${words}`]));
  /** @param {Told} notice */
  const line = ({ severity, word, text, spot }) => {
    const found = made("p", "", `notice ${severity === "know" ? "" : "warning"}`);
    found.append(made("strong", `${word} `), made("span", text), ...spotOf(spot, show));
    return found;
  };
  const grave = notices.filter(({ first }) => first);
  const others = notices.filter(({ first, text }) => !first && !told.has(text));
  part("grave").replaceChildren(...grave.map(line));
  part("notices").replaceChildren(...others.map(line));
  part("notices-title").hidden = !others.length;
}

/** @param {Verdict[]} verdicts @param {Show} show */
export function fillVerdicts(verdicts, show) {
  const lines = verdicts.map(({ operation, verdict, words, spot }) => {
    const line = made("li", "", verdict === "yes" ? "" : "doubt");
    const told = words ? `${operation}: ${words}` : operation;
    line.append(made("strong", verdict), made("span", told), ...spotOf(spot, show));
    return line;
  });
  part("verdicts").replaceChildren(...lines);
  part("verdicts-title").hidden = !lines.length;
}

/**
 * Fill what stands beside the field.
 * @param {SaidAnswer} answer
 * @param {Crop[]} offered
 * @param {Show} show
 */
export function fillSide(answer, offered, show) {
  const { figures, crops, money, changed, is_saved: isSaved } = answer;
  const same = isSaved ? "As the saved plan." : "Not saved yet.";
  part("changed").textContent = changed.length ? `Changed: ${answer.changed_words}` : same;
  part("changed-more").hidden = !changed.length;
  part("changed-each").replaceChildren(...changed.map((words) => made("li", words)));
  fillAccounts(part("figures"), "Land and seed", [
    { name: "", facts: figures },
    ...crops.map(({ crop, facts }) => ({ name: offered[crop]?.name ?? "", facts })),
  ]);
  fillAccounts(part("money"), "Money", [{ name: "", facts: money }]);
  part("money-words").textContent = money.length ? answer.money_words : "";
  fillNotices(answer.notices, answer.verdicts, show);
  fillVerdicts(answer.verdicts, show);
}
