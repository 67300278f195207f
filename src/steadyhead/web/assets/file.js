// The text of a station file: which line the caret stands in, and from a problem to its line.
const text = document.getElementById("text");
const place = document.getElementById("place");

function tell() {
  const before = text.value.slice(0, text.selectionStart);
  place.textContent = `line ${before.split("\n").length}, column ${before.length - before.lastIndexOf("\n")}`;
}
for (const kind of ["keyup", "click", "input", "focus"]) text.addEventListener(kind, tell);

function go(line) {
  const lines = text.value.split("\n");
  const start = lines.slice(0, line - 1).reduce((sum, one) => sum + one.length + 1, 0);
  text.focus();
  text.setSelectionRange(start, start + (lines[line - 1]?.length ?? 0));
  const height = parseFloat(getComputedStyle(text).lineHeight) || 20;
  text.scrollTop = Math.max(0, (line - 6) * height);
  tell();
}
document.addEventListener("click", (event) => {
  const link = event.target.closest?.("a[data-line]");
  if (!link) return;
  event.preventDefault();
  go(Number(link.dataset.line));
});

const first = document.querySelector("a[data-line]");
if (first) go(Number(first.dataset.line));
const start = text.value;
let leaving = false;
document.getElementById("text-entry").addEventListener("submit", () => {
  leaving = true;
});
addEventListener("beforeunload", (event) => {
  if (!leaving && text.value !== start) event.preventDefault();
});
