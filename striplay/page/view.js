// The part of the ground in view: meters to pixels of the map and back.

/** @typedef {import("./ground.js").Box} Box */
/** @typedef {import("./ground.js").Line} Line */
/** @typedef {import("./ground.js").Point} Point */
/** @typedef {{x: number, y: number, scale: number, width: number, height: number}} View its middle in meters, pixels a meter, and its size in pixels */

/** Room for the scale and the buttons at the foot of the map. */
const FOOT_PIXELS = 60;
/** What is looked for lies so far from the edges of the view, or the map moves there. */
const INSIDE_PIXELS = 24;

/** @param {View} view @param {Point} point @returns {Point} in pixels */
export const inPixels = (view, [x, y]) => [
  view.width / 2 + (x - view.x) * view.scale,
  view.height / 2 - (y - view.y) * view.scale,
];

/** @param {View} view @param {Point} pixels @returns {Point} in meters */
export const inMeters = (view, [px, py]) => [
  view.x + (px - view.width / 2) / view.scale,
  view.y - (py - view.height / 2) / view.scale,
];

/** The middle of what the buttons leave free. @param {View} view @returns {Point} in pixels */
export const middleOf = ({ width, height }) => [
  width / 2,
  Math.max(height - FOOT_PIXELS, height / 2) / 2,
];

/** The ground in view. @param {View} view @returns {Box} in meters */
export function seenIn(view) {
  const [left, top] = inMeters(view, [0, 0]);
  const [right, bottom] = inMeters(view, [view.width, view.height]);
  return { left, bottom, right, top };
}

/** The ground well in view: clear of the edges and of the buttons. @param {View} view @returns {Box} in meters */
export function clearIn(view) {
  const [left, top] = inMeters(view, [INSIDE_PIXELS, INSIDE_PIXELS]);
  const foot = 2 * middleOf(view)[1];
  const [right, bottom] = inMeters(view, [view.width - INSIDE_PIXELS, foot]);
  return { left, bottom, right, top };
}

/** @param {View} one @param {View} other whether they show the same, as large */
export const isSameView = (one, other) =>
  one.x === other.x && one.y === other.y && one.scale === other.scale;

/**
 * A view that shows a point in the middle of what the buttons leave free.
 * @param {View} view
 * @param {Point} point
 * @returns {View}
 */
export function viewAbout(view, [x, y]) {
  const [px, py] = middleOf(view);
  const [east, south] = [px - view.width / 2, py - view.height / 2];
  return { ...view, x: x - east / view.scale, y: y + south / view.scale };
}

/**
 * A view that shows a box.
 * @param {View} view
 * @param {Box} box
 * @param {number} room share of the view that it fills
 * @returns {View}
 */
export function viewOver(view, box, room) {
  const [wide, high] = [Math.max(box.right - box.left, 1), Math.max(box.top - box.bottom, 1)];
  const high_room = room * 2 * middleOf(view)[1];
  const scale = Math.min((room * view.width) / wide, high_room / high, 4);
  return viewAbout({ ...view, scale }, [(box.left + box.right) / 2, (box.bottom + box.top) / 2]);
}

/**
 * The share of a step at which it enters a box, and at which it leaves it; null where it stays out
 * (the parametric way of Y.-D. Liang and B. A. Barsky, 1984, from memory).
 * @param {number} x where it starts
 * @param {number} y
 * @param {number} dx how far it goes
 * @param {number} dy
 * @param {Box} box
 * @returns {[number, number] | null}
 */
export function shareInside(x, y, dx, dy, box) {
  let [first, last] = [0, 1];
  const sides = [-dx, x - box.left, dx, box.right - x, -dy, y - box.bottom, dy, box.top - y];
  for (let i = 0; i < 8; i += 2) {
    const [against, room] = [sides[i], sides[i + 1]];
    if (against === 0 ? room < 0 : false) {
      return null;
    }
    if (against < 0) {
      first = Math.max(first, room / against);
    } else if (against > 0) {
      last = Math.min(last, room / against);
    }
  }
  return first <= last ? [first, last] : null;
}

/**
 * The longest stretch of a line that lies in a box.
 * @param {Line} line
 * @param {Box} box
 * @returns {Line} empty where none does
 */
export function longestIn(line, box) {
  /** @type {number[]} */
  let best = [];
  /** @type {number[]} */
  let now = [];
  let [most, length] = [0, 0];
  for (let i = 0; i + 3 < line.length; i += 2) {
    const [x, y, dx, dy] = [line[i], line[i + 1], line[i + 2] - line[i], line[i + 3] - line[i + 1]];
    const inside = shareInside(x, y, dx, dy, box);
    if (!inside || inside[0] > 0 || !now.length) {
      [now, length] = [[], 0];
    }
    if (inside) {
      if (!now.length) {
        now.push(x + inside[0] * dx, y + inside[0] * dy);
      }
      now.push(x + inside[1] * dx, y + inside[1] * dy);
      length += (inside[1] - inside[0]) * Math.hypot(dx, dy);
      if (length > most) {
        [best, most] = [now.slice(), length];
      }
    }
  }
  return Float64Array.from(best);
}
