// Hands on the map: fingers, mouse and keys.

/** @typedef {import("./ground.js").Point} Point */
/** @typedef {ReturnType<import("./map.js").makeMap>} Shown the map as it is shown */

/** How far a finger moves before it pans, in pixels. */
const SLIP_PIXELS = 9;
/** What an arrow key moves the map by, in pixels, and what a key zooms by. */
const KEY_PIXELS = 60;
const KEY_ZOOM = 1.4;

/** @param {PointerEvent | WheelEvent} event @returns {Point} */
const placeOf = (event) => [event.offsetX, event.offsetY];

/**
 * The middle of two fingers, and how far they are apart.
 * @param {Map<number, Point>} fingers
 */
function spreadOf(fingers) {
  const [one, two] = [...fingers.values()];
  const [x, y] = [two[0] - one[0], two[1] - one[1]];
  /** @type {Point} */
  const middle = [one[0] + x / 2, one[1] + y / 2];
  return { middle, apart: Math.max(Math.hypot(x, y), 1) };
}

/**
 * What a hand does on the map besides moving it.
 * @typedef {object} Hand
 * @property {(point: Point) => void} take shows what lies at a point, in meters
 * @property {Record<string, (event: KeyboardEvent) => void>} keys what each key does
 * @property {(pixels: Point, event: PointerEvent) => Held | null} [grab] takes hold of what lies there; null moves the map
 * @property {boolean} [still] whether the middle of the map stays unmarked while keys are pressed
 */
/**
 * What a finger holds.
 * @typedef {object} Held
 * @property {(pixels: Point) => void} move
 * @property {(kept: boolean) => void} drop not kept where a second finger came or the hold was broken
 */

/**
 * Move the map by fingers and mouse, and take what is tapped.
 * @param {HTMLElement} over
 * @param {Shown} map
 * @param {Hand} hand
 */
function listenToFingers(over, map, { take, grab }) {
  /** @type {Map<number, Point>} */
  const fingers = new Map();
  /** @type {Held | null} */
  let held = null;
  let moved = 0;

  /** @param {boolean} kept */
  const letGo = (kept) => {
    held?.drop(kept && moved > SLIP_PIXELS);
    held = null;
  };

  /** @param {PointerEvent} event */
  const onUp = (event) => {
    const tapped = fingers.size === 1 && fingers.has(event.pointerId) && moved <= SLIP_PIXELS;
    fingers.delete(event.pointerId);
    letGo(event.type === "pointerup");
    if (tapped && event.type === "pointerup") {
      take(map.toMeters(placeOf(event)));
    }
  };

  /** One finger moves what it holds, or the map. @param {Point} before @param {Point} now */
  const moveOne = (before, now) => {
    const [dx, dy] = [now[0] - before[0], now[1] - before[1]];
    moved += Math.hypot(dx, dy);
    if (moved > SLIP_PIXELS && held) {
      held.move(now);
    } else if (moved > SLIP_PIXELS) {
      map.pan(dx, dy);
    }
  };

  over.addEventListener("pointerdown", (event) => {
    letGo(false);
    held = fingers.size ? null : (grab?.(placeOf(event), event) ?? null);
    moved = fingers.size ? Infinity : 0;
    fingers.set(event.pointerId, placeOf(event));
    over.setPointerCapture(event.pointerId);
  });
  over.addEventListener("pointermove", (event) => {
    const before = fingers.get(event.pointerId);
    if (!before) {
      return;
    }
    const now = placeOf(event);
    if (fingers.size === 1) {
      moveOne(before, now);
      fingers.set(event.pointerId, now);
      return;
    }
    const was = spreadOf(fingers);
    fingers.set(event.pointerId, now);
    const is = spreadOf(fingers);
    map.pan(is.middle[0] - was.middle[0], is.middle[1] - was.middle[1]);
    map.zoom(is.apart / was.apart, is.middle);
  });
  over.addEventListener("pointerup", onUp);
  over.addEventListener("pointercancel", onUp);
  over.addEventListener(
    "wheel",
    (event) => {
      event.preventDefault();
      map.zoom(Math.exp(-Math.max(-200, Math.min(200, event.deltaY)) / 300), placeOf(event));
    },
    { passive: false },
  );
}

/**
 * The keys that zoom.
 * @param {Shown} map
 * @returns {Record<string, () => void>}
 */
export const zoomingKeys = (map) => ({
  "+": () => map.zoom(KEY_ZOOM, map.middle()),
  "=": () => map.zoom(KEY_ZOOM, map.middle()),
  "-": () => map.zoom(1 / KEY_ZOOM, map.middle()),
  0: () => map.whole(),
});

/**
 * The keys that move the map and zoom.
 * @param {Shown} map
 * @returns {Record<string, () => void>}
 */
export const movingKeys = (map) => ({
  ...zoomingKeys(map),
  ArrowLeft: () => map.pan(KEY_PIXELS, 0),
  ArrowRight: () => map.pan(-KEY_PIXELS, 0),
  ArrowUp: () => map.pan(0, KEY_PIXELS),
  ArrowDown: () => map.pan(0, -KEY_PIXELS),
});

/**
 * Do what keys ask for; the map's middle is marked while they do.
 * @param {HTMLElement} over
 * @param {Shown} map
 * @param {Hand} hand
 */
function listenToKeys(over, map, { take, keys, still }) {
  /** @type {Hand["keys"]} */
  const all = { Enter: () => take(map.toMeters(map.middle())), ...keys };
  over.addEventListener("keydown", (event) => {
    const act = all[event.key.length === 1 ? event.key.toLowerCase() : event.key];
    if (act && !event.ctrlKey && !event.metaKey && !event.altKey) {
      event.preventDefault();
      map.mark({ cross: !still });
      act(event);
    }
  });
  over.addEventListener("blur", () => map.mark({ cross: false }));
}

/**
 * Let the map be moved, and what is on it be taken.
 * @param {HTMLElement} base
 * @param {HTMLElement} over
 * @param {Shown} map
 * @param {Hand} hand
 */
export function listenToMap(base, over, map, hand) {
  listenToFingers(over, map, hand);
  listenToKeys(over, map, hand);
  new ResizeObserver(() => map.resize()).observe(base);
}
