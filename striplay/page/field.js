// The field page: what is shown, and what is done by tap, key and phone.
import { groundOf } from "./data.js";
import { nearest, pointAt } from "./ground.js";
import { listenToMap, movingKeys } from "./hands.js";
import { makeHere } from "./here.js";
import { fillKey } from "./key.js";
import { lookAsked, otherLook, wearLook } from "./look.js";
import { makeMap } from "./map.js";
import { listenToPrinter } from "./paper.js";
import { button, counted, fillFacts, input, made, paired, part, sentence, wordsOfPass } from "./parts.js";
import { areaAt, passAt, passesOver, wordsOffStrips } from "./where.js";

/** @typedef {import("./data.js").Sent} Sent */
/** @typedef {import("./ground.js").Point} Point */

/** @type {Sent} */
const sent = JSON.parse(part("data").textContent ?? "");
const ground = groundOf(sent);
const over = /** @type {HTMLCanvasElement} */ (part("over"));
const base = /** @type {HTMLCanvasElement} */ (part("base"));
const map = makeMap(base, over, part("tools"), ground, sent.units);
const whereabouts = makeHere(sent, ground, map, operation, say);
/** Strips and passes narrower than a fingertip are easily missed. */
const NARROW_PIXELS = 12;
const NARROW = "Lines are close together here: zoom in and tap again, or use the arrows.";
const TABS = ["strip", "passes", "where", "cautions"];
/** What is chosen: places in their lists, -1 for none. */
const chosen = { tab: "strip", strip: -1, operation: 0, pass: 0 };

/**
 * Tell a reader of screens what has changed.
 * @param {string} text
 */
function say(text) {
  part("said").textContent = text;
}

/** @param {string} tab */
function showTab(tab) {
  chosen.tab = tab;
  for (const name of TABS) {
    const [head, panel] = [part(`tab-${name}`), part(name)];
    head.setAttribute("aria-selected", String(name === tab));
    head.tabIndex = name === tab ? 0 : -1;
    panel.hidden = name !== tab;
  }
  part("side").scrollTop = 0;
  showPasses();
}

/** The operation that is chosen; undefined in a plan without any. */
function operation() {
  return ground.operations[chosen.operation];
}

/** Draw the passes of the operation, where they are asked for. */
function showPasses() {
  const shown = chosen.tab === "passes" || chosen.tab === "where" ? operation() : undefined;
  const passes = shown && chosen.tab === "passes" ? shown.passes : [];
  map.mark({
    operation: shown ?? null,
    pass: passes[chosen.pass] ?? null,
    next: passes[chosen.pass + 1] ?? null,
    strip: chosen.tab === "strip" ? (ground.strips[chosen.strip] ?? null) : null,
  });
}

/** Bring the pass's start into view where nothing of the pass is. */
function revealPass() {
  const { path } = operation().passes[chosen.pass];
  map.reveal(path, pointAt(path, 0).point);
}

/** Bring the nearest part of the strip into view where nothing of the strip is. */
function revealStrip() {
  const { guide } = ground.strips[chosen.strip];
  map.reveal(guide, nearest(map.toMeters(map.middle()), [guide]).near);
}

/**
 * Show a pass of any operation.
 * @param {number} index of the operation
 * @param {number} pass its place
 */
function goToPass(index, pass) {
  [chosen.operation, chosen.pass] = [index, pass];
  showOperation();
  showTab("passes");
  revealPass();
}

/**
 * Offer the passes over what was taken; of those, the passes at the point that was tapped stand out.
 * @param {number} strip its place; -1 on the headland
 * @param {Point | null} point
 */
function offerPasses(strip, point) {
  const links = ground.operations.flatMap((one, index) => {
    const here = point ? passAt(one, point, strip) : -1;
    const places = strip < 0 ? [here].filter((pass) => pass >= 0) : passesOver(one, strip);
    return places.map((pass) => {
      const text = `${one.name}, pass ${one.passes[pass].name}`;
      const link = button(pass === here ? `${text}, here` : text, () => goToPass(index, pass));
      link.className = pass === here ? "here" : "";
      return link;
    });
  });
  part("strip-over").hidden = !links.length;
  part("strip-passes").replaceChildren(...links);
}

/**
 * Show a piece of a strip.
 * @param {number} place
 * @param {Point | null} [point] in it, where it was tapped
 */
function showStrip(place, point = null) {
  const strip = ground.strips[place];
  chosen.strip = place;
  part("strip-title").textContent = `Strip ${strip.name}: ${strip.crop.name}`;
  fillFacts(part("strip-facts"), paired(sent.labels.strip, strip.words));
  offerPasses(place, point);
  map.mark({ strip });
  const [crop, also, rows] = strip.words;
  say([`Strip ${strip.name}`, crop, also, rows && counted(Number(rows), "row")].filter(Boolean).join(", "));
}

/**
 * Say what is no strip.
 * @param {Point} point
 */
function showNoStrip(point) {
  tellNone(wordsOffStrips(ground, sent.headland, point));
  offerPasses(-1, point);
}

/** Show the operation that is chosen, and its pass. */
function showOperation() {
  const one = operation();
  if (!one) {
    return;
  }
  /** @type {HTMLSelectElement} */ (part("operation")).selectedIndex = chosen.operation;
  const reason = one.reason ? `. ${sentence(one.reason)}` : "";
  part("answer").textContent = `${one.about}. Can it be done: ${one.answer}${reason}`;
  fillFacts(part("operation-facts"), one.facts);
  fillFacts(part("operation-cautions"), one.cautions);
  showPass(chosen.pass);
}

/**
 * Show a pass of the operation.
 * @param {number} place
 */
