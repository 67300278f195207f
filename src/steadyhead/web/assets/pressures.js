// Change a number and the ladder moves: the engine of the server judges the file as a whole, the page only shows.
// Without this module the same form is sent by its buttons.
const form = document.getElementById("press");
const steps = document.getElementById("steps");
const body = document.getElementById("body");
const said = document.getElementById("said");
const base = JSON.parse(steps.value || "[]");
let done = base.slice();
let asking = null;
let turn = 0;
let leaving = false;
let timer = 0;
document.documentElement.classList.add("has-script");

// Below the bar the ladder stays in sight on a narrow screen: the styles need to know how tall the bar is.
const bar = document.querySelector(".bar");
new ResizeObserver(() => document.documentElement.style.setProperty("--bar-tall", `${bar.offsetHeight}px`)).observe(bar);

const figure = () => document.getElementById("ladder");
const isPhone = () => matchMedia("(max-width: 45rem)").matches;
const slot = () => figure().querySelector(isPhone() ? ".phone" : ".desk");
const room = () => Math.max(300, Math.floor(figure().clientWidth / 20) * 20);
const path = (at) => at.split(".").map((one) => (/^\d+$/.test(one) ? Number(one) : one));

// The drawing is made for the width there is; type is never scaled.
async function fit() {
  const drawn = slot()?.querySelector("svg");
  if (!drawn || done.length) return;
  const wide = Number(drawn.getAttribute("width"));
  if (Math.abs(wide - room()) < 40) return;
  const answer = await fetch(`${form.dataset.picture}&width=${room()}`);
  if (answer.ok && !done.length) put(await answer.text(), false);
}

// So is the map.
async function fitMap() {
  const place = document.getElementById("map");
  const drawn = place.querySelector("svg");
  const wide = Math.max(300, Math.floor(place.clientWidth / 20) * 20);
  if (!drawn || done.length || Math.abs(Number(drawn.getAttribute("width")) - wide) < 40) return;
  const answer = await fetch(`${form.dataset.map}&width=${wide}`);
  if (!answer.ok || done.length) return;
  const bare = (await answer.text()).replace(/<style>.*?<\/style>/gs, ""); // of a file that stands alone
  const page = new DOMParser().parseFromString(bare, "image/svg+xml");
  if (page.querySelector("parsererror")) return;
  const next = document.importNode(page.documentElement, true);
  next.removeAttribute("data-light");
  next.querySelector("rect")?.remove();
  place.replaceChildren(next);
}

function put(svg, glides) {
  const place = slot();
  if (!place) return;
  const old = place.querySelector("svg");
  const page = new DOMParser().parseFromString(svg, "image/svg+xml");
  if (page.querySelector("parsererror")) return;
  const next = document.importNode(page.documentElement, true);
  const was = glides && old ? levels(old) : null;
  place.replaceChildren(next);
  if (was) glide(next, was, Number(old.getAttribute("width")) === Number(next.getAttribute("width")));
}

const MOVES = "text, rect, circle, [class*='sh-twin'], [class*='sh-limit'], .sh-trip, .sh-alarm, .sh-relief, .sh-edge, .sh-hair, [class*='sh-grade']";

function levels(svg) {
  const found = new Map();
  for (const one of svg.querySelectorAll(MOVES)) {
    const name = `${one.tagName} ${one.getAttribute("class")}`;
    if (!found.has(name)) found.set(name, []);
    found.get(name).push(one.getBBox());
  }
  return found;
}

