// Parts of the page: text goes in as text alone.
import { FOOT_M } from "./ground.js";

/** @typedef {import("./data.js").Operation} Operation */

/**
 * The part of the page with an id.
 * @param {string} id
 */
export function part(id) {
  const found = document.getElementById(id);
  if (!found) {
    throw new Error(`the page has no ${id}`);
  }
  return found;
}

/** The field with an id, to type in. @param {string} id @returns {HTMLInputElement} */
export const input = (id) => /** @type {HTMLInputElement} */ (part(id));

/**
 * Make an element that holds a text.
 * @param {string} kind
 * @param {string} text
 * @param {string} [name] its class
 */
export function made(kind, text, name = "") {
  const element = document.createElement(kind);
  element.textContent = text;
  element.dir = "auto";
  element.className = name;
  return element;
}

/**
 * Fill a list of terms; what is empty is left out.
 * @param {HTMLElement} list a dl
 * @param {[string, string][]} facts
 */
export function fillFacts(list, facts) {
  const told = facts.filter(([, words]) => words);
  const rows = told.map(([label, words]) => {
    const row = document.createElement("div");
    row.append(made("dt", label), made("dd", words));
    return row;
  });
  list.replaceChildren(...rows);
}

/**
 * Pair labels with words.
 * @param {string[]} labels
 * @param {string[]} words
 * @returns {[string, string][]}
 */
export function paired(labels, words) {
  return labels.map((label, place) => [label, words[place]]);
}

/**
 * Make a large button.
 * @param {string} text
 * @param {() => void} onPress
 */
export function button(text, onPress) {
  const element = made("button", text);
  element.setAttribute("type", "button");
  element.addEventListener("click", onPress);
  return element;
}

/**
 * Make a table with a head; a column without any words is left out.
 * @param {string} caption
 * @param {string[]} heads
 * @param {string[][]} rows
 */
export function table(caption, heads, rows) {
  const element = document.createElement("table");
  const head = document.createElement("thead");
  const body = document.createElement("tbody");
  const full = heads.map((_, column) => rows.some((cells) => cells[column]));
  /** @param {string} kind @param {string[]} cells */
  const line = (kind, cells) => {
    const row = document.createElement("tr");
    row.append(...cells.filter((_, column) => full[column]).map((cell) => made(kind, cell)));
    return row;
  };
  head.append(line("th", heads));
  body.append(...rows.map((cells) => line("td", cells)));
  element.append(made("caption", caption), head, body);
  return element;
}

/** Begin a sentence with a capital. @param {string} text */
export const sentence = (text) => text.slice(0, 1).toUpperCase() + text.slice(1);

/**
 * Say how many of something there are.
 * @param {number} count
 * @param {string} one what one of them is called
 */
export const counted = (count, one) => `${count.toLocaleString("en")} ${one}${count === 1 ? "" : "s"}`;

/**
 * Say which of several something is, such as "2nd".
 * @param {number} place from 1
 */
function nth(place) {
  const teen = Math.floor((place % 100) / 10) === 1;
  return `${place}${teen ? "th" : (["th", "st", "nd", "rd"][place % 10] ?? "th")}`;
}

/**
 * Name a pass, and say which of its operation's it is.
 * @param {Operation} operation
 * @param {number} place its place in the order driven
 */
export function wordsOfPass({ name, passes }, place) {
  const number = passes[place].name;
  return number === String(place + 1)
    ? `Pass ${number} of ${passes.length}`
    : `Pass ${number} (${nth(place + 1)} of ${passes.length} for ${name})`;
}

/** The shortest distance that is said, in meters. @param {"us" | "metric"} units */
export const shortest = (units) => (units === "us" ? FOOT_M : 1);

/**
 * Say a distance: feet or meters, whole; miles or kilometers where it is far.
 * @param {number} meters
 * @param {"us" | "metric"} units
 */
export function length(meters, units) {
  const [one, name, far, farName] =
    units === "us" ? [shortest(units), "ft", 5280, "mi"] : [shortest(units), "m", 1000, "km"];
  const count = meters / one;
  return count < 2 * far
    ? `${Math.round(count).toLocaleString("en")} ${name}`
    : `${(count / far).toFixed(1)} ${farName}`;
}
