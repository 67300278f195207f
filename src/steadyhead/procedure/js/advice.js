// The next turn of a pilot screw (agreement A9): the same arithmetic as advice.py, advice_state.py and
// advice_bound.py, step by step. A screw is the table that stands in the plan; events as in records/advice.py.

const TAIL = 0.025, MISFIT = 1e-6, FOUND_BY = 1e-4, LEAST = 1e-11
const FAR = 1e30, SMALLEST = 1e-200, DEAD = -600, BISECTIONS = 45
const OVERSHOOT = 0.2, RAISED_ENOUGH = 0.9, UNANSWERED = 0.25, BELOW = 0.3e5, NEAR = 6
const LOW = 2, FINE = 0.1, FINE_SHARE = 0.5, MOST_TURNS = 40, NEGLIGIBLE = 1e-5

const clamp = (x, low, high) => Math.min(Math.max(x, low), high)
const sum = (values) => values.reduce((total, value) => total + value, 0)

// The share of the normal law below x: series in the middle, continued fraction further out.
export function normal(x) {
  const z = Math.abs(x), bell = Math.exp(-0.5 * z * z) / Math.sqrt(2 * Math.PI)
  if (z < 3.5) {
    let term = z, total = z
    for (let odd = 3; term > 1e-18 * total; odd += 2) total += term *= (z * z) / odd
    return x > 0 ? 0.5 + bell * total : 0.5 - bell * total
  }
  let under = z
  for (let k = 80; k > 0; k -= 1) under = z + k / under
  return x > 0 ? 1 - bell / under : bell / under
}

const between = (low, high) => (low > 0 ? normal(-low) - normal(-high) : normal(high) - normal(low))

// One spring with one play.
function node(rate, play, lost, start, spread, weight) {
  return { rate, play, gap: play - lost, middle: start, variance: spread ** 2, low: -FAR, high: FAR, weight,
    share: 0, spread: 1, cut: -FAR, span: 1 }
}

const stop = (one, gap) => clamp(gap, Math.min(one.gap, 0), one.play)

const moved = (one, turn) => one.gap + turn - stop(one, one.gap + turn)

function turnNode(one, turn, screw) {
  const reached = moved(one, turn), by = one.rate * reached
  one.gap = stop(one, one.gap + turn)
  one.middle += by
  one.low += by
  one.high += by
  if (reached === 0) return
  let blur = (screw.bend * by) ** 2 + (0.5 * screw.hand * one.rate) ** 2
  if (Math.abs(reached - turn) > 1e-12) blur += (0.5 * screw.grain * one.rate) ** 2
  one.variance += blur
}

function measure(one) {
  one.spread = Math.sqrt(one.variance)
  one.cut = (one.low - one.middle) / one.spread
  one.span = between(one.cut, (one.high - one.middle) / one.spread)
  return one.span > SMALLEST ? one.weight + Math.log(one.span) : 4 * DEAD
}

function nodeBelow(one, setting, noise) {
  if (setting <= one.low || one.span <= SMALLEST) return 0
  if (setting >= one.high) return 1
  const spread = noise === 0 ? one.spread : Math.sqrt(one.variance + noise * noise)
  return between(one.cut, (setting - one.middle) / spread) / one.span
}

// What is possible, without any chance in it: as Bound in advice_bound.py.
const follow = (screw) => ({ turned: 0, turns: 0, marks: [], rates: [], bears: screw.slack ? null : [-Infinity, 0],
  unanswered: 0, here: null, ups: false, downs: false })
const playMost = (screw) => Math.max(...screw.gaps.map(([play]) => play))
const loseBound = (bound) => Object.assign(bound, { marks: [], rates: [], bears: null, unanswered: 0, here: null })

function boundTurn(bound, by) {
  bound.turned += by
  bound.turns += 1
  if (by < 0) Object.assign(bound, { marks: [], unanswered: 0, downs: true })
  else Object.assign(bound, { unanswered: bound.unanswered + by, ups: true })
}

