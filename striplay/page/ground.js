// Plain geometry of the field page: the field's plane, and where on it a place lies. Meters.

/** @typedef {[number, number]} Point east and north of the field's center, in meters */
/** @typedef {Float64Array} Line east and north by turns, in meters */
/** @typedef {{left: number, bottom: number, right: number, top: number}} Box in meters */
/**
 * The field's plane: transverse Mercator about its center, true to scale there.
 * @typedef {object} Plane
 * @property {number} longitude of its center, in degrees
 * @property {number} latitude of its center, in degrees
 * @property {number} a the ellipsoid's greater half axis, in meters
 * @property {number} e2 the square of its first eccentricity
 */

/** The international foot, in meters. */
export const FOOT_M = 0.3048;
/** A degree. */
export const RADIANS = Math.PI / 180;
const WINDS = ["north", "northeast", "east", "southeast", "south", "southwest", "west", "northwest"];

/**
 * Length of the meridian from the equator to a latitude, in meters.
 * @param {Plane} plane
 * @param {number} latitude in radians
 */
function meridian({ a, e2 }, latitude) {
  const e4 = e2 * e2;
  const e6 = e4 * e2;
  return (
    a *
    ((1 - e2 / 4 - (3 * e4) / 64 - (5 * e6) / 256) * latitude -
      ((3 * e2) / 8 + (3 * e4) / 32 + (45 * e6) / 1024) * Math.sin(2 * latitude) +
      ((15 * e4) / 256 + (45 * e6) / 1024) * Math.sin(4 * latitude) -
      ((35 * e6) / 3072) * Math.sin(6 * latitude))
  );
}

/**
 * Put a place on the plane (Snyder 1987, Map projections: a working manual, equations 3-21, 8-9
 * and 8-10, from memory). Within 50 km of the center it is off by less than a millimeter.
 * @param {Plane} plane
 * @param {number} longitude in degrees
 * @param {number} latitude in degrees
 * @returns {Point}
 */
export function toPlane(plane, longitude, latitude) {
  const phi = latitude * RADIANS;
  const turn = ((longitude - plane.longitude + 540) % 360) - 180;
  const tan2 = Math.tan(phi) ** 2;
  const c = (plane.e2 / (1 - plane.e2)) * Math.cos(phi) ** 2;
  const n = plane.a / Math.sqrt(1 - plane.e2 * Math.sin(phi) ** 2);
  const w = Math.cos(phi) * turn * RADIANS;
  const flat = 5 - 18 * tan2 + tan2 * tan2 + 72 * c - 58 * (plane.e2 / (1 - plane.e2));
  const x = n * (w + ((1 - tan2 + c) * w ** 3) / 6 + (flat * w ** 5) / 120);
  const rise = meridian(plane, phi) - meridian(plane, plane.latitude * RADIANS);
  const bend = w ** 2 / 2 + ((5 - tan2 + 9 * c + 4 * c * c) * w ** 4) / 24;
  return [x, rise + n * Math.tan(phi) * bend];
}

/**
 * Read a line as it is sent: its first point, then steps, in centimeters.
 * @param {number[]} sent
 * @returns {Line}
 */
export function readLine(sent) {
  const line = new Float64Array(sent.length);
  let [x, y] = [0, 0];
  for (let i = 0; i + 1 < sent.length; i += 2) {
    x += sent[i];
    y += sent[i + 1];
    line[i] = x / 100;
    line[i + 1] = y / 100;
  }
  return line;
}

/**
 * The box about some lines.
 * @param {Line[]} lines
 * @returns {Box}
 */
export function boxOf(lines) {
  const box = { left: Infinity, bottom: Infinity, right: -Infinity, top: -Infinity };
  for (const line of lines) {
    for (let i = 0; i < line.length; i += 2) {
      box.left = Math.min(box.left, line[i]);
      box.right = Math.max(box.right, line[i]);
      box.bottom = Math.min(box.bottom, line[i + 1]);
      box.top = Math.max(box.top, line[i + 1]);
    }
  }
  return box;
}

/**
 * Whether two boxes meet, one widened.
 * @param {Box} one
 * @param {Box} other
 * @param {number} [more] in meters
 */
