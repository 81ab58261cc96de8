// What the engine says, read for the map.
import { areaOf, stripOf } from "../page/data.js";
import { boxOf } from "../page/ground.js";

/** @typedef {import("../page/data.js").Area} Area */
/** @typedef {import("../page/data.js").Crop} Crop */
/** @typedef {import("../page/data.js").Ground} Ground */
/** @typedef {import("../page/data.js").SentStrip} SentStrip */
/** @typedef {import("../page/ground.js").Box} Box */
/** @typedef {import("../page/ground.js").Point} Point */
/** @typedef {import("./talk.js").Changes} Changes */

/** @typedef {{label: string, text: string, saved_text: string, change_text: string}} Figure beside the saved plan's */
/** @typedef {{label: string, changes: Changes, words?: string, verdict?: string, can?: boolean}} Offer */
/** @typedef {"sets" | "headlands" | "systems" | "starts"} OfferKind */
/** @typedef {{operation: string, verdict: string, words: string, spot: Point | null}} Verdict */
/** @typedef {{severity: string, first: boolean, word: string, text: string, spot: Point | null}} Told a notice */
/**
 * One set across; lengths in meters from its left edge.
 * @typedef {object} Across
 * @property {string} set_text how wide it is
 * @property {{crop: number, offset_m: number, layer: number}[]} rows
 * @property {{crop: number, offset_m: number, width_m: number, words: string}[]} strips
 * @property {{label: string, passes: {offset_m: number, width_m: number, turned: boolean}[]}[]} lanes
 */
/**
 * @typedef {object} SaidGround
 * @property {string} title
 * @property {string} file the plan's name
 * @property {"us" | "metric"} units
 * @property {boolean} empty
 * @property {number[][][]} field
 * @property {number[][][]} obstacles
 * @property {string} area_text
 * @property {string} where_text where on the earth
 * @property {Record<string, number>} lengths_m units that lengths may be typed in
 * @property {number} most_bytes
 */
/**
 * @typedef {object} SaidOffers
 * @property {Crop[]} crops
 * @property {number} planter_m
 * @property {number} row_m
 * @property {Offer[]} sets
 * @property {Offer[]} headlands
 * @property {Offer[]} systems
 * @property {Offer[]} starts
 * @property {Record<OfferKind, number>} chosen
 */
/**
 * @typedef {object} SaidAnswer
 * @property {number} number
 * @property {number} heading_deg
 * @property {string} heading_text
 * @property {number} offset_m
 * @property {string} offset_text
 * @property {number} set_m
 * @property {"left" | "right"} start
 * @property {boolean} straight whether rows have one heading
 * @property {Record<OfferKind, number>} chosen
 * @property {SentStrip[]} strips
 * @property {{strip: string[]}} labels
 * @property {number[][][]} headland
 * @property {string} headland_words
 * @property {Across} section
 * @property {boolean} is_saved whether there is a saved plan
 * @property {string[]} changed from it
 * @property {string} changed_words the same in short
 * @property {Figure[]} figures
 * @property {{crop: number, facts: Figure[]}[]} crops each its place among those offered
 * @property {number[]} grown the crops on the field, likewise
 * @property {Figure[]} money
 * @property {string} money_words what money is told in
 * @property {Verdict[]} verdicts
 * @property {Told[]} notices
 * @property {boolean} can_undo
 * @property {boolean} can_redo
 * @property {string} document
 */
/** @typedef {{number: number, facts: Figure[], verdicts: Verdict[], notices: Told[]}} SaidDriven */

/** Half of what is shown of ground that is still to be drawn, in meters: a quarter section and some. */
const EMPTY_HALF_M = 480;
/** @type {Box} */
export const EMPTY_BOX = {
  left: -EMPTY_HALF_M,
  bottom: -EMPTY_HALF_M,
  right: EMPTY_HALF_M,
  top: EMPTY_HALF_M,
};

/** Ground without anything on it. @param {Box} box @returns {Ground} */
export const bareGround = (box) => ({
  field: [],
  headland: [],
  obstacles: [],
  strips: [],
  operations: [],
  box,
});

/**
 * The ground as it is said.
 * @param {SaidGround} said
 * @returns {Ground}
 */
export function groundSaid({ empty, field, obstacles }) {
  if (empty || !field.length) {
    return bareGround(EMPTY_BOX);
  }
  const areas = field.map(areaOf);
  const box = boxOf(areas.flatMap((area) => area.rings));
  return { ...bareGround(box), field: areas, obstacles: obstacles.map(areaOf) };
}

/**
 * A layout on its ground.
 * @param {Ground} ground
 * @param {SaidAnswer} answer
 * @param {Crop[]} crops
 * @returns {Ground}
 */
export function groundLaid(ground, { strips, headland }, crops) {
  return {
    ...ground,
    headland: headland.map(areaOf),
    strips: strips.map((strip) => stripOf(strip, crops[strip.crop])),
  };
}
