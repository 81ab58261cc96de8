// The field page on paper: the whole field in sunlight, every strip, every pass of the operation.
import { fillKey } from "./key.js";
import { made, part, table } from "./parts.js";

/** @typedef {import("./data.js").Ground} Ground */
/** @typedef {import("./data.js").Operation} Operation */
/** @typedef {import("./data.js").Sent} Sent */
/** @typedef {ReturnType<import("./map.js").makeMap>} Shown the map as it is shown */

/** The map on paper: as wide as a page, and two thirds as high.  @type {[number, number]} */
const PRINTED_PIXELS = [720, 480];

/**
 * Make ready for paper whenever the browser prints.
 * @param {Sent} sent
 * @param {Ground} ground
 * @param {Shown} map
 * @param {() => Operation | undefined} operation the one that is chosen
 * @param {() => () => void} brighten shows the page in sunlight, and gives what shows it as before
 */
export function listenToPrinter(sent, ground, map, operation, brighten) {
  let restore = () => {};
  addEventListener("beforeprint", () => {
    restore = brighten();
    const one = operation();
    const tables = [
      table("Strips", ["Strip", ...sent.labels.strip], ground.strips.map((s) => [s.name, ...s.words])),
    ];
    if (one) {
      const rows = one.passes.map((pass) => [pass.name, ...pass.words]);
      tables.push(table(`Passes: ${one.name}`, ["Pass", ...sent.labels.pass], rows));
    }
    const caution = made("p", "The map is not a legal survey. This page shows a plan and steers nothing.");
    const key = made("div", "", "key");
    fillKey(key, sent);
    part("print").replaceChildren(map.picture(...PRINTED_PIXELS), key, caution, ...tables);
  });
  addEventListener("afterprint", () => {
    part("print").replaceChildren();
    restore();
  });
}