// What is the same line or word as before glides from its old level, so that the eye sees which way it moved.
function glide(svg, was, sameWidth) {
  const time = parseFloat(getComputedStyle(document.documentElement).getPropertyValue("--slow")) || 0;
  if (!time || !sameWidth || matchMedia("(prefers-reduced-motion: reduce)").matches) return;
  const now = new Map();
  for (const one of svg.querySelectorAll(MOVES)) {
    const name = `${one.tagName} ${one.getAttribute("class")}`;
    if (!now.has(name)) now.set(name, []);
    now.get(name).push(one);
  }
  for (const [name, ones] of now) {
    const before = was.get(name);
    if (!before || before.length !== ones.length) continue;
    ones.forEach((one, place) => {
      const by = before[place].y - one.getBBox().y;
      if (Math.abs(by) < 0.5) return;
      one.animate([{ transform: `translateY(${by}px)` }, { transform: "none" }], { duration: time, easing: "cubic-bezier(.2,.7,.2,1)" });
    });
  }
}

function sent(what) {
  const found = new FormData();
  found.set("based_on", form.elements.based_on.value);
  found.set("steps", JSON.stringify(done));
  found.set("do", what);
  found.set("width", String(what === "map" ? Math.max(300, Math.floor(document.getElementById("map").clientWidth)) : room()));
  return new URLSearchParams(found);
}

async function ask(what, signal) {
  const answer = await fetch(form.dataset.try, { method: "POST", body: sent(what), headers: { accept: "application/json" }, signal });
  return { ok: answer.ok, found: await answer.json() };
}

async function move() {
  asking?.abort();
  asking = new AbortController();
  const mine = ++turn;
  age(done.length > 0 || base.length > 0);
  words("Working it out …");
  try {
    const { ok, found } = await ask("try", asking.signal);
    if (mine !== turn) return;
    if (!ok) return words((found.problems ?? []).map((one) => `${one.field}: ${one.problem} ${one.remedy}`).join(" "), true);
    show(found);
    if (!found.is_judged) return;
    const map = await ask("map", asking.signal);
    if (mine === turn && map.ok && map.found.map_svg) fresh(map.found.map_svg);
  } catch (problem) {
    if (problem.name !== "AbortError") words("Not worked out: no connection to the app. What you typed stands.", true);
  }
}

function age(isOld) {
  const words = isOld ? "old: of the values before" : "";
  for (const id of ["map", "surge"]) {
    document.getElementById(id).classList.toggle("is-old", isOld);
    const told = document.getElementById(`${id}-words`);
    told.textContent = words;
    told.classList.toggle("said-old", isOld);
  }
}

function fresh(svg) {
  const page = new DOMParser().parseFromString(svg, "image/svg+xml");
  const place = document.getElementById("map");
  place.replaceChildren(document.importNode(page.documentElement, true));
  place.classList.remove("is-old");
  const told = document.getElementById("map-words");
  told.textContent = done.length ? "of the values above, not saved" : "";
  told.classList.remove("said-old");
}

function words(text, isWrong) {
  said.textContent = text;
  said.classList.toggle("halt", Boolean(isWrong));
}

function make(tag, text, className) {
  return Object.assign(document.createElement(tag), { textContent: text ?? "", className: className ?? "" });
}

function show(found) {
  beside(found.problems);
  buttons();
  if (!found.is_judged) {
    figure().classList.add("is-old");
    const many = found.problems.length;
    return words(`${many === 1 ? "One value" : `${many} values`} cannot be used yet; the ladder is the one before.`, true);
  }
  figure().classList.remove("is-old");
  figure().querySelector("figcaption .heed")?.remove();
  if (found.svg) put(found.svg, true);
  words(done.length ? `${done.length === 1 ? "One change" : `${done.length} changes`}, not saved` : "as saved");
  document.getElementById("surge").textContent = found.surge;
  document.getElementById("rests").textContent = found.surge;
  document.getElementById("surge").classList.remove("is-old");
  const told = document.getElementById("surge-words");
  told.textContent = done.length ? "of the values above; the protection proof is of the saved values until it is run again" : "";
  told.classList.remove("said-old");
  table(found);
  findings(found);
}

