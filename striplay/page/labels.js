// Names of strips on the map: where each has room, clear of one another and of what lies over the map.
import { lengthOf, meet, pointAt } from "./ground.js";
import { inPixels, longestIn, seenIn } from "./view.js";

/** @typedef {import("./data.js").Strip} Strip */
/** @typedef {import("./ground.js").Box} Box */
/** @typedef {import("./ground.js").Line} Line */
/** @typedef {import("./view.js").View} View */
/** @typedef {{strip: Strip, x: number, y: number, box: Box}} Label in pixels, its middle and what it takes */

/** Strips so many pixels wide are all named; where none is so wide, those that have room. */
const NAME_PIXELS = 15;
/** A name every so many pixels along a strip. */
const APART_PIXELS = 300;
const MOST_NAMES = 40;
const HALF_HIGH_PIXELS = 9;
const FREE_PIXELS = 3;
/** Where else a name is tried, as shares of what is between it and the next. */
const ELSEWHERE = [0, 0.12, -0.12, 0.24, -0.24, 0.36, -0.36];
/** Where the name of the strip that is chosen is tried, from its middle out. */
const ALONG = Array.from({ length: 49 }, (_, k) => 0.5 + (k % 2 ? 0.01 : -0.01) * (k + (k % 2)));

/** A box about a point. @param {number} x @param {number} y @param {number} wide half @param {number} high half @returns {Box} */
export const boxAbout = (x, y, wide, high) => ({
  left: x - wide,
  right: x + wide,
  bottom: y - high,
  top: y + high,
});

/**
 * A strip's name at a share of a line; null where it has no room.
 * @param {View} view
 * @param {Strip} strip
 * @param {Line} line
 * @param {number} share
 * @param {number} wide of the name
 * @param {Box[]} taken
 * @returns {Label | null}
 */
function labelAt(view, strip, line, share, wide, taken) {
  const [x, y] = inPixels(view, pointAt(line, share).point);
  const box = boxAbout(x, y, wide / 2 + FREE_PIXELS, HALF_HIGH_PIXELS);
  const shown = box.left > 0 && box.right < view.width && box.bottom > 0 && box.top < view.height;
  return shown && !taken.some((other) => meet(other, box)) ? { strip, x, y, box } : null;
}

/**
 * Place the names of strips.
 * @param {View} view
 * @param {Strip[]} strips in view
 * @param {(text: string) => number} wideOf how wide a name is
 * @param {Box[]} kept what is to be left free
 * @param {boolean} [alone] whether strips without the width for a name have none
 * @returns {Label[]}
 */
export function placeLabels(view, strips, wideOf, kept, alone = false) {
  const wide = strips.filter((strip) => strip.across * view.scale >= NAME_PIXELS);
  const tries = wide.length ? ELSEWHERE : [0];
  const taken = [...kept];
  /** @type {Label[]} */
  const found = [];
  for (const strip of wide.length || alone ? wide : strips) {
    const line = longestIn(strip.guide, seenIn(view));
    const many = Math.max(1, Math.round((lengthOf(line) * view.scale) / APART_PIXELS));
    const count = line.length ? Math.min(many, MOST_NAMES) : 0;
    for (let k = 0; k < count; k += 1) {
      for (const aside of tries) {
        const share = (k + 0.5 + aside) / count;
        const label = labelAt(view, strip, line, share, wideOf(strip.label), taken);
        if (label) {
          found.push(label);
          taken.push(label.box);
          break;
        }
      }
    }
  }
  return found;
}

/**
 * Place the name of the strip that is chosen, where it has none yet: beside the others, or instead of some.
 * @param {View} view
 * @param {Strip} strip
 * @param {(text: string) => number} wideOf
 * @param {Label[]} labels of all
 * @param {Box[]} kept
 * @returns {Label[]} with it; without it where it has no room at all
 */
export function withChosen(view, strip, wideOf, labels, kept) {
  const line = longestIn(strip.guide, seenIn(view));
  if (!line.length || labels.some((label) => label.strip === strip)) {
    return labels;
  }
  /** @param {Box[]} taken */
  const placed = (taken) => {
    for (const share of ALONG) {
      const label = labelAt(view, strip, line, share, wideOf(strip.label), taken);
      if (label) {
        return label;
      }
    }
    return null;
  };
  const beside = placed([...kept, ...labels.map((label) => label.box)]);
  if (beside) {
    return [...labels, beside];
  }
  const instead = placed(kept);
  return instead ? [...labels.filter(({ box }) => !meet(box, instead.box)), instead] : labels;
}
