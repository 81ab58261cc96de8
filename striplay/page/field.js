// The field page: what is shown, and what is done by tap, key and phone.
import { groundOf } from "./data.js";
import { meet, nearest, toPlane, windOf } from "./ground.js";
import { listenToMap } from "./hands.js";
import { makeMap } from "./map.js";
import { button, fillFacts, length, made, paired, part, table } from "./parts.js";
import { areaAt, drivenBy, edgesOf, passAt, passesOver, recent, stripsWithin } from "./where.js";

/** @typedef {import("./data.js").Fact} Fact */
/** @typedef {import("./data.js").Pass} Pass */
/** @typedef {import("./data.js").Sent} Sent */
/** @typedef {import("./ground.js").Point} Point */
/** @typedef {import("./where.js").Reading} Reading */

/** @type {Sent} */
const sent = JSON.parse(part("data").textContent ?? "");
const ground = groundOf(sent);
const over = /** @type {HTMLCanvasElement} */ (part("over"));
const base = /** @type {HTMLCanvasElement} */ (part("base"));
const map = makeMap(base, over, ground, sent.units);
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

/**
 * The operation that is chosen; undefined in a plan without any.
 */
const operation = () => ground.operations[chosen.operation];

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

/**
 * Show a pass of any operation.
 * @param {number} index of the operation
 * @param {number} pass its place
 */
function goToPass(index, pass) {
  [chosen.operation, chosen.pass] = [index, pass];
  showOperation();
  showTab("passes");
  map.reveal(ground.operations[index].passes[pass].box);
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
  say(`Strip ${strip.name}, ${strip.words.slice(0, 3).filter(Boolean).join(", ")}`);
}

/**
 * Say what is no strip.
 * @param {Point} point
 */
function showNoStrip(point) {
  const kinds = /** @type {const} */ ([
    ["obstacles", "Obstacle: not cropped, go round it"],
    ["headland", sent.headland],
    ["field", "Left over: no strip covers it"],
  ]);
  const found = kinds.find(([kind]) => areaAt(ground[kind], point) >= 0);
  const words = found ? found[1] : "Outside the field";
  chosen.strip = -1;
  part("strip-title").textContent = words;
  fillFacts(part("strip-facts"), []);
  offerPasses(-1, point);
  map.mark({ strip: null });
  say(words);
}

/** Show the operation that is chosen, and its pass. */
function showOperation() {
  const one = operation();
  if (!one) {
    return;
  }
  /** @type {HTMLSelectElement} */ (part("operation")).selectedIndex = chosen.operation;
  const reason = one.reason ? `. ${one.reason}` : "";
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
  const ordered = chosen.pass + 1;
  const title =
    pass.name === String(ordered)
      ? `Pass ${ordered} of ${passes.length}`
      : `Pass ${pass.name}: ${ordered} of ${passes.length}`;
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
    showPass(chosen.pass + steps);
    map.reveal(operation().passes[chosen.pass].box);
  }
}

/**
 * Show what lies at a point of the map.
 * @param {Point} point
 */