function showPass(place) {
  const { passes, name } = operation();
  chosen.pass = Math.max(0, Math.min(passes.length - 1, place));
  const pass = passes[chosen.pass];
  /** @type {HTMLButtonElement} */ (part("back")).disabled = chosen.pass === 0;
  /** @type {HTMLButtonElement} */ (part("on")).disabled = chosen.pass === passes.length - 1;
  const title = wordsOfPass(operation(), chosen.pass);
  part("pass-title").textContent = title;
  fillFacts(part("pass-facts"), paired(sent.labels.pass, pass.words));
  showPasses();
  say(`${name}: ${title}, ${pass.words.slice(0, 4).filter(Boolean).join(", ")}`);
}

/**
 * Go to another pass of the operation, in the order driven.
 * @param {number} steps
 */
function step(steps) {
  if (operation()) {
    hint(-1);
    showPass(chosen.pass + steps);
    revealPass();
  }
}

/**
 * Say where strips are too narrow on the map to be sure of the one that was tapped.
 * @param {number} strip its place; -1 for none
 */
function hint(strip) {
  const narrow = strip >= 0 && map.wideAs(ground.strips[strip].across) < NARROW_PIXELS;
  for (const id of ["strip-hint", "pass-hint"]) {
    part(id).textContent = narrow ? NARROW : "";
  }
}

/**
 * Show what lies at a point of the map.
 * @param {Point} point
 */
function take(point) {
  const strip = areaAt(ground.strips, point);
  hint(strip);
  const pass = chosen.tab === "passes" && operation() ? passAt(operation(), point, strip) : -1;
  if (pass >= 0) {
    showPass(pass);
    return;
  }
  if (chosen.tab !== "strip") {
    showTab("strip");
  }
  if (strip >= 0) {
    showStrip(strip, point);
  } else {
    showNoStrip(point);
  }
}

/**
 * Say that no strip is chosen, and why.
 * @param {string} words
 */
function tellNone(words) {
  chosen.strip = -1;
  part("strip-title").textContent = words;
  fillFacts(part("strip-facts"), []);
  map.mark({ strip: null });
  say(words);
}

/**
 * Go to a strip by its number, or its number and piece.
 * @param {string} name
 */
function find(name) {
  const wanted = name.trim();
  const names = ground.strips.map((strip) => strip.name);
  const tries = [names.indexOf(wanted), names.indexOf(wanted.replace(/\/1$/, ""))];
  tries.push(names.indexOf(`${wanted}/1`));
  const place = wanted ? Math.max(...tries) : -1;
  if (place < 0) {
    offerPasses(-1, null);
    tellNone(wanted ? `There is no strip ${wanted}.` : "Give a strip's number.");
    return;
  }
  hint(-1);
  showStrip(place);
  revealStrip();
}

/** @param {number} steps */
function stepStrip(steps) {
  hint(-1);
  const count = ground.strips.length;
  const from = chosen.strip < 0 && steps < 0 ? count : chosen.strip;
  showStrip((from + steps + count) % count);
  revealStrip();
}

/** @param {number} steps */
function stepShown(steps) {
  if (chosen.tab !== "passes") {
    showTab("passes");
  }
  step(steps);
}

/** @param {string} mode sunlight or dark */
function setMode(mode) {
  wearLook(mode);
  fillKey(part("legend"), sent);
  map.recolor();
}

function listenToParts() {
  for (const tab of TABS) {
    part(`tab-${tab}`).addEventListener("click", () => showTab(tab));
  }
  part("tabs").addEventListener("keydown", (event) => {
    const turn = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    if (turn) {
      showTab(TABS[(TABS.indexOf(chosen.tab) + turn + TABS.length) % TABS.length]);
      part(`tab-${chosen.tab}`).focus();
    }
  });
  part("find").addEventListener("submit", (event) => {
    event.preventDefault();
    find(input("number").value);
  });
  const select = /** @type {HTMLSelectElement} */ (part("operation"));
  select.append(...ground.operations.map((one) => made("option", one.name)));
  select.addEventListener("change", () => {
    [chosen.operation, chosen.pass] = [select.selectedIndex, 0];
    hint(-1);
    showOperation();
  });
  /** @type {[string, () => void][]} */
  const acts = [
    ["strip-back", () => stepStrip(-1)],
    ["strip-on", () => stepStrip(1)],
    ["back", () => step(-1)],
    ["on", () => step(1)],
    ["locate", whereabouts.press],
    ["in", () => map.closer(1.6)],
    ["out", () => map.zoom(1 / 1.6, map.middle())],
    ["whole", () => map.whole()],
    ["mode", () => setMode(otherLook())],
  ];
  for (const [id, act] of acts) {
    part(id).addEventListener("click", act);
  }
}

function fillHead() {
  document.title = sent.title;
  part("title").textContent = sent.title;
  const marked = `plan mark ${sent.mark}`;
  const told = [sent.farm, sent.date, marked].filter(Boolean);
  part("about").replaceChildren(...told.map((words) => made("span", words)));
  fillFacts(part("field-facts"), sent.facts);
  fillFacts(part("all-cautions"), sent.cautions);
  part("missing").textContent = sent.missing;
  part("missing").hidden = !sent.missing;
}

fillHead();
listenToParts();
listenToMap(base, over, map, {
  take,
  keys: { ...movingKeys(map), n: () => stepShown(1), p: () => stepShown(-1) },
});
listenToPrinter(sent, ground, map, operation, () => {
  const before = document.body.dataset.mode ?? "";
  setMode("sunlight");
  return () => setMode(before);
});
showOperation();
showTab("strip");
setMode(lookAsked());
say("");
