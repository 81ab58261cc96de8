// Signs on the map, in pixels: the way a pass runs, its ends, and the middle of the view.

/** @typedef {import("./ground.js").Point} Point */

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