function beside(problems) {
  for (const one of body.querySelectorAll(".problem")) one.remove();
  for (const one of body.querySelectorAll("[aria-invalid]")) one.removeAttribute("aria-invalid");
  for (const one of body.querySelectorAll(".wrong")) one.classList.remove("wrong");
  for (const one of problems) {
    const line = body.querySelector(`.number[data-at="${CSS.escape(one.at)}"]`);
    if (!line) {
      words(`${one.field}: ${one.problem} ${one.remedy}`, true);
      continue;
    }
    line.classList.add("wrong");
    const text = make("p", `${one.problem} `, "problem");
    text.id = `p-${one.at}`;
    text.append(make("span", one.remedy));
    line.querySelector(".typed").append(text);
    const input = document.getElementById(`v-${one.at}`);
    input.setAttribute("aria-invalid", "true");
    input.setAttribute("aria-describedby", `n-${one.at} p-${one.at}`);
  }
}

function table(found) {
  const changed = done.length > 0;
  document.getElementById("moved-head").textContent = changed ? "What the change moves" : "What stands";
  document.getElementById("moved-words").hidden = !changed;
  const head = document.querySelectorAll("#moved thead td");
  head[0].textContent = changed ? "before" : "";
  head[1].textContent = changed ? "moved" : "";
  const rows = found.windows.map((one) => row(`window, ${one.name}${one.is_chosen ? ", chosen" : ""}`, changed ? one.was : "", one.now, "", one.verdict === "empty", one.is_chosen));
  rows.push(...found.rungs.map((one) => row(one.name, changed ? one.was : "", one.now, changed ? one.moved : "")));
  document.querySelector("#moved tbody").replaceChildren(...rows);
}

function row(name, was, now, moved, isWrong, isChosen) {
  const line = make("tr", "", isChosen ? "chosen" : "");
  const head = make("th", name);
  head.scope = "row";
  line.append(head, make("td", was, "r"), make("td", now, isWrong ? "r halt" : "r"), make("td", moved));
  return line;
}

const SHAPES = { stop: ["M1 8H27M8 15L20 1", "g fell"], ask: ["M1 8H18M18 3V13M23 8H27", "g"], heed: ["M1 5H12M12 1.5L16 14.5M16 11H27", "g slipped"] };
const WEIGHTS = { stop: "forbids release", ask: "asks, forbids release until answered", heed: "heed" };

function glyph(severity) {
  const space = "http://www.w3.org/2000/svg";
  const svg = document.createElementNS(space, "svg");
  svg.setAttribute("class", "glyph");
  svg.setAttribute("viewBox", "0 0 28 16");
  svg.setAttribute("aria-hidden", "true");
  const line = document.createElementNS(space, "path");
  line.setAttribute("d", SHAPES[severity][0]);
  line.setAttribute("class", SHAPES[severity][1]);
  svg.append(line);
  return svg;
}

function findings(found) {
  const place = document.getElementById("findings");
  for (const one of place.querySelectorAll(".came, .went")) one.remove();
  const list = place.querySelector("ul");
  const brief = (word, one, className) => {
    const line = make("p", "", className);
    line.append(make("b", `${word}: `), make(word === "Gone" ? "s" : "span", one.title), make("span", ` ${one.severity} · ${one.code} · ${one.subject}`, "note"));
    return line;
  };
  if (done.length) {
    for (const one of found.came) list.before(brief("New", one, "came"));
    for (const one of found.went) list.before(brief("Gone", one, "went"));
  }
  const told = found.findings.filter((one) => one.severity in SHAPES).map((one) => {
    const item = make("li", "", `finding ${one.severity}`);
    const text = document.createElement("div");
    const head = document.createElement("p");
    head.append(make("b", one.title, one.severity === "stop" ? "halt" : one.severity === "heed" ? "heed" : ""), make("span", ` ${WEIGHTS[one.severity]} · ${one.code} · ${one.subject}`, "note"));
    text.append(head, make("p", one.statement));
    if (one.cure) text.append(make("p", one.cure, "cure"));
    item.append(glyph(one.severity), text);
    return item;
  });
  const none = make("li", "", "bare");
  none.append(make("p", "Nothing to cure, to answer or to heed."));
  list.replaceChildren(...(told.length ? told : [none]));
}

