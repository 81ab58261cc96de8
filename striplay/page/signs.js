// Signs on the map, in pixels: names, the way a pass runs, its ends, the view's middle, scale and north.
import { FOOT_M } from "./ground.js";

/** @typedef {import("./ground.js").Point} Point */
/** @typedef {import("./paint.js").Brush} Brush */

/** From the middle of an arrow or a letter to the edge of what it takes. */
export const SIGN_PIXELS = 11;
const SCALE_STEPS = [5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000];

/**
 * Write on the map, on paper round each letter.
 * @param {Brush} brush
 * @param {string} text
 * @param {number} x
 * @param {number} y
 */
export function writeOn({ on, color }, text, x, y) {
  on.strokeStyle = color("--paper");
  on.lineWidth = 4;
  on.strokeText(text, x, y);
  on.fillStyle = color("--ink");
  on.fillText(text, x, y);
}

/**
 * A scale in the lower left corner.
 * @param {Brush} brush
 * @param {"us" | "metric"} units
 */
export function scaleBar(brush, units) {
  const { on, view, color } = brush;
  const unit = units === "us" ? FOOT_M : 1;
  const most = Math.min(160, view.width / 3);
  const fits = SCALE_STEPS.filter((step) => step * unit * view.scale <= most);
  const step = fits.length ? fits[fits.length - 1] : SCALE_STEPS[0];
  const [x, y] = [14, view.height - 14];
  const end = x + step * unit * view.scale;
  for (const [ink, wide] of /** @type {[string, number][]} */ ([["--paper", 6], ["--ink", 2]])) {
    on.strokeStyle = color(ink);
    on.lineWidth = wide;
    on.beginPath();
    on.moveTo(x, y - 6);
    on.lineTo(x, y);
    on.lineTo(end, y);
    on.lineTo(end, y - 6);
    on.stroke();
  }
  on.font = `600 13px ${color("--face")}`;
  [on.textAlign, on.textBaseline] = ["left", "alphabetic"];
  writeOn(brush, `${step.toLocaleString("en")} ${units === "us" ? "ft" : "m"}`, x + 4, y - 8);
}

/** An arrow to the north in the upper left corner. @param {Brush} brush */
export function northArrow(brush) {
  const { on, color } = brush;
  on.font = `600 13px ${color("--face")}`;
  [on.textAlign, on.textBaseline] = ["center", "alphabetic"];
  writeOn(brush, "N", 20, 46);
  on.beginPath();
  on.moveTo(20, 10);
  on.lineTo(27, 34);
  on.lineTo(20, 29);
  on.lineTo(13, 34);
  on.closePath();
  on.strokeStyle = color("--paper");
  on.lineWidth = 4;
  on.stroke();
  on.fill();
}

/**
 * An arrow head.
 * @param {CanvasRenderingContext2D} on
 * @param {Point} at in pixels
 * @param {Point} along the way it points, north up, of length 1
 * @param {string} ink
 * @param {string} paper round it
 */
export function arrow(on, [x, y], [dx, dy], ink, paper) {
  on.beginPath();
  on.moveTo(x + 9 * dx, y - 9 * dy);
  on.lineTo(x - 7 * dx - 8 * dy, y + 7 * dy - 8 * dx);
  on.lineTo(x - 7 * dx + 8 * dy, y + 7 * dy + 8 * dx);
  on.closePath();
  on.fillStyle = ink;
  on.fill();
  on.strokeStyle = paper;
  on.lineWidth = 1.5;
  on.stroke();
}

/**
 * A letter in a box.
 * @param {CanvasRenderingContext2D} on
 * @param {string} text
 * @param {Point} at in pixels
 * @param {string} face
 * @param {string} ink of the box
 * @param {string} paper of the letter
 */
export function letter(on, text, [x, y], face, ink, paper) {
  on.fillStyle = ink;
  on.fillRect(x - 10, y - 10, 20, 20);
  on.strokeStyle = paper;
  on.lineWidth = 2;
  on.strokeRect(x - 10, y - 10, 20, 20);
  on.font = `700 14px ${face}`;
  on.textAlign = "center";
  on.textBaseline = "middle";
  on.fillStyle = paper;
  on.fillText(text, x, y + 1);
}

/**
 * A cross, open in its middle.
 * @param {CanvasRenderingContext2D} on
 * @param {Point} at in pixels
 * @param {string} ink
 */
export function cross(on, [x, y], ink) {
  on.beginPath();
  for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
    on.moveTo(x + 4 * dx, y + 4 * dy);
    on.lineTo(x + 14 * dx, y + 14 * dy);
  }
  on.strokeStyle = ink;
  on.lineWidth = 2;
  on.stroke();
}
