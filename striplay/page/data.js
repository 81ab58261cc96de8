// What the field page is sent, read into lines in meters.
import { boxOf, readLine } from "./ground.js";

/** @typedef {import("./ground.js").Box} Box */
/** @typedef {import("./ground.js").Line} Line */
/** @typedef {import("./ground.js").Plane} Plane */
/** @typedef {import("./ground.js").Point} Point */

/** @typedef {[string, string]} Fact a label and what is told */
/** @typedef {{name: string, letter: string, color: string, hatch: string, after: boolean}} Crop */
/**
 * A piece of a strip as it is sent; lines in centimeters, step by step.
 * @typedef {object} SentStrip
 * @property {string} name number of the strip, and of its piece where it has several
 * @property {number} crop place of its own crop among the crops
 * @property {number} across its width, in meters
 * @property {string} between letters of the crops between its own rows
 * @property {string[]} words what is told of it, in the order of the labels
 * @property {number[][]} rings
 * @property {number[]} guide a line along its middle
 * @property {number[][]} rows its own
 * @property {number[][]} rows_between those of other crops between them
 */
/**
 * A machine pass as it is sent.
 * @typedef {object} SentPass
 * @property {string} name its number among its machine's passes of this kind of work
 * @property {number[]} over places of the pieces of strips that it works
 * @property {string[]} words what is told of it, in the order of the labels
 * @property {number[][]} stretches in the order driven
 * @property {number[]} lifted places of the stretches with the machine lifted or shut
 */
/**
 * An operation as it is sent.
 * @typedef {object} SentOperation
 * @property {string} name
 * @property {string} about its machine and day
 * @property {string} answer yes, at a cost or no
 * @property {string} reason
 * @property {number} width of its machine, in meters
 * @property {Fact[]} facts its settings and loads
 * @property {Fact[]} cautions
 * @property {SentPass[]} passes in the order driven
 */
/**
 * All that the page is sent.
 * @typedef {object} Sent
 * @property {string} title
 * @property {string} farm
 * @property {string} mark
 * @property {string} date
 * @property {"us" | "metric"} units
 * @property {Plane} plane
 * @property {Fact[]} facts
 * @property {Fact[]} cautions
 * @property {string} missing what was left out for size; mostly nothing
 * @property {Crop[]} crops
 * @property {string} headland what the headland is called
 * @property {{strip: string[], pass: string[]}} labels
 * @property {{field: number[][][], headland: number[][][], obstacles: number[][][]}} ground
 * @property {SentStrip[]} strips
 * @property {SentOperation[]} operations
 */

/** @typedef {{rings: Line[], box: Box}} Area */
/** @typedef {{name: string, crop: Crop, across: number, label: string, words: string[], rings: Line[], box: Box, guide: Line, rows: Line[], between: Line[]}} Strip */
/** @typedef {{name: string, over: number[], words: string[], work: Line[], lifted: Line[], path: Line, box: Box}} Pass */
/** @typedef {{name: string, about: string, answer: string, reason: string, width: number, facts: Fact[], cautions: Fact[], passes: Pass[]}} Operation */
/** @typedef {{field: Area[], headland: Area[], obstacles: Area[], strips: Strip[], operations: Operation[], box: Box}} Ground */

/**
 * @param {number[][]} sent
 * @returns {Area}
 */
export function areaOf(sent) {
  const rings = sent.map(readLine);
  return { rings, box: boxOf(rings) };
}

/**
 * @param {SentPass} sent
 * @returns {Pass}
 */
function passOf({ name, over, words, stretches, lifted }) {
  const lines = stretches.map(readLine);
  return {
    name,
    over,
    words,
    work: lines.filter((_, place) => !lifted.includes(place)),
    lifted: lines.filter((_, place) => lifted.includes(place)),
    path: Float64Array.from(lines.flatMap((line) => [...line])),
    box: boxOf(lines),
  };
}

/**
 * @param {SentStrip} sent
 * @param {Crop} crop
 * @returns {Strip}
 */
export function stripOf({ name, between, across, words, rings, guide, rows, rows_between: others }, crop) {
  const letters = [crop.letter, ...between].join("+");
  return {
    name,
    crop,
    across,
    words,
    ...areaOf(rings),
    label: `${name} ${letters}`,
    guide: readLine(guide),
    rows: rows.map(readLine),
    between: others.map(readLine),
  };
}

/**
 * Read what lies on the ground.
 * @param {Sent} sent
 * @returns {Ground}
 */
export function groundOf(sent) {
  const field = sent.ground.field.map(areaOf);
  return {
    field,
    headland: sent.ground.headland.map(areaOf),
    obstacles: sent.ground.obstacles.map(areaOf),
    strips: sent.strips.map((strip) => stripOf(strip, sent.crops[strip.crop])),
    operations: sent.operations.map((one) => ({ ...one, passes: one.passes.map(passOf) })),
    box: boxOf(field.flatMap((area) => area.rings)),
  };
}
