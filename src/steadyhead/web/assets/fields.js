// Entry of a station file. Without this module every button is a plain form post; with it the same posts run in
// the background, what cannot be used is told while one types, and Ctrl+Z takes a step back.
const form = document.getElementById("entry");
const groups = document.getElementById("groups");
const said = document.getElementById("said");
const find = document.getElementById("find");
const steps = document.getElementById("steps");
const WAIT = 450;
let timer = 0;
let asking = null;

const KEEP = { path: (at) => at.split(".").map((one) => (/^\d+$/.test(one) ? Number(one) : one)) };

function places() {
  return [...groups.querySelectorAll("details.group")].filter((one) => one.open).map((one) => one.dataset.at);
}

function unfold(open) {
  for (const one of groups.querySelectorAll("details.group")) {
    if (open.includes(one.dataset.at)) one.open = true;
  }
}

// Send the whole form for a button and put the answer in place; folds, focus and what was typed stay.
async function send(name, value) {
  const sent = new FormData(form);
  sent.set(name, value);
  const open = places();
  const focus = document.activeElement?.id ?? "";
  form.setAttribute("aria-busy", "true");
  let answer;
  try {
    answer = await fetch(form.action, { method: "POST", body: new URLSearchParams(sent), headers: { accept: "text/html" } });
  } catch {
    tell(["Not sent: no connection to the app. What you typed stands; try again."], true);
    form.removeAttribute("aria-busy");
    return;
  }
  form.removeAttribute("aria-busy");
  const page = new DOMParser().parseFromString(await answer.text(), "text/html");
  const other = page.getElementById("entry");
  if (!other) {
    tell([page.querySelector("main")?.innerText.trim() || `Not taken (${answer.status}).`], true);
    return;
  }
  for (const id of ["groups", "said"]) {
    document.getElementById(id).replaceChildren(...page.getElementById(id).childNodes);
  }
  for (const id of ["steps", "opened"]) document.getElementById(id).value = page.getElementById(id).value;
  document.getElementById("undo").disabled = page.getElementById("undo").disabled;
  document.getElementById("step-words").textContent = page.getElementById("step-words").textContent;
  const [what, at = ""] = value.split(":");
  unfold(open.concat(what === "add" ? [at] : []));
  if (what === "add") showAdded(at);
  else if (focus) document.getElementById(focus)?.focus({ preventScroll: true });
  filter();
  remember();
}

function showAdded(at) {
  const group = document.getElementById(`g-${at}`);
  if (!group) return;
  group.open = true;
  for (let up = group.parentElement; up; up = up.parentElement) if (up.matches?.("details")) up.open = true;
  const items = [...group.querySelectorAll(":scope > .inside > details.group")];
  const chosen = items.find((one) => one.querySelector("[aria-invalid]")) ?? items.at(-1) ?? group;
  chosen.open = true;
  chosen.querySelector("input:not([type=hidden]), select, textarea")?.focus();
}

function tell(words, isWrong) {
  said.replaceChildren(
    ...words.map((one) => Object.assign(document.createElement("p"), { className: isWrong ? "halt" : "verdict", textContent: one })),
  );
}

// What is typed is asked about after a moment; the answer puts each problem beside its field.
function ask() {
  clearTimeout(timer);
  timer = setTimeout(look, WAIT);
}

async function look() {
  asking?.abort();
  asking = new AbortController();
  const sent = new FormData(form);
  sent.set("do", "check");
  let found;
  try {
    const answer = await fetch(form.dataset.try, {
      method: "POST", body: new URLSearchParams(sent), headers: { accept: "application/json" }, signal: asking.signal,
    });
    found = await answer.json();
    if (!answer.ok) return tell((found.problems ?? []).map((one) => `${one.field}: ${one.problem} ${one.remedy}`), true);
  } catch {
    return;
  }
  show(found);
}

function show(found) {
  for (const old of groups.querySelectorAll(".problem")) old.remove();
  for (const old of groups.querySelectorAll("[aria-invalid]")) old.removeAttribute("aria-invalid");
  for (const old of groups.querySelectorAll(".wrong")) old.classList.remove("wrong");
  const loose = [];
  for (const one of found.problems) {
    const base = one.at.replace(/\.(source|date|confidence|plus_minus)$/, "");
    const line = groups.querySelector(`[data-at="${CSS.escape(base)}"].line`);
    if (!line) {
      loose.push(`${one.field}: ${one.problem} ${one.remedy}`);
      continue;
    }
    const told = Object.assign(document.createElement("p"), { className: "problem", id: `p-${base}`, textContent: `${one.problem} ` });
    told.append(Object.assign(document.createElement("span"), { textContent: one.remedy }));
    (line.querySelector(".typed") ?? line).append(told);
    line.classList.add("wrong");
    const input = document.getElementById(`v-${one.at}`) ?? document.getElementById(`v-${base}`);
    input?.setAttribute("aria-invalid", "true");
    input?.setAttribute("aria-describedby", `n-${base} p-${base}`);
  }
  const count = found.problems.length;
  const words = count ? `${count === 1 ? "One value" : `${count} values`} cannot be used yet.` : "";
  if (count) return tell([words, ...loose], true);
  const weights = { stop: 0, ask: 0, heed: 0 };
  for (const one of found.findings) if (one.severity in weights) weights[one.severity] += 1;
  const parts = [
    weights.stop && `${weights.stop} stop${weights.stop === 1 ? "" : "s"}`,
    weights.ask && `${weights.ask} open question${weights.ask === 1 ? "" : "s"}`,
    weights.heed && `${weights.heed} to heed`,
  ].filter(Boolean);
  tell([`Every value can be used. ${parts.length ? `Findings: ${parts.join(", ")}.` : "No finding."}`], false);
}

