// A window of logger data that is moved by finger, wheel and keys. Without this module the server's pictures and
// links do the same, a page at a time.
import { makeChart, el } from "./chart.js";
import { hands } from "./hands.js";
import { clock, figure } from "./marks.js";
import { tellList, tellMoment } from "./words.js";

const root = document.getElementById("seen");
const { station, decimal } = root.dataset;
const here = `/stations/${encodeURIComponent(station)}/logs`;
const names = JSON.parse(root.dataset.channels);
const ends = { start: Date.parse(root.dataset.first), end: Date.parse(root.dataset.last) + 1000 };
const LEAST = 20; // ms
const chart = makeChart(document.getElementById("chart"), decimal);
const over = document.getElementById("over");
const says = document.getElementById("says");
const table = document.getElementById("moment");
const list = document.getElementById("told");
let span = { start: Date.parse(root.dataset.start), end: Date.parse(root.dataset.end) };
let model = null, moment = null, exact = null, whole = null;
let asking = null, timer = 0, settling = 0, exacting = 0, drawing = 0;
document.documentElement.classList.add("has-script");

const iso = (ms) => new Date(Math.round(ms)).toISOString();
const query = (from, to, more = {}) => {
  const found = new URLSearchParams({ start: iso(from), end: iso(to), ...more });
  for (const name of names) found.append("channel", name);
  return found;
};
const wide = () => Math.max(280, chart.holder.clientWidth);

function told() {
  const found = (model?.told ?? []).map((one) => ({ ...one, startMs: Date.parse(one.start), endMs: Date.parse(one.end) }));
  return found.filter((one) => one.endMs >= span.start && one.startMs < span.end).map((one, place) => ({ ...one, number: place + 1 }));
}

function draw() {
  cancelAnimationFrame(drawing);
  drawing = requestAnimationFrame(() => {
    if (!model) return;
    chart.show(model, span, moment, told());
    drawOver();
  });
}

async function ask() {
  asking?.abort();
  asking = new AbortController();
  const side = (span.end - span.start) / 2;
  const most = String(Math.min(2000, Math.max(200, Math.round(wide() * 2))));
  try {
    const answer = await fetch(`${here}/window?${query(span.start - side, span.end + side, { most })}`, { signal: asking.signal });
    if (!answer.ok) throw new Error(String(answer.status));
    model = await answer.json();
    root.classList.remove("is-old");
    draw();
    tell();
  } catch (problem) {
    if (problem.name === "AbortError") return;
    root.classList.add("is-old");
    says.textContent = "The picture is old: no connection to the app. It is asked again with the next move.";
  }
}

function tell() {
  const found = told();
  tellList(list, found, model.told_more, (one) => {
    const pad = Math.max((one.endMs - one.startMs) / 2, 30000);
    goTo(one.startMs - pad, one.endMs + pad);
    moment = one.startMs;
    chart.holder.focus();
    touched(moment);
  }, (one) => {
    moment = Math.min(Math.max(one.startMs, span.start), span.end); // the line stands where it begins
    draw();
  });
  const seen = model.channels.map((channel) => `${channel.name}: ${range(channel)}`);
  says.textContent = `${clock(span.start)} to ${clock(span.end)} UTC. ${seen.join("; ")}.${model.carried ? ` ${model.carried}` : ""} ${model.judged}`;
}

function range(channel) {
  const b = channel.buckets;
  let low = Infinity, high = -Infinity;
  for (let k = 0; k < b.at.length; k += 1) {
    if (model.start_ms + b.until[k] < span.start || model.start_ms + b.at[k] > span.end) continue;
    low = Math.min(low, b.low[k]);
    high = Math.max(high, b.high[k]);
  }
  if (low > high) return "no values";
  return `${figure(low, channel, decimal)} to ${figure(high, channel, decimal)} ${channel.unit}`.trim();
}

function goTo(start, end) {
  const width = Math.min(Math.max(end - start, LEAST), (ends.end - ends.start) * 1.1 + 2000);
  const middle = Math.min(Math.max((start + end) / 2, ends.start), ends.end);
  span = { start: middle - width / 2, end: middle + width / 2 };
  draw();
  clearTimeout(timer);
  timer = setTimeout(ask, 110);
  clearTimeout(settling);
  settling = setTimeout(settle, 700);
}

// The address holds the window; so do the links that give it out.
function settle() {
  history.replaceState(null, "", `${here}/see?${query(span.start, span.end)}`);
  for (const link of document.querySelectorAll("a[data-as]")) {
    link.href = `${here}/${link.dataset.at}?${query(span.start, span.end, { as: link.dataset.as })}`;
  }
  document.getElementById("f-start").value = iso(span.start).slice(0, 19);
  document.getElementById("f-end").value = iso(span.end).slice(0, 19);
  settling = setTimeout(forPaper, 1500);
}