function boundRead(screw, bound, value) {
  if (contradicts(screw, bound, value)) loseBound(bound)
  Object.assign(bound, { here: value, ups: false, downs: false })
  const last = bound.marks.at(-1), mark = { turned: bound.turned, turns: bound.turns, reading: value }
  if (last !== undefined && value - last.reading <= 2 * screw.reading_most + (bound.marks.length === 1 ? 2 : 1) * screw.friction_most) return
  bound.marks.forEach((before, index) => narrow(screw, bound, before, mark, index === 0))
  if (last !== undefined) {
    if (bound.bears === null || bound.turned < bound.bears[0]) bound.bears = [bound.turned, bound.turns]
    bound.unanswered = 0
  }
  bound.marks.push(mark)
}

function contradicts(screw, bound, value) {
  if (bound.marks.length > 0 && value > worst(screw, bound, 0) + screw.reading_most) return true
  if (bound.here === null) return false
  const still = 2 * (screw.reading_most + screw.friction_most)
  return (value > bound.here + still && !bound.ups) || (value < bound.here - still && !bound.downs)
}

function narrow(screw, bound, before, mark, isFirst) {
  const { bears } = bound
  if (isFirst && (bears === null || before.turned - screw.hand * (before.turns - bears[1]) < bears[0])) return
  const error = 2 * screw.reading_most + (isFirst ? 2 : 1) * screw.friction_most
  const turns = mark.turned - before.turned - screw.hand * (mark.turns - before.turns)
  const sure = turns - (isFirst ? playMost(screw) : 0)
  if (sure <= 0) return
  const found = [before.turned, mark.turned, (mark.reading - before.reading + error) / sure]
  if (rateBy(screw, found, mark.turned) < rateAt(screw, bound, mark.turned)) bound.rates.push(found)
}

function rateBy(screw, [low, high, rate], place) {
  return rate * Math.exp(Math.min(screw.bend * Math.max(Math.abs(place - low), Math.abs(place - high)), 50))
}

const rateAt = (screw, bound, place) =>
  Math.min(screw.most, ...bound.rates.map((one) => rateBy(screw, one, place)))

function worst(screw, bound, turn) {
  const aim = bound.turned + turn, sure = screw.reading_most + screw.friction_most
  const reached = (mark) => {
    const up = aim - mark.turned + screw.hand * (bound.turns - mark.turns + (turn !== 0 ? 1 : 0))
    const rate = Math.max(rateAt(screw, bound, aim), rateAt(screw, bound, mark.turned))
    return mark.reading + sure + rate * Math.max(up, 0)
  }
  return Math.min(Infinity, ...bound.marks.map(reached))
}

// What is likely.
const nodesOf = (screw) => screw.springs.flatMap(([rate, start, spread, weight]) =>
  screw.gaps.map(([play, lost]) => node(rate, play, lost, start, spread, Math.log(weight / screw.gaps.length))))

export function begin(screw, others = 0) {
  const state = { nodes: nodesOf(screw), bound: follow(screw), reading: null, turned: 0, last: 0, openAt: 0, cap: FAR,
    spent: 0, ends: "", wasSoon: false, stands: 1, fits: true, others, high: -FAR, isRead: false, isShut: false,
    isLost: false }
  weigh(state)
  if (screw.sees === "act") state.spent = below(state, 0, screw.target)
  return state
}

function weigh(state) {
  const logs = state.nodes.map(measure), most = Math.max(...logs)
  if (most <= DEAD) return void (state.fits = false)
  const parts = logs.map((one) => (one - most > DEAD ? Math.exp(one - most) : 0)), total = sum(parts)
  state.nodes.forEach((one, index) => {
    one.share = parts[index] / total
    one.weight = Math.max(one.weight - most, 2 * DEAD)
  })
}

const likely = (state) => state.nodes.filter((one) => one.share > LEAST)

function below(state, turn, setting, noise = 0) {
  return sum(likely(state).map((one) => one.share * nodeBelow(one, setting - one.rate * moved(one, turn), noise)))
}

function above(state, turn, setting, noise) {
  const off = (one) => (one.middle + one.rate * moved(one, turn) - setting) / Math.sqrt(one.variance + noise)
  return sum(likely(state).map((one) => one.share * normal(off(one))))
}