function take(point) {
  const strip = areaAt(ground.strips, point);
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
 * Go to a strip by its number, or its number and piece.
 * @param {string} name
 */
function find(name) {
  const wanted = name.trim();
  const place = ground.strips.findIndex(
    (strip) => strip.name === wanted || strip.name.split("/")[0] === wanted,
  );
  if (place < 0) {
    say(`no strip ${wanted}`);
    part("strip-title").textContent = `There is no strip ${wanted}.`;
    return;
  }
  showStrip(place);
  map.reveal(ground.strips[place].box);
}

/** @param {number} steps */
function stepStrip(steps) {
  const count = ground.strips.length;
  const from = chosen.strip < 0 && steps < 0 ? count : chosen.strip;
  showStrip((from + steps + count) % count);
  map.reveal(ground.strips[chosen.strip].box);
}

// Where am I

/** Ground about a phone's place that comes into view with it, to each side. */
const NEAR_METERS = 50;
const ON_THE_MOVE =
  "Put the phone away while driving. Your place shows when you have stood for some seconds.";
/** @type {Reading[]} */
let readings = [];
/** @type {number | null} */
let watch = null;

/**
 * Show in words where a phone is.
 * @param {string} title
 * @param {Fact[]} facts
 * @param {string} note
 */
function tellWhere(title, facts, note) {
  part("where-title").textContent = title;
  fillFacts(part("where-facts"), facts);
  part("where-note").textContent = note;
  say(title);
}

/** @param {number} meters */
const said = (meters) => length(meters, sent.units);

/**
 * What is told of a place in a strip: the pass there, and how far to the edges.
 * @param {Point} point
 * @param {number} place of the strip
 * @returns {Fact[]}
 */
function factsAt(point, place) {
  const strip = ground.strips[place];
  const pass = operation() ? passAt(operation(), point, place) : -1;
  const edges = edgesOf(strip, point);
  return [
    ["Crop", strip.crop.name],
    ["Pass", passWords(pass)],
    ...edges.map(({ away, wind }) => /** @type {Fact} */ ([`To the ${wind} edge`, said(away)])),
  ];
}

/**
 * Name a pass of the operation; nothing in a plan without any.
 * @param {number} place -1 for none
 */
function passWords(place) {
  const one = operation();
  if (!one) {
    return "";
  }
  return place < 0 ? `none of ${one.name} here` : `${one.passes[place].name} of ${one.name}`;
}

/**
 * Show where a phone is.
 * @param {Reading} reading
 */
function showHere({ point, accuracy }) {
  const place = areaAt(ground.strips, point);
  const around = stripsWithin(ground, point, accuracy).map((one) => ground.strips[one].name);
  const sure = `The phone says that it is within ${said(accuracy)} of the mark, 19 times in 20.`;
  const several = around.length > 1 ? ` You may be in strip ${around.join(" or ")}.` : "";
  map.mark({ here: { point, accuracy } });
  if (place >= 0) {
    const { name, rings } = ground.strips[place];
    const near = nearest(point, rings).away <= accuracy;
    const title = `${near ? "Likely in strip" : "In strip"} ${name}`;
    tellWhere(title, factsAt(point, place), sure + several);
    return;
  }
  if (areaAt(ground.field, point) >= 0) {
    tellWhere("In the field, in no strip", [], sure + several);
    return;
  }
  const { away, near } = nearest(point, ground.field.flatMap((area) => area.rings));
  const wind = windOf([near[0] - point[0], near[1] - point[1]]);
  tellWhere("Outside the field", [["To the field", `${said(away)} ${wind}`]], sure + several);
}

/** @param {GeolocationPosition} position */
function onPosition({ coords, timestamp }) {
  if (watch === null) {
    return;
  }
  const { longitude, latitude, accuracy, speed } = coords;
  const point = toPlane(sent.plane, longitude, latitude);
  const first = !readings.length;
  readings = recent([...readings, { point, accuracy, speed, seconds: timestamp / 1000 }]);
  const driven = drivenBy(readings);
  if (driven) {
    map.mark({ here: null });
    tellWhere(driven === "sure" ? "You are moving." : "You may be moving.", [], ON_THE_MOVE);
    return;
  }
  showHere(readings[readings.length - 1]);
  if (first) {
    bringHere(point, accuracy);
  }
}

/**
 * Bring a place near the field into view with the ground about it.
 * @param {Point} point
 * @param {number} accuracy in meters
 */
function bringHere([x, y], accuracy) {
  const room = Math.max(3 * accuracy, NEAR_METERS);
  const about = { left: x - room, right: x + room, bottom: y - room, top: y + room };
  if (meet(about, ground.box)) {
    map.show(about);
  }
}

/** @param {GeolocationPositionError} error */
function onNoPosition(error) {
  map.mark({ here: null });
  const why =
    error.code === error.PERMISSION_DENIED
      ? "The browser may not use the place of this phone: allow it in the settings, or open the page in another browser. The map works without."
      : "The phone finds no place just now. Under open sky it may take a minute.";
  tellWhere("No place known", [], why);
}

function stopLocating() {
  if (watch !== null) {
    navigator.geolocation.clearWatch(watch);
  }
  watch = null;
  readings = [];
  map.mark({ here: null });
  tellWhere("", [], "");
  part("locate").textContent = "Show where I am";
  part("locate").setAttribute("aria-pressed", "false");
}

function locate() {
  if (watch !== null) {
    stopLocating();
    return;
  }
  if (!("geolocation" in navigator)) {
    tellWhere("No place known", [], "This browser gives pages no place. The map works without.");
    return;
  }
  part("locate").textContent = "Stop";
  part("locate").setAttribute("aria-pressed", "true");
  tellWhere("Waiting for the phone", [], "");
  watch = navigator.geolocation.watchPosition(onPosition, onNoPosition, {
    enableHighAccuracy: true,
    maximumAge: 0,
    timeout: 30000,
  });
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
  document.body.dataset.mode = mode;
  part("mode").textContent = mode === "dark" ? "Sunlight" : "Dark";
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
    find(/** @type {HTMLInputElement} */ (part("number")).value);
  });
  const select = /** @type {HTMLSelectElement} */ (part("operation"));
  select.append(...ground.operations.map((one) => made("option", one.name)));
  select.addEventListener("change", () => {
    [chosen.operation, chosen.pass] = [select.selectedIndex, 0];
    showOperation();
  });
  /** @type {[string, () => void][]} */
  const acts = [
    ["strip-back", () => stepStrip(-1)],
    ["strip-on", () => stepStrip(1)],
    ["back", () => step(-1)],
    ["on", () => step(1)],
    ["locate", locate],
    ["in", () => map.zoom(1.6, map.middle())],
    ["out", () => map.zoom(1 / 1.6, map.middle())],
    ["whole", () => map.whole()],
    ["mode", () => setMode(document.body.dataset.mode === "dark" ? "sunlight" : "dark")],
  ];
  for (const [id, act] of acts) {
    part(id).addEventListener("click", act);
  }
}

