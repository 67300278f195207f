// Draws a window of logger data. What it gives is all that the page uses of it, so that another drawing can take
// its place: show(model, window, moment), timeAt(x), holder.
import { figure, roundStep, timeMarks } from "./marks.js";

const SPACE = "http://www.w3.org/2000/svg";
const LEFT = 58, EDGE = 10, SIDE = 158, NARROW = 700, TALL = 190, LOW = 110, BETWEEN = 44, STAND = 9;
const STANDS = ["mark-dashed", "hair", "alarm", "trip"];
const TONES = { trip: "halt", alarm: "heed", edge: "ink-3" };

export function el(tag, attributes, text) {
  const one = document.createElementNS(SPACE, tag);
  for (const [name, value] of Object.entries(attributes)) one.setAttribute(name, value);
  if (text !== undefined) one.textContent = text;
  return one;
}

const n = (value) => Math.round(value * 100) / 100;
const line = (x1, y1, x2, y2, pen) => el("path", { class: `sh-${pen}`, d: `M${n(x1)} ${n(y1)}L${n(x2)} ${n(y2)}` });
const word = (x, y, text, more = "") => el("text", { class: `sh-text-small ${more}`, x: n(x), y: n(y) }, text);

export function makeChart(holder, decimal) {
  let shown = null;
  const wide = () => Math.max(280, Math.floor(holder.clientWidth));
  let beside = 0; // room at the right for the names of lines
  const room = () => wide() - LEFT - EDGE - beside;

  function timeAt(clientX) {
    if (!shown) return 0;
    const x = clientX - holder.getBoundingClientRect().left;
    return shown.start + ((x - LEFT) / room()) * (shown.end - shown.start);
  }

  function show(model, span, moment, spots) {
    shown = span;
    const x = (at) => LEFT + ((at - span.start) / (span.end - span.start)) * room();
    const isNarrow = wide() < NARROW;
    beside = !isNarrow && model.channels.some((one) => one.levels.length) ? SIDE : 0;
    const right = wide() - EDGE - beside;
    const svg = el("svg", { class: "sh-drawing", width: wide(), "aria-hidden": "true" });
    const plots = [];
    let foot = 24;
    model.channels.forEach((channel, place) => {
      const g = { base: model.start_ms, span, x, right, decimal, isNarrow, tall: place ? LOW : TALL };
      plots.push(...frame(channel, g, place ? foot + BETWEEN : foot + 34));
      foot = g.foot;
    });
    svg.append(...marked(spots, x, span, foot), ...plots, ...times(span, x, foot, right));
    if (moment !== null && moment >= span.start && moment <= span.end) svg.append(line(x(moment), 18, x(moment), foot, "object"));
    svg.setAttribute("height", foot + 60);
    svg.setAttribute("viewBox", `0 0 ${wide()} ${foot + 60}`);
    holder.replaceChildren(svg);
  }
  return { show, timeAt, holder };
}

function marked(spots, x, span, foot) {
  const out = [];
  let last = -1e9;
  for (const one of spots) {
    const from = x(Math.min(Math.max(one.startMs, span.start), span.end));
    const to = Math.max(x(Math.min(one.endMs, span.end)), from + 2);
    out.push(line(from, 16, to, 16, one.kind === "event" ? "object" : "hair"), line(from, 16, from, foot, "hair-dashed"));
    if (from - last >= 8 + 7 * String(one.number).length) {
      out.push(word(from, 11, one.number, `sh-tone-ink ${one.kind === "event" ? "sh-strong" : ""}`));
      last = from;
    }
  }
  return out;
}

function times(span, x, foot, right) {
  const y = foot + STAND + 6;
  const out = [line(LEFT, y, right, y, "hair")];
  let last = -1e9;
  for (const mark of timeMarks(span.start, span.end, (right - LEFT) / 96)) {
    const at = x(mark.at);
    const half = mark.words.length * 3.4;
    const middle = Math.min(Math.max(at, LEFT + half - 30), right - half);
    out.push(line(at, y, at, y + 5, "hair"));
    if (middle - half >= last) {
      out.push(word(middle, y + 20, mark.words, "sh-tone-ink-3 sh-at-middle"));
      last = middle + half + 8;
    }
  }
  out.push(word(right, y + 38, "time, UTC", "sh-tone-ink-3 sh-at-end"));
  return out;
}

// Which buckets lie in the window, one more on either side so that lines run on to its edges.
function within(b, base, span) {
  let first = 0;
  let last = b.at.length;
  while (first < last && base + b.until[first] < span.start) first += 1;
  while (last > first && base + b.at[last - 1] > span.end) last -= 1;
  return [Math.max(first - 1, 0), Math.min(last + 1, b.at.length), first, last];
}

function scaleOf(channel, first, last) {
  const f = (si) => (si - channel.offset) / channel.factor;
  let low = Infinity, high = -Infinity;
  for (let k = first; k < last; k += 1) {
    const a = f(channel.buckets.low[k]), z = f(channel.buckets.high[k]);
    low = Math.min(low, a, z);
    high = Math.max(high, a, z);
  }
  if (low > high) [low, high] = [0, 1];
  const grain = 10 ** -channel.digits;
  const reach = Math.max(high - low, 0.2 * Math.abs(high), grain);
  const near = channel.levels.map((one) => f(one.value)).filter((v) => low - reach < v && v < high + reach);
  low = Math.min(low, ...near);
  high = Math.max(high, ...near);
  const extra = Math.max(0.06 * (high - low), 0.5 * grain);
  return [low - extra, high + extra];
}

