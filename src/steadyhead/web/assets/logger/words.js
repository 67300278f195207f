// What stands below the picture in words: values of a moment, and what is told of the window.
import { clock, figure } from "./marks.js";

const STANDS = ["unseen", "believed", "doubted", "refused"];

export function make(tag, text, className) {
  return Object.assign(document.createElement(tag), { textContent: text ?? "", className: className ?? "" });
}

const unit = (channel) => (channel.unit ? ` ${channel.unit}` : "");

// The bucket that holds a moment, else the nearest one; in a gap none, but its ends.
export function bucketAt(channel, at) {
  const b = channel.buckets;
  const open = b.gaps.find(([a, z]) => at > a && at < z);
  if (open) return { gap: open };
  let low = 0, high = b.at.length - 1;
  if (high < 0) return null;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (b.until[middle] < at) low = middle + 1;
    else high = middle;
  }
  if (low > 0 && Math.abs(b.until[low - 1] - at) < Math.abs(b.at[low] - at) && b.at[low] > at) low -= 1;
  return { place: low };
}

function rough(channel, model, moment, decimal) {
  const found = bucketAt(channel, moment - model.start_ms);
  if (!found) return ["no values", "", ""];
  if (found.gap) return ["no samples", `${clock(model.start_ms + found.gap[0])} to ${clock(model.start_ms + found.gap[1])}`, ""];
  const b = channel.buckets, k = found.place;
  const from = model.start_ms + b.at[k], to = model.start_ms + b.until[k];
  const low = figure(b.low[k], channel, decimal), high = figure(b.high[k], channel, decimal);
  if (b.count[k] === 1) return [`${low}${unit(channel)}`, clock(from, true), STANDS[b.stands[k]]];
  const range = low === high ? low : `${low} to ${high}`;
  return [`${range}${unit(channel)} in ${b.count[k]} samples`, `${clock(from)} to ${clock(to)}`, STANDS[b.stands[k]]];
}

export function tellMoment(table, model, moment, exact, decimal) {
  const rows = model.channels.map((channel) => {
    const [value, when, stands] = rough(channel, model, moment, decimal);
    const one = exact?.values.find((each) => each.channel === channel.name);
    const line = document.createElement("tr");
    const head = make("th", channel.name);
    head.scope = "row";
    const cell = make("td", one && one.si !== null ? `${figure(one.si, channel, decimal)}${unit(channel)}` : value, "num");
    const time = make("td", one?.at ? clock(Date.parse(one.at), true) : when, "num");
    const state = make("td", one?.at ? one.standing : stands);
    if (one?.rows) {
      const link = make("a", `row ${one.row}`);
      link.href = one.rows;
      state.append(", ", link);
    }
    line.append(head, cell, time, state);
    for (const [place, name] of ["", "value", "at, UTC", "standing"].entries()) line.children[place].dataset.name = name;
    return line;
  });
  table.tBodies[0].replaceChildren(...rows);
  table.caption.textContent = `${clock(moment)} UTC`;
}

export function tellList(list, told, more, goes, points) {
  const items = told.map((one) => {
    const item = document.createElement("li");
    item.value = one.number;
    const name = make("a", `${one.code[0].toUpperCase()}${one.code.slice(1)}, ${clock(one.startMs)}`);
    name.href = one.near;
    name.addEventListener("click", (event) => {
      event.preventDefault();
      goes(one);
    });
    for (const kind of ["focus", "pointerenter"]) name.addEventListener(kind, () => points(one));
    const links = make("span", "", "note");
    const rows = make("a", "Rows");
    rows.href = one.rows;
    const page = make("a", one.kind === "event" ? "Event" : "Judgement");
    page.href = one.more;
    links.append(` ${one.kind === "event" ? "" : "Defect of the data. "}Confidence: ${one.confidence}. `, rows, " ", page);
    item.append(name, `: ${one.words}`, links);
    return item;
  });
  if (!items.length) items.push(make("li", "Nothing is told of this window.", "none"));
  if (more) items.push(make("li", `${more} more: look closer.`, "none"));
  list.replaceChildren(...items);
}
