// Marks of scales: round steps of figures and of time (UTC), as the server draws them.
const DAY = 86400000;
const STEPS = [1, 10, 100, 500, 1e3, 5e3, 1e4, 3e4, 6e4, 3e5, 6e5, 1.8e6, 3.6e6, 7.2e6, 1.08e7, 2.16e7, 4.32e7, DAY, 2 * DAY, 7 * DAY];
const MONTHS = [1, 2, 3, 6, 12, 24, 60, 120];
const NAMES = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
const two = (n) => String(n).padStart(2, "0");

export function roundStep(span, count) {
  const raw = span / count;
  const decade = 10 ** Math.floor(Math.log10(raw));
  return [1, 2, 5, 10].map((one) => one * decade).reduce((best, one) => (Math.abs(Math.log(one / raw)) < Math.abs(Math.log(best / raw)) ? one : best));
}

export function timeMarks(start, end, count) {
  const wanted = (end - start) / Math.max(count, 1);
  const step = STEPS.find((one) => one >= wanted);
  return step ? even(start, end, step) : monthly(start, end, MONTHS.find((one) => one * 30 * DAY >= wanted) ?? 120);
}

function even(start, end, step) {
  const offset = step === 7 * DAY ? 4 * DAY : 0;
  const out = [];
  let toldYear = false;
  for (let at = Math.ceil((start - offset) / step) * step + offset; at <= end; at += step) {
    const when = new Date(at);
    let words;
    if (at % DAY === 0) {
      words = `${when.getUTCDate()} ${NAMES[when.getUTCMonth()]}`;
      const isNew = when.getUTCMonth() === 0 && when.getUTCDate() <= Math.max(step / DAY, 1);
      if (!toldYear || isNew) words += ` ${when.getUTCFullYear()}`;
      toldYear = true;
    } else {
      words = `${two(when.getUTCHours())}:${two(when.getUTCMinutes())}`;
      if (step < 60000) words += `:${two(when.getUTCSeconds())}`;
      if (step < 1000) words += `.${String(when.getUTCMilliseconds()).padStart(3, "0")}`;
    }
    out.push({ at, words });
  }
  return out;
}

function monthly(start, end, months) {
  const begin = new Date(start);
  let count = begin.getUTCFullYear() * 12 + begin.getUTCMonth();
  count -= count % months;
  const out = [];
  let toldYear = false;
  for (; ; count += months) {
    const year = Math.floor(count / 12);
    const month = count % 12;
    const at = Date.UTC(year, month, 1);
    if (at > end) return out;
    if (at < start) continue;
    let words = months < 12 ? NAMES[month] : String(year);
    if (months < 12 && (!toldYear || month < months)) words += ` ${year}`;
    toldYear = true;
    out.push({ at, words });
  }
}

export function clock(at, isFine) {
  const when = new Date(at), text = when.toISOString();
  const day = `${when.getUTCDate()} ${NAMES[when.getUTCMonth()]} ${when.getUTCFullYear()}`;
  return `${day}, ${text.slice(11, isFine && at % 1000 ? 23 : 19)}`;
}

export function figure(si, channel, decimal) {
  const text = ((si - channel.offset) / channel.factor).toFixed(channel.digits);
  const bare = Number(text) === 0 ? text.replace("-", "") : text;
  return bare.replace("-", "\u2212").replace(".", decimal);
}
