// What is chosen from lists and typed: widths, headland, system, start, heading, offset.
import { fillFacts, input, made, part } from "../page/parts.js";

/** @typedef {import("./answer.js").Offer} Offer */
/** @typedef {import("./answer.js").OfferKind} OfferKind */
/** @typedef {import("./answer.js").SaidAnswer} SaidAnswer */
/** @typedef {import("./answer.js").SaidOffers} SaidOffers */

/** @type {OfferKind[]} */
export const OFFER_KINDS = ["sets", "headlands", "systems", "starts"];
const AS_PLANNED = "As the plan has it";

/** @param {string} id @returns {HTMLSelectElement} */
export const select = (id) => /** @type {HTMLSelectElement} */ (part(id));

/** What each typed field held when it was filled last. @type {Map<string, string>} */
const filled = new Map();

/** @param {Offer} offer */
const named = ({ label, verdict }) => (verdict ? `${label}: ${verdict}` : label);

/** Fill the lists; the last line of each stands for what no offer is. @param {SaidOffers} offers */
export function fillOffers(offers) {
  for (const kind of OFFER_KINDS) {
    const options = [...offers[kind].map(named), AS_PLANNED].map((text) => made("option", text));
    select(kind).replaceChildren(...options);
    select(kind).disabled = !offers[kind].length;
  }
  const told = [...offers.sets, ...offers.systems];
  fillFacts(part("offers"), told.map((offer) => [named(offer), offer.words ?? ""]));
}

/** @param {SaidOffers} offers @param {{chosen: SaidAnswer["chosen"]}} answer */
export function showChosen(offers, answer) {
  for (const kind of OFFER_KINDS) {
    const [list, place] = [select(kind), answer.chosen[kind]];
    const last = list.options[list.options.length - 1];
    last.hidden = place >= 0;
    last.disabled = place >= 0;
    list.selectedIndex = place >= 0 ? place : list.options.length - 1;
    const words = offers[kind][place]?.words ?? "";
    if (kind === "sets" || kind === "systems") {
      part(`${kind}-words`).textContent = words;
    }
  }
}

/** Fill a typed field, but for one that someone is typing in. @param {string} id @param {string} text */
export function fillTyped(id, text) {
  const field = input(id);
  if (document.activeElement !== field || field.value === filled.get(id)) {
    field.value = text;
  }
  filled.set(id, text);
}

/** What was typed was taken: the next answer fills the field. @param {string} id */
export function typedIsTaken(id) {
  filled.set(id, input(id).value);
}
