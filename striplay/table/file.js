// Files in and out of the page: a boundary or a plan that is opened or dropped, a copy of the plan that is kept.
import { input, part } from "../page/parts.js";

/**
 * What is done with a file.
 * @typedef {object} Taking
 * @property {() => number} mostBytes
 * @property {() => void} begin is told that a file comes
 * @property {(name: string, bytes: string) => void} take its bytes in base 64
 * @property {(toml: string) => void} takePlan
 * @property {(words: string) => void} refuse
 */

const MEGABYTE = 1e6;
const PLAN = /\.toml$/i;

/** @param {File | undefined} file @param {Taking} taking */
function openFile(file, { mostBytes, begin, take, takePlan, refuse }) {
  if (!file) {
    return;
  }
  begin();
  const most = mostBytes();
  if (file.size > most) {
    const [has, may] = [Math.ceil(file.size / MEGABYTE), Math.floor(most / MEGABYTE)];
    refuse(`${file.name}: ${has} MB are too many, at most ${may} MB are read`);
    return;
  }
  const reader = new FileReader();
  reader.addEventListener("error", () => refuse(`${file.name}: it can't be read`));
  if (PLAN.test(file.name)) {
    reader.addEventListener("load", () => takePlan(String(reader.result)));
    reader.readAsText(file);
  } else {
    reader.addEventListener("load", () => take(file.name, String(reader.result).split(",")[1] ?? ""));
    reader.readAsDataURL(file);
  }
}

/** Give a plan as a file without the engine's help. @param {string} name @param {string} text */
export function keepCopy(name, text) {
  const link = document.createElement("a");
  const kept = URL.createObjectURL(new Blob([text], { type: "application/toml" }));
  [link.href, link.download] = [kept, `kept_${name}`];
  link.click();
  setTimeout(() => URL.revokeObjectURL(kept), 1000);
}

/** Open what is chosen or dropped. @param {Taking} taking */
export function listenToFiles(taking) {
  const chooser = input("file");
  part("open").addEventListener("click", () => chooser.click());
  chooser.addEventListener("change", () => {
    openFile(chooser.files?.[0], taking);
    chooser.value = "";
  });
  addEventListener("dragover", (event) => {
    event.preventDefault();
    part("drop").hidden = false;
  });
  addEventListener("dragleave", (event) => {
    if (event.relatedTarget === null) {
      part("drop").hidden = true;
    }
  });
  addEventListener("drop", (event) => {
    event.preventDefault();
    part("drop").hidden = true;
    openFile(event.dataTransfer?.files[0], taking);
  });
}