function frame(channel, g, head) {
  const b = channel.buckets;
  const [from, to, first, last] = within(b, g.base, g.span);
  const [low, high] = scaleOf(channel, first, last);
  const out = [word(LEFT, head - 7, channel.unit ? `${channel.name}, ${channel.unit}` : channel.name, "sh-tone-ink sh-strong sh-halo sh-on-paper")];
  const lines = channel.levels.map((one) => ({ ...one, v: (one.value - channel.offset) / channel.factor, name: `${figure(one.value, channel, g.decimal)} ${one.words}` }));
  const shown = lines.filter((one) => one.v >= low && one.v <= high).sort((a, z) => z.v - a.v);
  if (g.isNarrow) {
    for (const one of shown) {
      head += 17;
      out.push(line(LEFT, head - 11, LEFT + 24, head - 11, one.kind), word(LEFT + 30, head - 7, one.name, `sh-tone-${TONES[one.kind]} sh-halo sh-on-paper`));
    }
  }
  g.top = head;
  g.foot = head + g.tall;
  const y = (v) => g.foot + ((v - low) / (high - low)) * (g.top - g.foot);
  const of = (si) => y((si - channel.offset) / channel.factor);
  const step = roundStep(high - low, Math.max((g.foot - g.top) / 45, 1));
  for (let at = Math.ceil(low / step); at * step <= high; at += 1) {
    const text = String(Number((at * step).toPrecision(10))).replace("-", "\u2212").replace(".", g.decimal);
    out.push(line(LEFT, y(at * step), g.right, y(at * step), "grid"), word(LEFT - 8, y(at * step) + 4.5, text, "sh-tone-ink-3 sh-at-end"));
  }
  const plot = el("svg", { x: LEFT, y: g.top - 2, width: g.right - LEFT, height: g.foot - g.top + STAND + 6, viewBox: `${LEFT} ${g.top - 2} ${g.right - LEFT} ${g.foot - g.top + STAND + 6}` });
  plot.append(...gaps(channel, g));
  out.push(...levels(shown, g, y));
  const d = path(channel, g, of, from, to);
  if (d) plot.append(el("path", { class: channel.is_pressure ? "sh-tolerance" : "sh-object", d }));
  plot.append(...standing(b, g, from, to));
  out.push(line(LEFT, g.foot, g.right, g.foot, "object"), plot);
  if (first >= last) out.push(word(LEFT + 8, (g.top + g.foot) / 2, "no values in this window", "sh-tone-ink sh-halo sh-on-paper"));
  return out;
}

const openAt = (b) => new Set(b.gaps.map((one) => one[1]));

function path(channel, g, of, from, to) {
  const b = channel.buckets;
  const opens = openAt(b);
  let d = "";
  for (let k = from; k < to; k += 1) {
    const x1 = n(g.x(g.base + b.at[k])), x2 = n(g.x(g.base + b.until[k]));
    const begins = k === from || opens.has(b.at[k]);
    d += `${begins ? "M" : `${channel.holds ? `H${x1}` : ""}L`}${x1} ${n(of(b.first[k]))}`;
    if (b.low[k] !== b.high[k]) d += `L${n((x1 + x2) / 2)} ${n(of(b.low[k]))}V${n(of(b.high[k]))}L${x2} ${n(of(b.last[k]))}`;
    else if (x2 - x1 > 0.5) d += `H${x2}`;
    else if (begins) d += "h0.6";
  }
  return d;
}

function gaps(channel, g) {
  const out = [];
  for (const [a, z] of channel.buckets.gaps) {
    const left = Math.max(g.x(g.base + a), LEFT), right = Math.min(g.x(g.base + z), g.right);
    if (right - left < 2) continue;
    let d = "";
    for (let at = left - (g.foot - g.top); at < right; at += 12.7) {
      const x1 = Math.max(at, left), x2 = Math.min(at + g.foot - g.top, right);
      if (x2 > x1) d += `M${n(x1)} ${n(g.top + x1 - at)}L${n(x2)} ${n(g.top + x2 - at)}`;
    }
    out.push(el("path", { class: "sh-hatch-cannot", d }));
    if (right - left >= 84) out.push(word((left + right) / 2, (g.top + g.foot) / 2, "no samples", "sh-tone-ink-2 sh-at-middle sh-halo sh-on-paper"));
  }
  return out;
}

function levels(shown, g, y) {
  const out = [];
  let last = -1e9;
  for (const one of shown) {
    out.push(line(LEFT, y(one.v), g.right, y(one.v), one.kind));
    if (g.isNarrow) continue;
    last = Math.max(y(one.v) + 4.5, last + 16);
    out.push(word(g.right + 8, last, one.name, `sh-tone-${TONES[one.kind]}`));
  }
  return out;
}

function standing(b, g, from, to) {
  const opens = openAt(b);
  const runs = [];
  for (let k = from; k < to; k += 1) {
    const x1 = g.x(g.base + b.at[k]), x2 = g.x(g.base + b.until[k]);
    const last = runs.at(-1);
    if (last && last[2] === b.stands[k] && !opens.has(b.at[k])) last[1] = x2;
    else {
      if (last && !opens.has(b.at[k])) last[1] = x1;
      runs.push([x1, x2, b.stands[k]]);
    }
  }
  const y = g.foot + STAND;
  return runs.map(([x1, x2, stands]) => line(x1, y, x1 + Math.max(x2 - x1, stands > 1 ? 3 : 0.6), y, STANDS[stands]));
}
