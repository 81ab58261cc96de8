// The key of the map: what each color, hatch and letter stands for.
import { hatchOf } from "./hatch.js";
import { DASHES } from "./paint.js";
import { made } from "./parts.js";

/** @typedef {import("./data.js").Crop} Crop */
/**
 * What of a page's data the key is made of.
 * @typedef {object} Keyed
 * @property {Crop[]} crops
 * @property {string} headland what the headland is called
 * @property {{headland: unknown[], obstacles: unknown[]}} ground
 * @property {{crop: number, between: string}[]} strips
 * @property {Set<number>} [grown] the crops that are told; all when left out
 */

const [WIDE_PIXELS, HIGH_PIXELS, FINE] = [34, 24, 2];

/** @param {string} name of a color in the style sheet @returns {string} as it is in this look */
const inkOf = (name) => getComputedStyle(document.body).getPropertyValue(name).trim();

/**
 * A patch of the map.
 * @param {string} color
 * @param {string} hatch none of what is no crop
 */
function patchOf(color, hatch) {
  const patch = document.createElement("canvas");
  [patch.width, patch.height] = [WIDE_PIXELS * FINE, HIGH_PIXELS * FINE];
  patch.setAttribute("aria-hidden", "true");
  const on = patch.getContext("2d");
  if (!on) {
    return patch;
  }
  on.scale(FINE, FINE);
  on.globalAlpha = hatch ? Number(inkOf("--dim")) : 1;
  on.fillStyle = color;
  on.fillRect(0, 0, WIDE_PIXELS, HIGH_PIXELS);
  const lines = hatchOf(on, hatch, inkOf("--hatch"));
  if (lines) {
    on.fillStyle = lines;
    on.fillRect(0, 0, WIDE_PIXELS, HIGH_PIXELS);
  }
  return patch;
}

/** Rows between those of a strip's own crop, as the map draws them. */
function patchOfRows() {
  const patch = patchOf(inkOf("--paper"), "");
  const on = patch.getContext("2d");
  if (on) {
    on.strokeStyle = inkOf("--ink");
    on.lineWidth = 1;
    on.setLineDash(DASHES);
    on.beginPath();
    for (const y of [HIGH_PIXELS / 4, HIGH_PIXELS / 2, (3 * HIGH_PIXELS) / 4]) {
      on.moveTo(0, y);
      on.lineTo(WIDE_PIXELS, y);
    }
    on.stroke();
  }
  return patch;
}

/**
 * Fill the key: crops with their letters, and what else is colored.
 * @param {HTMLElement} list
 * @param {Keyed} keyed
 */
export function fillKey(list, keyed) {
  const { ground, crops, headland, strips, grown } = keyed;
  const own = new Set(strips.map((strip) => strip.crop));
  const between = strips.map((strip) => strip.between).join("");
  /** @type {[HTMLCanvasElement, string][]} as many as crops */
  const each = crops.map(({ color, hatch, letter, name, after }, crop) =>
    after
      ? [patchOf("transparent", ""), `${letter}  ${name}, after a harvest`]
      : own.has(crop) || !between.includes(letter)
      ? [patchOf(color, hatch), `${letter}  ${name}`]
      : [patchOfRows(), `${letter}  ${name}, between the rows`],
  );
  const lines = each.filter((_, crop) => grown?.has(crop) ?? true);
  if (ground.headland.length) {
    lines.push([patchOf(inkOf("--headland"), ""), headland]);
  }
  if (ground.obstacles.length) {
    lines.push([patchOf(inkOf("--obstacle"), ""), "Obstacle"]);
  }
  list.replaceChildren(
    ...lines.map(([patch, words]) => {
      const line = made("p", "", "crop");
      line.append(patch, made("span", words));
      return line;
    }),
  );
}
