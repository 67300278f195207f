// Renews how far jobs are, from the JSON of their own pages; where one ends, the page is read anew.
const EVERY = 1200, SLOW = 5000, MOST = 8;
const shown = [...document.querySelectorAll("[data-job]")].slice(0, MOST);

async function look(one) {
  const found = await fetch(one.dataset.job, { headers: { accept: "application/json" }, cache: "no-store" });
  if (!found.ok) return true;
  const job = await found.json();
  const bar = one.querySelector("progress"), words = one.querySelector("[data-words]");
  if (bar) { bar.value = job.share; bar.textContent = `${Math.round(100 * job.share)} %`; }
  if (words && words.textContent !== job.words) words.textContent = job.words;
  if (one.dataset.state && one.dataset.state !== job.state) return false;
  one.dataset.state = job.state;
  return job.is_open;
}

async function go() {
  if (document.hidden) { setTimeout(go, SLOW); return; }
  try {
    const open = await Promise.all(shown.map(look));
    if (open.includes(false) && !document.querySelector("form [data-touched]")) { location.reload(); return; }
    setTimeout(go, EVERY);
  } catch { setTimeout(go, SLOW); }
}

document.addEventListener("input", (event) => { event.target.dataset.touched = "1"; });
if (shown.length) setTimeout(go, EVERY);