function buttons() {
  steps.value = JSON.stringify(done);
  document.getElementById("undo").disabled = !done.length;
  const save = document.getElementById("save");
  if (save) save.disabled = !done.length;
  const isOther = JSON.stringify(done) !== JSON.stringify(base);
  for (const one of body.querySelectorAll(".number .note.twin")) {
    one.textContent = one.textContent.replace(/^left out[^:]*:/, isOther ? "left out, before the change:" : "left out:");
  }
}

const typed = new Map();
const start = new Map();
for (const one of body.querySelectorAll("[name^='v:']")) {
  typed.set(one.name, one.value.trim());
  start.set(one.name, one.value.trim());
}

function taken(one) {
  const value = one.value.trim();
  if (typed.get(one.name) === value) return;
  typed.set(one.name, value);
  const at = path(one.name.slice(2));
  const last = done.at(-1);
  const step = value ? { do: "set", at, value } : { do: "remove", at };
  if (last && live === one.name && JSON.stringify(last.at) === JSON.stringify(at)) done.pop();
  if (last?.do === "remove" && step.do === "remove" && JSON.stringify(last.at) === JSON.stringify(at)) return;
  done.push(step);
  live = one.name;
  buttons();
  move();
}
let live = "";

body.addEventListener("input", (event) => {
  if (!event.target.name?.startsWith("v:")) return;
  clearTimeout(timer);
  timer = setTimeout(() => taken(event.target), 250);
});
body.addEventListener("change", (event) => {
  if (!event.target.name?.startsWith("v:")) return;
  clearTimeout(timer);
  taken(event.target);
  live = "";
});

// The arrow keys with Ctrl move a number by its last digit.
body.addEventListener("keydown", (event) => {
  const by = { ArrowUp: 1, ArrowDown: -1 }[event.key];
  if (!by || !event.ctrlKey || event.target.tagName !== "INPUT") return;
  const found = /^(\D*)(\d+(?:[.,](\d+))?)(.*)$/s.exec(event.target.value);
  if (!found) return;
  event.preventDefault();
  const [, head, number, decimals = "", tail] = found;
  const next = Number(number.replace(",", ".")) + by / 10 ** decimals.length;
  if (next < 0) return;
  const text = next.toFixed(decimals.length);
  event.target.value = head + (number.includes(",") ? text.replace(".", ",") : text) + tail;
  clearTimeout(timer);
  timer = setTimeout(() => taken(event.target), 120);
});

function back() {
  const last = done.pop();
  live = "";
  if (!last) return;
  const name = `v:${last.at.join(".")}`;
  const before = done.findLast?.((one) => `v:${one.at.join(".")}` === name);
  const value = before ? (before.do === "set" ? before.value : "") : start.get(name) ?? "";
  const input = form.elements[name];
  if (input) {
    input.value = value;
    typed.set(name, value);
    input.focus();
  }
  buttons();
  move();
}

form.addEventListener("submit", (event) => {
  const what = event.submitter?.value ?? "try";
  if (what === "undo") {
    event.preventDefault();
    back();
  } else if (what === "try") {
    event.preventDefault();
    if (body.contains(document.activeElement) && document.activeElement.name?.startsWith("v:")) taken(document.activeElement);
  } else {
    leaving = true;
  }
});
addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey) || event.shiftKey || event.key.toLowerCase() !== "z" || !done.length) return;
  const one = event.target;
  if (one.name?.startsWith("v:") && typed.get(one.name) !== one.value.trim()) return;
  event.preventDefault();
  back();
});
addEventListener("beforeunload", (event) => {
  if (!leaving && done.length) event.preventDefault();
});
let sizing = 0;
addEventListener("resize", () => {
  clearTimeout(sizing);
  sizing = setTimeout(() => (done.length ? move() : (fit(), fitMap())), 200);
});
if (base.length) age(false);
fit();
fitMap();