// What a printer gets is the server's picture of the window.
async function forPaper() {
  const answer = await fetch(`${here}/see?${query(span.start, span.end, { as: "svg", width: "720" })}`).catch(() => null);
  if (!answer?.ok) return;
  const bare = (await answer.text()).replace(/<style>.*?<\/style>/gs, "");
  const page = new DOMParser().parseFromString(bare, "image/svg+xml");
  if (page.querySelector("parsererror")) return;
  const next = document.importNode(page.documentElement, true);
  next.removeAttribute("data-light");
  next.querySelector("rect")?.remove();
  document.querySelector(".seen-middle").replaceChildren(next);
}

function touched(at) {
  moment = Math.min(Math.max(at, span.start), span.end);
  exact = null;
  draw();
  if (model) tellMoment(table, model, moment, exact, decimal);
  table.hidden = false;
  document.getElementById("moment-hint").hidden = true;
  clearTimeout(exacting);
  exacting = setTimeout(async () => {
    const mine = moment;
    const asked = new URLSearchParams({ at: iso(mine) });
    for (const name of names) asked.append("channel", name);
    const answer = await fetch(`${here}/moment?${asked}`).catch(() => null);
    if (!answer?.ok || mine !== moment) return;
    exact = await answer.json();
    tellMoment(table, model, moment, exact, decimal);
  }, 250);
}

const wider = (factor, at) => goTo(at - (at - span.start) * factor, at + (span.end - at) * factor);
const pan = (share) => goTo(span.start + share * (span.end - span.start), span.end + share * (span.end - span.start));
const timeOf = (clientX) => chart.timeAt(clientX);

hands(chart.holder, {
  pan,
  zoom: (factor, clientX) => wider(factor, clientX === undefined ? moment ?? (span.start + span.end) / 2 : timeOf(clientX)),
  drag: (before, now) => { const by = timeOf(before) - timeOf(now); goTo(span.start + by, span.end + by); },
  pinch: (before, now, other) => {
    if (Math.abs(now - other) < 8) return;
    wider(Math.abs(before - other) / Math.abs(now - other), timeOf(other));
  },
  touch: (clientX) => touched(timeOf(clientX)),
  end: (side) => { const w = span.end - span.start; if (side < 0) goTo(ends.start, ends.start + w); else goTo(ends.end - w, ends.end); },
  all: () => goTo(ends.start, ends.end),
  step: (by) => touched((moment ?? span.start) + (by * (span.end - span.start)) / 100),
});

for (const link of document.querySelectorAll("[data-move]")) {
  link.addEventListener("click", (event) => {
    event.preventDefault();
    ({ earlier: () => pan(-0.5), later: () => pan(0.5), closer: () => wider(0.5, (span.start + span.end) / 2), wider: () => wider(2, (span.start + span.end) / 2), all: () => goTo(ends.start, ends.end) })[link.dataset.move]();
  });
}

// The strip of all there is: where the window lies; a finger moves it.
function drawOver() {
  if (!whole) return;
  const width = Math.max(280, over.clientWidth), tall = 44;
  const channel = whole.channels[0], b = channel.buckets;
  const low = Math.min(...b.low), high = Math.max(...b.high, low + 1e-9);
  const x = (at) => ((at - ends.start) / (ends.end - ends.start)) * width;
  const y = (v) => 40 - ((v - low) / (high - low)) * 36;
  let d = "";
  for (let k = 0; k < b.at.length; k += 1) {
    const at = x(whole.start_ms + (b.at[k] + b.until[k]) / 2).toFixed(1);
    d += `M${at} ${y(b.low[k]).toFixed(1)}V${(y(b.high[k]) - 0.8).toFixed(1)}`;
  }
  const left = Math.max(x(span.start), 0), right = Math.min(x(span.end), width);
  const svg = el("svg", { class: "sh-drawing", width, height: tall, viewBox: `0 0 ${width} ${tall}`, "aria-hidden": "true" });
  svg.append(el("path", { class: "sh-hair", d }), el("path", { class: "sh-object", d: `M0 ${tall - 1}H${width}` }));
  svg.append(el("rect", { class: "sh-object", x: left.toFixed(1), y: 1, width: Math.max(right - left, 3).toFixed(1), height: tall - 3 }));
  over.replaceChildren(svg);
}

let isHeld = false;
const toOver = (event) => {
  const box = over.getBoundingClientRect();
  const at = ends.start + ((event.clientX - box.left) / box.width) * (ends.end - ends.start);
  const half = (span.end - span.start) / 2;
  goTo(at - half, at + half);
};
over.addEventListener("pointerdown", (event) => { isHeld = true; over.setPointerCapture(event.pointerId); toOver(event); });
over.addEventListener("pointermove", (event) => { if (isHeld) toOver(event); });
for (const name of ["pointerup", "pointercancel"]) over.addEventListener(name, () => { isHeld = false; });

async function begin() {
  await ask();
  const first = new URLSearchParams({ start: iso(ends.start), end: iso(ends.end), most: "600" });
  first.append("channel", names[0]);
  const answer = await fetch(`${here}/window?${first}`).catch(() => null);
  if (answer?.ok) whole = await answer.json();
  draw();
}
new ResizeObserver(draw).observe(chart.holder.parentElement);
begin();