export function meet(one, other, more = 0) {
  return (
    one.left - more <= other.right &&
    one.right + more >= other.left &&
    one.bottom - more <= other.top &&
    one.top + more >= other.bottom
  );
}

/**
 * Whether a point lies in a polygon: an odd number of its edges lie east of it.
 * @param {Point} point
 * @param {Line[]} rings
 */
export function isInside([x, y], rings) {
  let inside = false;
  for (const ring of rings) {
    for (let i = 0; i + 3 < ring.length; i += 2) {
      const [low, high] = [ring[i + 1], ring[i + 3]];
      if (low > y !== high > y) {
        const at = ring[i] + ((y - low) / (high - low)) * (ring[i + 2] - ring[i]);
        if (at > x) {
          inside = !inside;
        }
      }
    }
  }
  return inside;
}

/**
 * The place on some lines nearest to a point: how far off, and which way the line runs there.
 * @param {Point} point
 * @param {Line[]} lines
 * @returns {{away: number, near: Point, along: Point}} `along` has length 1
 */
export function nearest([x, y], lines) {
  let away = Infinity;
  /** @type {Point} */
  let near = [NaN, NaN];
  /** @type {Point} */
  let along = [0, 1];
  for (const line of lines) {
    for (let i = 0; i + 3 < line.length; i += 2) {
      const [dx, dy] = [line[i + 2] - line[i], line[i + 3] - line[i + 1]];
      const length2 = dx * dx + dy * dy;
      const share = length2 ? ((x - line[i]) * dx + (y - line[i + 1]) * dy) / length2 : 0;
      const held = Math.max(0, Math.min(1, share));
      const [px, py] = [line[i] + held * dx, line[i + 1] + held * dy];
      const off = Math.hypot(x - px, y - py);
      if (length2 && off < away) {
        away = off;
        near = [px, py];
        along = [dx / Math.sqrt(length2), dy / Math.sqrt(length2)];
      }
    }
  }
  return { away, near, along };
}

/**
 * How far from a point a ray first meets the edge of a polygon; Infinity where it does not.
 * @param {Point} point
 * @param {Point} way of length 1
 * @param {Line[]} rings
 */
export function reach([x, y], [wx, wy], rings) {
  let first = Infinity;
  for (const ring of rings) {
    for (let i = 0; i + 3 < ring.length; i += 2) {
      const [ax, ay] = [ring[i] - x, ring[i + 1] - y];
      const [bx, by] = [ring[i + 2] - x, ring[i + 3] - y];
      const [left, right] = [wx * ay - wy * ax, wx * by - wy * bx];
      if (left > 0 !== right > 0) {
        const share = left / (left - right);
        const off = wx * (ax + share * (bx - ax)) + wy * (ay + share * (by - ay));
        if (off >= 0 && off < first) {
          first = off;
        }
      }
    }
  }
  return first;
}

/**
 * Length of a line, in meters.
 * @param {Line} line
 */
export function lengthOf(line) {
  let length = 0;
  for (let i = 0; i + 3 < line.length; i += 2) {
    length += Math.hypot(line[i + 2] - line[i], line[i + 3] - line[i + 1]);
  }
  return length;
}

/**
 * The point at a share of a line's length, and which way the line runs there.
 * @param {Line} line
 * @param {number} share from 0 to 1
 * @returns {{point: Point, along: Point}}
 */
export function pointAt(line, share) {
  let left = share * lengthOf(line);
  /** @type {Point} */
  let along = [0, 1];
  for (let i = 0; i + 3 < line.length; i += 2) {
    const [dx, dy] = [line[i + 2] - line[i], line[i + 3] - line[i + 1]];
    const length = Math.hypot(dx, dy);
    if (length) {
      along = [dx / length, dy / length];
      if (left <= length) {
        return { point: [line[i] + left * along[0], line[i + 1] + left * along[1]], along };
      }
      left -= length;
    }
  }
  return { point: [line[line.length - 2], line[line.length - 1]], along };
}

/**
 * The wind that a way points to, such as "northeast".
 * @param {Point} way
 */
export function windOf([dx, dy]) {
  const turns = Math.atan2(dx, dy) / (2 * Math.PI);
  return WINDS[Math.round(8 * (turns + 1)) % 8];
}
