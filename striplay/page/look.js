// The look of a page: for sunlight, or dark.
import { part } from "./parts.js";

/** The look that the browser asks for. @returns {string} */
export const lookAsked = () => (matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "sunlight");

/** The look that the page does not have now. @returns {string} */
export const otherLook = () => (document.body.dataset.mode === "dark" ? "sunlight" : "dark");

/** Wear a look, and offer the other. @param {string} mode sunlight or dark */
export function wearLook(mode) {
  document.body.dataset.mode = mode;
  const other = mode === "dark" ? "Sunlight" : "Dark";
  part("mode").textContent = other;
  part("mode").setAttribute("aria-label", `${other} look`);
}