/** The map on paper: as wide as a page, and two thirds as high.  @type {[number, number]} */
const PRINTED_PIXELS = [720, 480];

/** Print in sunlight, the whole field, with every strip and every pass of the operation. */
function listenToPrinter() {
  let before = "";
  addEventListener("beforeprint", () => {
    before = document.body.dataset.mode ?? "";
    setMode("sunlight");
    const one = operation();
    const tables = [
      table("Strips", ["Strip", ...sent.labels.strip], ground.strips.map((s) => [s.name, ...s.words])),
    ];
    if (one) {
      const rows = one.passes.map((pass) => [pass.name, ...pass.words]);
      tables.push(table(`Passes: ${one.name}`, ["Pass", ...sent.labels.pass], rows));
    }
    const caution = made("p", "The map is not a legal survey. This page shows a plan and steers nothing.");
    part("print").replaceChildren(map.picture(...PRINTED_PIXELS), caution, ...tables);
  });
  addEventListener("afterprint", () => {
    part("print").replaceChildren();
    setMode(before);
  });
}

function fillHead() {
  document.title = sent.title;
  part("title").textContent = sent.title;
  const marked = `plan ${sent.mark}`;
  const told = [sent.farm, sent.date, marked].filter(Boolean);
  part("about").replaceChildren(...told.map((words) => made("span", words)));
  fillFacts(part("field-facts"), sent.facts);
  fillFacts(part("all-cautions"), sent.cautions);
  part("legend").replaceChildren(
    ...sent.crops.map((crop) => {
      const line = made("p", `${crop.letter}  ${crop.name}`, "crop");
      line.style.borderInlineStartColor = crop.color;
      return line;
    }),
  );
  part("missing").textContent = sent.missing;
  part("missing").hidden = !sent.missing;
}

fillHead();
listenToParts();
listenToMap(base, over, map, take, stepShown);
listenToPrinter();
showOperation();
showTab("strip");
setMode(matchMedia("(prefers-color-scheme: dark)").matches ? "dark" : "sunlight");
say("");
