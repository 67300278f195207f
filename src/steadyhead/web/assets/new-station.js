// A line that is not taken: its link puts the cursor there. A file that is dropped on the text is read into it. What
// was typed is kept in this tab when another template is opened, and can be brought back.

const text = document.querySelector("textarea.file");
const KEPT = "steadyhead new station";

const goTo = (line) => {
  const lines = text.value.split("\n");
  const start = lines.slice(0, line - 1).reduce((sum, one) => sum + one.length + 1, 0);
  text.focus();
  text.setSelectionRange(start, start + (lines[line - 1] ?? "").length);
  const height = parseFloat(getComputedStyle(text).lineHeight);
  text.scrollTop = Math.max(0, (line - 4) * height);
};

document.addEventListener("click", (event) => {
  const link = event.target instanceof Element ? event.target.closest("[data-line]") : null;
  if (!link || !text) return;
  event.preventDefault();
  goTo(Number(link.dataset.line));
});

text?.addEventListener("dragover", (event) => event.preventDefault());
text?.addEventListener("drop", async (event) => {
  const file = event.dataTransfer?.files?.[0];
  if (!file) return;
  event.preventDefault();
  text.value = await file.text();
});

if (text) {
  const told = document.querySelector("#kept-text");
  const typed = sessionStorage.getItem(KEPT);
  if (typed && typed !== text.value) told.hidden = false;
  document.querySelector("#bring-back")?.addEventListener("click", () => {
    text.value = typed;
    told.hidden = true;
    text.focus();
  });
  window.addEventListener("pagehide", () => {
    if (text.value !== text.defaultValue) sessionStorage.setItem(KEPT, text.value);
  });
  text.form?.addEventListener("submit", () => sessionStorage.removeItem(KEPT));
}
