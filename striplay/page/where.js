// Where a place lies: in which strip and pass, and how far from their edges.
import { isInside, meet, nearest, reach, windOf } from "./ground.js";

/** @typedef {import("./data.js").Area} Area */
/** @typedef {import("./data.js").Ground} Ground */
/** @typedef {import("./data.js").Operation} Operation */
/** @typedef {import("./data.js").Strip} Strip */
/** @typedef {import("./ground.js").Box} Box */
/** @typedef {import("./ground.js").Point} Point */

/** Faster than a brisk walk, in meters a second (common practice, no source). */
export const FASTER_THAN_A_WALK = 1.7;
/** Pace is told over so many seconds at least: between two readings a phone's place may leap. */
const PACE_SECONDS = 4;
/** Over so many seconds even a place that is not sure tells that its bearer may be driving. */
const LONG_SECONDS = 15;
/** Readings are kept for so many seconds, and the last two always. */
const KEPT_SECONDS = 30;
/** A place is sent to the centimeter, and lines are simplified by 5 cm: so much more is a swath. */
const SWATH_ROOM = 0.1;

/**
 * A box of no size at a point.
 * @param {Point} point
 * @returns {Box}
 */
function boxAt([x, y]) {
  return { left: x, right: x, bottom: y, top: y };
}

/**
 * The place among some areas of the one that a point lies in; -1 for none.
 * @param {Area[]} areas
 * @param {Point} point
 */
export function areaAt(areas, point) {
  const box = boxAt(point);
  return areas.findIndex((one) => meet(one.box, box) && isInside(point, one.rings));
}

/**
 * What lies at a point where no strip does.
 * @param {Pick<Ground, "field" | "headland" | "obstacles">} ground
 * @param {string} headland what the headland is called
 * @param {Point} point
 */
export function wordsOffStrips(ground, headland, point) {
  const kinds = /** @type {const} */ ([
    ["obstacles", "Obstacle: not cropped, go round it"],
    ["headland", headland],
    ["field", "Left over: no strip covers it"],
  ]);
  const found = kinds.find(([kind]) => areaAt(ground[kind], point) >= 0);
  return found ? found[1] : "Outside the field";
}

/**
 * The place of an operation's pass that goes over a point, the nearest of several; -1 for none.
 * @param {Operation} operation
 * @param {Point} point
 * @param {number} strip place of the piece of strip that the point lies in; -1 for none
 */
export function passAt(operation, point, strip) {
  let [found, least] = [-1, operation.width / 2 + SWATH_ROOM];
  operation.passes.forEach((pass, index) => {
    const works = strip < 0 ? !pass.over.length : pass.over.includes(strip);
    if (works && meet(pass.box, boxAt(point), least)) {
      const { away } = nearest(point, [pass.path]);
      if (away <= least) {
        [found, least] = [index, away];
      }
    }
  });
  return found;
}

/**
 * The places of an operation's passes that work a piece of a strip, in the order driven.
 * @param {Operation} operation
 * @param {number} strip its place
 */
export function passesOver(operation, strip) {
  return operation.passes.flatMap((pass, index) => (pass.over.includes(strip) ? [index] : []));
}

/**
 * How far it is from a point in a piece of a strip to its edges: across, then along.
 * @param {Strip} strip
 * @param {Point} point
 * @returns {{away: number, wind: string}[]} those that are met, each with the wind it lies toward
 */
export function edgesOf(strip, point) {
  const [x, y] = nearest(point, [strip.guide]).along;
  /** @type {Point[]} */
  const ways = [[-y, x], [y, -x], [x, y], [-x, -y]]; // prettier-ignore
  const found = ways.map((way) => ({ away: reach(point, way, strip.rings), wind: windOf(way) }));
  return found.filter((one) => Number.isFinite(one.away));
}

/**
 * The places of the pieces of strips that a circle meets: where a phone may be.
 * @param {Ground} ground
 * @param {Point} point
 * @param {number} radius in meters
 */
export function stripsWithin(ground, point, radius) {
  return ground.strips.flatMap((strip, index) => {
    const near =
      meet(strip.box, boxAt(point), radius) &&
      (isInside(point, strip.rings) || nearest(point, strip.rings).away <= radius);
    return near ? [index] : [];
  });
}

/**
 * Where a phone was, by its own word.
 * @typedef {object} Reading
 * @property {Point} point
 * @property {number} accuracy in meters, 19 times in 20 (W3C Geolocation)
 * @property {number | null} speed in meters a second
 * @property {number} seconds when, since some day
 */

/**
 * The readings that tell of a phone's pace now.
 * @param {Reading[]} readings oldest first
 */
export function recent(readings) {
  const last = readings[readings.length - 1];
  return readings.filter(
    (one, place) => last.seconds - one.seconds <= KEPT_SECONDS || place >= readings.length - 2,
  );
}

/**
 * Whether a phone moves faster than its bearer walks: by its own word, or over any of several spans.
 * @param {Reading[]} readings the recent ones, oldest first
 * @returns {"" | "likely" | "sure"} "likely" where its places are too far off to be sure
 */
export function drivenBy(readings) {
  const last = readings[readings.length - 1];
  if ((last.speed ?? 0) > FASTER_THAN_A_WALK) {
    return "sure";
  }
  const spans = readings.map(({ point: [x, y], accuracy, seconds }) => ({
    seconds: last.seconds - seconds,
    more:
      Math.hypot(last.point[0] - x, last.point[1] - y) -
      FASTER_THAN_A_WALK * (last.seconds - seconds),
    unsure: last.accuracy + accuracy,
  }));
  if (spans.some((span) => span.seconds >= PACE_SECONDS && span.more > span.unsure)) {
    return "sure";
  }
  return spans.some((span) => span.seconds >= LONG_SECONDS && span.more > 0) ? "likely" : "";
}
