// Rows of the list by keys: j or the arrow down goes to the next row, k or the arrow up to the one before. Enter
// opens, as it does on every link.

const isTyping = (target) =>
  target instanceof HTMLElement && (target.isContentEditable || /^(INPUT|TEXTAREA|SELECT)$/.test(target.tagName));

const rows = () => [...document.querySelectorAll("[data-row]")];
const step = { j: 1, ArrowDown: 1, k: -1, ArrowUp: -1 };

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey || event.shiftKey) return;
  const by = step[event.key];
  const fromFind = event.key === "ArrowDown" && event.target instanceof HTMLElement && event.target.matches("[data-find]");
  if (!by || (isTyping(event.target) && !fromFind)) return;
  const all = rows();
  const at = all.indexOf(document.activeElement);
  if (at < 0 && event.key.startsWith("Arrow") && !fromFind) return;
  const next = at < 0 ? all[0] : all[at + by];
  if (!next) return;
  event.preventDefault();
  next.focus();
  next.closest("li").scrollIntoView({ block: "nearest" });
});