function quantile(state, turn, part, noise = 0) {
  let low = FAR, high = -FAR
  for (const one of likely(state)) {
    const reach = 8 * Math.sqrt(one.variance + noise * noise), middle = one.middle + one.rate * moved(one, turn)
    low = Math.min(low, middle - reach)
    high = Math.max(high, middle + reach)
  }
  for (let count = 0; count < BISECTIONS; count += 1) {
    const middle = 0.5 * (low + high)
    if (below(state, turn, middle, noise) < part) low = middle
    else high = middle
  }
  return 0.5 * (low + high)
}

function quantileOf(state, key, part) {
  const ordered = state.nodes.map((one) => [one[key], one.share]).sort((a, b) => a[0] - b[0] || a[1] - b[1])
  let total = 0
  const place = ordered.findIndex(([, share]) => (total += share) >= part)
  return ordered.at(place)[0]
}

export function chance(screw, state, turn) {
  if (screw.sees === "gauge") {
    if (screw.trip === null || turn <= 0) return 0
    const [at, spread] = screw.trip
    return above(state, turn, at, spread ** 2 + screw.reading ** 2)
  }
  if (turn >= 0 || state.reading === null) return 0
  return below(state, turn, state.reading - (screw.tell > 0 ? 0 : screw.window))
}

export function happened(screw, state, { what, amount, live = true }) {
  if (what === "turn") turned(screw, state, amount, live)
  else if (what === "high") state.high = Math.max(state.high, amount)
  else if (what === "lost" || what === "rest") fromNothing(screw, state, what === "lost")
  else isSeen(screw, state, what, amount)
}

function isSeen(screw, state, what, amount) {
  state.ends = ["sign", "shut", "trip"].includes(what) ? what : ""
  state.isShut = ["shut", "trip"].includes(what)
  state.high = state.isShut ? Math.max(state.high, amount) : amount
  if (state.isShut && screw.sees === "gauge") return
  state.isLost = state.isLost && !["sign", "trip"].includes(what)
  Object.assign(state, { reading: amount, isRead: true })
  const cut = (low, high) => state.nodes.forEach((one) => {
    one.low = Math.max(one.low, low)
    one.high = Math.min(one.high, high)
  })
  if (what === "read") {
    read(state, amount, screw.reading)
    boundRead(screw, state.bound, amount)
  } else if (what === "open") {
    state.stands *= 1 - below(state, 0, amount + screw.tell)
    state.openAt = state.turned
    cut(amount + screw.tell, FAR)
  } else if (what === "trip") read(state, amount, Math.max(screw.repeat, screw.reading))
  else if (what === "sign") cut(amount, amount + screw.tell)
  else cut(-FAR, amount)
  weigh(state)
  if (what === "shut") anew(screw, state, amount)
}

function turned(screw, state, turn, live) {
  state.spent += live ? chance(screw, state, turn) : 0
  state.nodes.forEach((one) => turnNode(one, turn, screw))
  state.turned += turn
  state.last = turn
  boundTurn(state.bound, turn)
  Object.assign(state, { ends: "", isRead: false })
  if (screw.sees === "gauge" && turn < 0) state.high = -FAR
  weigh(state)
}

function fromNothing(screw, state, isLost) {
  Object.assign(state, { nodes: nodesOf(screw), reading: null, isRead: false, fits: true, turned: 0, last: 0, openAt: 0,
    cap: FAR, stands: 1, ends: "", isLost, high: -FAR, isShut: false })
  if (isLost) loseBound(state.bound)
  else state.bound = follow(screw)
  weigh(state)
}

function read(state, value, spread) {
  const part = below(state, 0, value, spread)
  if (Math.min(part, 1 - part) < MISFIT) state.fits = false
  for (const one of likely(state)) {
    const total = one.variance + spread ** 2, off = value - one.middle
    one.weight -= 0.5 * ((off * off) / total + Math.log(2 * Math.PI * total))
    one.middle += (one.variance / total) * off
    one.variance *= spread ** 2 / total
  }
}

function anew(screw, state, value) {
  state.openAt = state.turned - Math.min(state.last, 0)
  state.wasSoon = below(state, 0, value - screw.window) > 0.5 || screw.tell > 0
  if (state.wasSoon) state.cap = Math.max(0.5 * Math.abs(state.last), screw.amounts[0])
  state.stands = 1
  for (const one of state.nodes) {
    one.low -= 2 * screw.repeat
    one.high += 2 * screw.repeat
    one.variance += screw.repeat ** 2
  }
  weigh(state)
}

