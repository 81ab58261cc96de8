// What is typed: numbers, lengths, and the boxes that hold what was answered last.
import { FOOT_M } from "../page/ground.js";
import { input } from "../page/parts.js";

/** @typedef {"us" | "metric"} Units */

const GROUPED = /^-?\d{1,3}(,\d{3})+(\.\d*)?$/;
const WITH_UNIT = /^(.*\d\.?)\s*([a-z]+)\.?$/i;

/** A number as it is typed; NaN where it is none, or a comma stands where it groups no thousands. @param {string} text */
export function numberOf(text) {
  const typed = text.replace(/\s/g, "").replace("−", "-");
  return typed ? Number(GROUPED.test(typed) ? typed.replace(/,/g, "") : typed) : NaN;
}

/** What a length without a unit is in. @param {Units} units */
export const unitOf = (units) => (units === "us" ? "ft" : "m");

/** So many meters that is. @param {Units} units */
export const unitMeters = (units) => (units === "us" ? FOOT_M : 1);

/**
 * A length as it is typed, in meters, with its unit or without; NaN where it is none.
 * @param {string} text
 * @param {Units} units
 * @param {Record<string, number>} lengths meters to each unit that may be typed
 */
export function lengthTyped(text, units, lengths) {
  const [, number, unit] = WITH_UNIT.exec(text.trim()) ?? ["", text, unitOf(units)];
  return numberOf(number) * (lengths[unit] ?? lengths[unit.toLowerCase()] ?? NaN);
}

/** A length as a plan takes it: one without a unit is given the plan's. @param {string} text @param {Units} units */
export function lengthText(text, units) {
  const number = numberOf(text);
  return Number.isNaN(number) ? text.trim() : `${number} ${unitOf(units)}`;
}

/** A length as a plan writes it. @param {number} meters @param {Units} units */
export const planLength = (meters, units) =>
  `${Number((meters / unitMeters(units)).toFixed(units === "us" ? 2 : 3))} ${unitOf(units)}`;

/** What each box held when it was answered last. @type {Map<string, string>} */
const answered = new Map();
/** What was taken from each, until it is answered. @type {Map<string, string>} */
const taken = new Map();

/** @param {string} id */
const isTouched = (id) => document.activeElement === input(id) && ![answered.get(id), taken.get(id)].includes(input(id).value);

/** Put back what was answered last. @param {string} id */
function putBack(id) {
  input(id).value = answered.get(id) ?? "";
  input(id).removeAttribute("aria-invalid");
}

/** Fill a box, but for one that someone is typing in. @param {string} id @param {string} text */
export function fillTyped(id, text) {
  const touched = isTouched(id);
  answered.set(id, text);
  taken.delete(id);
  if (!touched) {
    putBack(id);
  }
}

/** What was typed was taken: the next answer fills the box. @param {string} id */
export function typedIsTaken(id) {
  taken.set(id, input(id).value);
}

/** What was taken is refused: it stays to be mended, and is marked. */
export function typedIsRefused() {
  for (const id of taken.keys()) {
    input(id).setAttribute("aria-invalid", "true");
  }
  taken.clear();
}

/** Put back what was not taken where a box is left, or Escape pressed in it. @param {string[]} ids */
export function listenToTyped(ids) {
  for (const id of ids) {
    input(id).addEventListener("blur", () => {
      if (!taken.has(id)) {
        putBack(id);
      }
    });
    input(id).addEventListener("keydown", (event) => {
      if (event.key === "Escape") {
        taken.delete(id);
        putBack(id);
      }
    });
  }
}
