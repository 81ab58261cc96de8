// Lines over the fills of crops, so that they are told apart without color.

/** Every hatch: the size of its tile in pixels, and the lines on it. */
/** @type {Record<string, {size: number, lines: number[][], dash?: number[]}>} */
const HATCHES = {
  rising: { size: 10, lines: [[0, 10, 10, 0], [-5, 5, 5, -5], [5, 15, 15, 5]] },
  falling: { size: 10, lines: [[0, 0, 10, 10], [-5, 5, 5, 15], [5, -5, 15, 5]] },
  across: { size: 8, lines: [[0, 4, 8, 4]] },
  upright: { size: 8, lines: [[4, 0, 4, 8]] },
  grid: { size: 10, lines: [[0, 5, 10, 5], [5, 0, 5, 10]] },
  crossed: { size: 10, lines: [[0, 0, 10, 10], [0, 10, 10, 0]] },
  dots: { size: 8, lines: [[3.2, 4, 4.8, 4]] },
  "wide rising": { size: 18, lines: [[0, 18, 18, 0], [-9, 9, 9, -9], [9, 27, 27, 9]] },
  "wide falling": { size: 18, lines: [[0, 0, 18, 18], [-9, 9, 9, 27], [9, -9, 27, 9]] },
  dashes: { size: 12, lines: [[1, 3, 6, 3], [7, 9, 12, 9]] },
}; // prettier-ignore

/** @type {Map<string, CanvasPattern | null>} */
const patterns = new Map();

/**
 * The pattern of a hatch in a color; null for none.
 * @param {CanvasRenderingContext2D} on
 * @param {string} name
 * @param {string} ink
 */
export function hatchOf(on, name, ink) {
  const key = `${name} ${ink}`;
  if (!patterns.has(key)) {
    patterns.set(key, name in HATCHES ? patternOf(on, HATCHES[name], ink) : null);
  }
  return patterns.get(key) ?? null;
}

/**
 * @param {CanvasRenderingContext2D} on
 * @param {{size: number, lines: number[][]}} hatch
 * @param {string} ink
 */
function patternOf(on, { size, lines }, ink) {
  const tile = document.createElement("canvas");
  [tile.width, tile.height] = [size, size];
  const pen = tile.getContext("2d");
  if (!pen) {
    return null;
  }
  pen.strokeStyle = ink;
  pen.lineWidth = 1;
  for (const [x, y, ex, ey] of lines) {
    pen.beginPath();
    pen.moveTo(x, y);
    pen.lineTo(ex, ey);
    pen.stroke();
  }
  return on.createPattern(tile, "repeat");
}