// What is advised.
export function decide(screw, state, waits = false) {
  const isGauge = screw.sees === "gauge"
  if (screw.limit > 0 && state.high > screw.limit) return ["over", 0]
  if (waits) return ["needs first", 0]
  if (state.isLost && !isGauge) return ["not counted", 0]
  if (isGauge && state.isShut && state.ends !== "") return ["acted", 0]
  if (state.reading === null || (isGauge && !state.isRead) || (state.isShut && state.ends === "")) {
    return ["read first", 0]
  }
  if (!state.fits) return ["no fit", 0]
  return isGauge ? seen(screw, state) : unseen(screw, state)
}

function seen(screw, state) {
  const off = screw.target - state.reading, isUp = state.last >= 0, isRun = screw.step > 0, { bound } = state
  if (isRun && off <= 0) return ["not acted", 0]
  if (!isRun && Math.abs(off) <= screw.tolerance && isUp) return ["there", 0]
  if (off < -screw.tolerance || (!isUp && off < BELOW - screw.tolerance)) return ["turn", -down(screw, state)]
  if (!screw.slack && bound.unanswered > playMost(screw) + UNANSWERED) return ["no answer", 0]
  const best = largest(screw, (turn) => isFineRise(screw, state, turn)), smallest = screw.amounts[0]
  if (best > 0) return ["turn", best]
  if (worst(screw, bound, smallest) > screw.limit) {
    if (bound.unanswered > playMost(screw)) return ["no answer", 0]
    return [!isRun && off <= FINE_SHARE * screw.window ? "no nearer" : "no room", 0]
  }
  if (!may(chance(screw, state, smallest), left(screw, state))) return ["used up", 0]
  const landing = quantile(state, smallest, 0.5, screw.reading)
  return isRun || Math.abs(landing - screw.target) < Math.abs(off) ? ["turn", smallest] : ["no nearer", 0]
}

function isFineRise(screw, state, turn) {
  if (worst(screw, state.bound, turn) > screw.limit) return false
  if (1 - below(state, turn, screw.target + screw.tolerance, screw.reading) > OVERSHOOT) return false
  if (screw.trip !== null && !may(chance(screw, state, turn), allowed(screw, state))) return false
  if (screw.step <= 0 || turn <= screw.amounts[0]) return true
  if (below(state, turn, screw.target - NEAR * screw.step, screw.reading) >= 1 - TAIL) return true
  return quantileOf(state, "rate", 0.5) * turn <= screw.step
}

function down(screw, state) {
  for (let step = 1; step < MOST_TURNS; step += 1) {
    if (below(state, -step / 8, screw.target - BELOW) >= 0.5) return step / 8
  }
  return MOST_TURNS / 8
}

function unseen(screw, state) {
  if (state.ends === "sign") return ["sign", 0]
  if (state.ends !== "") return state.wasSoon ? ["too soon", outOfTheWay(screw, state)] : ["in time", 0]
  if (state.reading < screw.target - LOW * screw.window) return ["raise first", 0]
  if (state.stands < FOUND_BY) return ["not found", 0]
  const smallest = screw.amounts[0], reach = screw.tell > 0 ? screw.tell : screw.window
  if (quantileOf(state, "rate", 0.5) * smallest > reach) return ["coarse", 0]
  const best = largest(screw, (turn) => isFineFall(screw, state, turn))
  if (best <= 0 && !may(chance(screw, state, -smallest), left(screw, state))) return ["used up", 0]
  return ["turn", -Math.max(best, smallest)]
}

function isFineFall(screw, state, turn) {
  const beyond = state.openAt - (state.turned - turn)
  if (beyond > 1e-9 && beyond > state.cap + 1e-9) return false
  if (!may(chance(screw, state, -turn), allowed(screw, state))) return false
  if (screw.tell > 0 || quantileOf(state, "rate", 0.5) * turn <= FINE_SHARE * screw.window) return true
  return below(state, -turn, state.reading + screw.tell) <= FINE
}