// A field that was left with another value than before is one step, so that undo goes back one by one.
const before = new Map();
function remember() {
  before.clear();
  for (const one of groups.querySelectorAll("[name^='v:']")) before.set(one.id || one.name + one.value, worth(one));
}
const worth = (one) => (one.type === "checkbox" ? String(one.checked) : one.value);

groups.addEventListener("input", ask);
groups.addEventListener("change", (event) => {
  const one = event.target;
  if (!one.name?.startsWith("v:")) return;
  const key = one.id || one.name + one.value;
  if (before.get(key) === worth(one)) return;
  before.set(key, worth(one));
  const at = one.name.slice(2);
  const picks = [...groups.querySelectorAll(`[name="${CSS.escape(one.name)}"]`)];
  const list = one.type === "checkbox" ? picks.filter((pick) => pick.checked).map((pick) => pick.value) : null;
  note(at, list ?? one.value.trim());
  tellAnew(one);
  ask();
});

// What stands beside a number is said of the old one: the file says so, and so does the form.
function tellAnew(one) {
  const from = one.closest(".line")?.querySelector(".from");
  if (!from || from.contains(one) || from.querySelector(".anew")) return;
  from.append(Object.assign(document.createElement("p"), { className: "note anew", textContent: form.dataset.anew }));
}

function note(at, value) {
  // Clearing and lists of pairs are left to the server, which knows what else stands in the file.
  const pairs = groups.querySelector(`[data-at="${CSS.escape(at)}"][data-pairs]`);
  if (pairs || (!Array.isArray(value) && !value) || (Array.isArray(value) && !value.length)) return count(1);
  const all = JSON.parse(steps.value || "[]");
  all.push({ do: "set", at: KEEP.path(at), value });
  steps.value = JSON.stringify(all);
  count(0);
}

function count(more) {
  const number = JSON.parse(steps.value || "[]").length + more;
  document.getElementById("undo").disabled = number === 0;
  document.getElementById("step-words").textContent = number === 1 ? "one change, not saved" : `${number} changes, not saved`;
}

let leaving = false;
form.addEventListener("submit", (event) => {
  const what = event.submitter?.value ?? "check";
  if (what === "save") {
    leaving = true;
    return;
  }
  event.preventDefault();
  send("do", what);
});

addEventListener("keydown", (event) => {
  if (!(event.ctrlKey || event.metaKey) || event.shiftKey || event.altKey) return;
  const key = event.key.toLowerCase();
  if (key === "z" && !isTyping(event.target) && !document.getElementById("undo").disabled) {
    event.preventDefault();
    send("do", "undo");
  } else if (key === "s") {
    const button = form.querySelector('button[value="save"]');
    if (button) {
      event.preventDefault();
      form.requestSubmit(button);
    }
  }
});

// Inside a field that is being typed in, Ctrl+Z belongs to the field.
function isTyping(one) {
  return one.matches?.("input, textarea") && one.type !== "checkbox" && one.id !== "find" && before.get(one.id) !== undefined && before.get(one.id) !== one.value;
}

let folded = null;
function filter() {
  const words = find.value.trim().toLowerCase().split(/\s+/).filter(Boolean);
  if (words.length && !folded) folded = places();
  const fits = (one) => words.every((word) => one.includes(word));
  for (const group of [...groups.querySelectorAll("details.group")].reverse()) {
    const title = `${group.querySelector(".head").textContent} ${group.dataset.at}`.toLowerCase();
    let any = false;
    for (const line of group.querySelectorAll(":scope > .inside > .line, :scope > .inside > .absent")) {
      const hit = !words.length || fits(`${title} ${line.dataset.find.toLowerCase()} ${line.querySelector("input, textarea")?.value.toLowerCase() ?? ""}`);
      line.hidden = !hit;
      any ||= hit;
    }
    const inner = [...group.querySelectorAll(":scope > .inside > details.group")].some((one) => !one.hidden);
    group.hidden = Boolean(words.length) && !any && !inner;
    if (words.length) group.open = any || inner;
    else if (folded) group.open = folded.includes(group.dataset.at) || Boolean(group.querySelector("[aria-invalid]"));
  }
  if (!words.length) folded = null;
}
find.addEventListener("input", filter);
find.addEventListener("keydown", (event) => {
  if (event.key === "Escape") {
    find.value = "";
    filter();
  } else if (event.key === "Enter") {
    event.preventDefault();
    groups.querySelector("details[open] .line:not([hidden]) :is(input:not([type=hidden]), select, textarea)")?.focus();
  }
});

addEventListener("beforeunload", (event) => {
  if (!leaving && JSON.parse(steps.value || "[]").length) event.preventDefault();
});

if (location.hash.startsWith("#g-") || location.hash.startsWith("#v-")) {
  const one = document.getElementById(decodeURIComponent(location.hash.slice(1)));
  for (let up = one; up; up = up.parentElement) if (up.matches?.("details")) up.open = true;
  one?.scrollIntoView();
  if (one?.id.startsWith("v-")) one.focus();
}
remember();
