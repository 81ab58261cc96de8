// What is chosen from lists: widths, headland, system, start.
import { fillFacts, made, part } from "../page/parts.js";

/** @typedef {import("./answer.js").Offer} Offer */
/** @typedef {import("./answer.js").OfferKind} OfferKind */
/** @typedef {import("./answer.js").SaidAnswer} SaidAnswer */
/** @typedef {import("./answer.js").SaidOffers} SaidOffers */

/** @type {OfferKind[]} */
export const OFFER_KINDS = ["sets", "headlands", "systems", "starts"];
const AS_PLANNED = "As the plan has it";

/** @param {string} id @returns {HTMLSelectElement} */
export const select = (id) => /** @type {HTMLSelectElement} */ (part(id));

/** A line of a list, which is narrow. @param {Offer} offer */
const listed = ({ label, can }) => (can === false ? `${label}: not yet` : label);

/** @param {Offer} offer */
const named = ({ label, verdict }) => (verdict ? `${label}: ${verdict}` : label);

/** Fill the lists; the last line of each stands for what no offer is. @param {SaidOffers} offers */
export function fillOffers(offers) {
  for (const kind of OFFER_KINDS) {
    const options = [...offers[kind].map(listed), AS_PLANNED].map((text) => made("option", text));
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
      part(`${kind}-words`).classList.toggle("warning", offers[kind][place]?.can === false);
    }
  }
  showUnfit(offers.systems[answer.chosen.systems]);
}

/** Say above the figures that the system they are of can't be done yet. @param {Offer | undefined} system */
function showUnfit(system) {
  const unfit = system?.can === false;
  part("unfit").hidden = !unfit;
  part("unfit").textContent = unfit ? `${named(system)}. ${system.words ?? ""}` : "";
}
