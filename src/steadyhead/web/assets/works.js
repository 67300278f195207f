/* Follow a work: its words and bar move; when it has ended the page is shown anew. */

const EVERY = 1000;

function find(view, id) {
  return Object.values(view).find((one) => one !== null && typeof one === "object" && one.id === id);
}

async function look(place) {
  let told;
  try {
    const answer = await fetch(place.dataset.poll, { headers: { accept: "application/json" } });
    if (!answer.ok) throw new Error(String(answer.status));
    told = find(await answer.json(), place.dataset.work);
  } catch {
    setTimeout(look, 5 * EVERY, place);
    return;
  }
  if (told === undefined || told.state !== "running") {
    location.reload();
    return;
  }
  place.querySelector("[data-words]").textContent = told.words || "begun";
  place.querySelector("progress").value = told.share;
  setTimeout(look, EVERY, place);
}

for (const place of document.querySelectorAll("[data-poll][data-work]")) setTimeout(look, EVERY, place);