const left = (screw, state) => Math.max(screw.chance_most - state.spent - state.others, 0)
const allowed = (screw, state) => screw.share * left(screw, state)
const may = (chanceOfIt, most) => chanceOfIt <= Math.max(most, NEGLIGIBLE)

function outOfTheWay(screw, state) {
  const movesBy = (turn) => sum(state.nodes.map((one) => (one.rate * moved(one, turn) >= screw.free ? one.share : 0)))
  for (let step = 1; step < MOST_TURNS; step += 1) if (movesBy(step / 4) >= RAISED_ENOUGH) return step / 4
  return MOST_TURNS / 4
}

function largest(screw, isFine) {
  const wrong = screw.amounts.findIndex((amount) => !isFine(amount))
  return wrong < 0 ? screw.amounts.at(-1) : wrong === 0 ? 0 : screw.amounts[wrong - 1]
}

// Return the next turn of a screw, or why none is advised; amounts in SI, turns raising positive.
// others: chances spent by other screws; waits: something the step rests on does not stand.
export function advise(screw, events, { others = 0, waits = false } = {}) {
  const state = begin(screw, others)
  for (const event of events) happened(screw, state, event)
  const [status, turn] = decide(screw, state, waits)
  const isUnseen = screw.sees === "act", isKnown = state.reading !== null && state.fits
  const noise = isUnseen ? 0 : screw.reading, at = state.reading ?? 0, isPast = screw.limit > 0 && screw.limit < screw.target
  const [low, middle, high] = [TAIL, 0.5, 1 - TAIL].map((part) => (isKnown ? quantile(state, turn, part, noise) : 0))
  const most = isUnseen ? at : worst(screw, state.bound, turn), rate = quantileOf(state, "rate", 0.5)
  return { valve: screw.valve, status, turn, low, middle, high,
    acts: isUnseen && turn < 0 ? below(state, turn, at + screw.tell) : 0,
    chance: turn !== 0 ? chance(screw, state, turn) : 0, spent: state.spent + state.others,
    worst: most === Infinity ? 0 : most,
    rate_low: quantileOf(state, "rate", TAIL), rate, rate_high: quantileOf(state, "rate", 1 - TAIL),
    rate_most: rateAt(screw, state.bound, state.bound.turned), play_low: quantileOf(state, "play", TAIL),
    play_high: quantileOf(state, "play", 1 - TAIL),
    is_coarse: rate * screw.amounts[0] > FINE_SHARE * screw.window,
    target: isPast ? screw.limit : screw.target, is_past: isPast }
}

// Return what a step rests on and that does not stand, as lacking in advice_needs.py; states by id and name.
export function lacking(plan, steps, proofs, step) {
  const nodes = new Map(plan.nodes.map((one) => [one.id, one])), seen = new Set(), off = "not on this way"
  const stands = (state) => ["done", "accepted", "valid"].includes(state)
  const isDone = (part) => (typeof part === "string" ? stands(steps[part]) : unmet(part, new Set()).length === 0)
  const oneOf = (parts) => {
    const done = parts.filter(isDone), onWay = parts.filter((part) => typeof part !== "string" || steps[part] !== off)
    return done.length > 0 ? done : onWay.length > 0 ? onWay : parts
  }
  const unmet = (needs, seen) => Object.entries(needs ?? {}).flatMap(([operator, parts]) => {
    const chosen = operator === "any" ? oneOf(parts) : parts
    return chosen.flatMap((part) => {
      if (typeof part !== "string") return unmet(part, seen)
      if (!stands(steps[part])) return [part]
      if (seen.has(part)) return []
      seen.add(part)
      return unmet(nodes.get(part).needs, seen)
    })
  })
  const found = new Set(unmet(nodes.get(step).needs, seen))
  const asked = new Set(plan.advice.aims.flatMap((aim) => nodes.get(aim.step)?.depends_on ?? []))
  const behind = plan.nodes.filter((one) => seen.has(one.id)).flatMap((one) => one.proves ?? [])
  const names = [...behind.filter((name) => asked.has(name)), ...(nodes.get(step).depends_on ?? [])]
  for (const name of names) if (name in proofs && !stands(proofs[name]) && proofs[name] !== off) found.add(name)
  return [...found]
}
