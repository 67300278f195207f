// A form with a file in it is sent only while one is signed in: otherwise the page stays as it is, with the file.
const WORDS = {
  ended: ["The sign-in has ended. Nothing was sent, and all of it stays on this page, the file too. ", "Sign in on a second page", ", come back and press again."],
  away: ["The register does not answer. Nothing was sent, and all of it stays on this page, the file too. Press again when there is a connection."],
}

async function standing() {
  try {
    const answer = await fetch("/account", { headers: { accept: "application/json" }, cache: "no-store" })
    return answer.status === 401 ? "ended" : ""
  } catch {
    return "away"
  }
}

function tell(form, why) {
  const [before, link, after] = WORDS[why]
  const line = document.createElement("p")
  line.className = "heed"
  line.dataset.unsent = ""
  line.setAttribute("role", "alert")
  line.append(before)
  if (link) {
    const way = document.createElement("a")
    Object.assign(way, { href: "/sign-in", target: "_blank", rel: "noopener", textContent: link })
    line.append(way, after)
  }
  form.append(line)
}

let asking = false
let cleared = null // the form that is let go
document.addEventListener("submit", async (event) => {
  const form = event.target
  if (cleared === form) {
    cleared = null
    return
  }
  const picked = [...form.querySelectorAll("input[type=file]")].some((one) => one.files.length > 0)
  if (!picked || event.defaultPrevented) return
  event.preventDefault()
  if (asking) return
  asking = true
  const why = await standing()
  asking = false
  form.querySelector("[data-unsent]")?.remove()
  if (why) {
    tell(form, why)
    return
  }
  cleared = form
  form.requestSubmit(event.submitter)
})
