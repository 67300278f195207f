// Keys of every page: `/` goes to the find field, `?` shows the keys, Escape leaves them. Nothing is taken from a
// person who is typing.

const isTyping = (target) =>
  target instanceof HTMLElement && (target.isContentEditable || /^(INPUT|TEXTAREA|SELECT)$/.test(target.tagName));

const field = () => document.querySelector("[data-find]");

const find = () => {
  const found = field();
  if (found instanceof HTMLElement) found.focus();
  else location.assign("/stations#find");
};

const show = () => location.assign("/help/keys");

const goes = { s: "/stations", v: "/visits", u: "/upkeep", l: "/library", h: "/help" };
let isGoing = false;

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey || isTyping(event.target)) return;
  const wasGoing = isGoing;
  isGoing = false;
  if (wasGoing && goes[event.key]) location.assign(goes[event.key]);
  else if (event.key === "g") isGoing = true;
  else if (event.key === "/") find();
  else if (event.key === "?") show();
  else return;
  event.preventDefault();
});

if (location.hash === "#find") field()?.focus();

// A form with a file is sent only while one is signed in.
if (document.querySelector('form[enctype="multipart/form-data"]')) import("./sending.js");

// On a narrow screen the life line is longer than the screen: what is shown now stands in sight.
const here = document.querySelector(".life [aria-current]");
const line = here?.closest("ul");
if (line && line.scrollWidth > line.clientWidth) line.scrollLeft = here.offsetLeft - line.offsetLeft - 16;
