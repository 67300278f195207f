/* What is typed from paper and not yet taken in stays in this browser, step by step, until the register has it. */

const BEFORE = "paper ";
const HEAD = `${BEFORE}head`;

function read(name) {
  try {
    return JSON.parse(localStorage.getItem(name) ?? "{}");
  } catch {
    return {};
  }
}

function write(name, value) {
  try {
    if (Object.keys(value).length > 0) localStorage.setItem(name, JSON.stringify(value));
    else localStorage.removeItem(name);
  } catch {
    // a browser that keeps nothing: the page itself still holds what was typed
  }
}

function filled(form, isHead) {
  const found = {};
  for (const one of form.elements) {
    const counts = one.name !== "" && one.type !== "hidden" && ("stays" in one.dataset) === isHead;
    const value = one.type === "checkbox" ? (one.checked ? "yes" : "") : one.value;
    if (counts && value !== "") found[one.name] = value;
  }
  return found;
}

function put(form, kept, isHead, also) {
  let count = 0;
  for (const [name, value] of Object.entries(kept)) {
    const one = form.elements.namedItem(name);
    if (!(one instanceof HTMLElement) || ("stays" in one.dataset) !== isHead) continue;
    if (one.type === "checkbox") one.checked = true;
    else if (one.value === "" || also) one.value = value;
    if (one.value === value && !isHead) count += 1;
  }
  return count;
}

function follow(form) {
  const name = BEFORE + form.dataset.keep;
  if (form.dataset.done) write(BEFORE + form.dataset.done, {});
  const isFresh = document.querySelector("[aria-invalid]") === null && document.querySelector(".problems") === null;
  if (isFresh) {
    const head = read(HEAD);
    head.zone ??= Intl.DateTimeFormat().resolvedOptions().timeZone ?? "UTC";
    if (new URLSearchParams(location.search).has("zone")) delete head.zone;
    delete head.day;
    put(form, head, true, true);
    if (put(form, read(name), false, false) > 0) {
      const told = document.createElement("p");
      told.className = "note kept";
      told.textContent = "What was typed here before and not taken in is filled in again.";
      form.prepend(told);
      for (const one of form.querySelectorAll("details")) one.open ||= [...one.querySelectorAll("input")].some((each) => each.value !== "");
    }
  } else write(name, filled(form, false));
  form.addEventListener("input", () => {
    write(name, filled(form, false));
    write(HEAD, filled(form, true));
  });
}

for (const form of document.querySelectorAll("form[data-keep]")) follow(form);
