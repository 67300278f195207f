// Weighs the causes of a step by what was read there: the same arithmetic as procedure/causes.py.
// The signature is the plain one of the pack; numbers are SI.

export const FAR = 3
export const MOST_LISTED = 5
const FAR_HEALTHY = 2.2
const FAR_MORE = 0.3
const LEAST_SHARE = 0.01
const LIKELY = 0.5
const POSSIBLE = 0.15
const FLOW_SHARE = 0.05
const FLOW_LEAST = 0.02
const LOW_FLOW = 0.5
const LACKS = 2
const BENT = 0.08
const BENT_STEEP = 0.3
const STEEP = 1.5
const LEAST_WIDTH = 500
const LEAST_SHARE_WIDTH = 0.005
const CLEAR = 1.96
const RIGHT = 0.05
const WRONG = 0.25
const SOUND = { curves: {}, most: {}, factor: 1, offset: 0 }
const EACH = "each"
const AS_EXPECTED = "0"
const NEVER = -1e300

const isTap = (place) => place.startsWith("T")
const keyOf = (reads) => `${reads.state}/${reads.place}`

// readings: {input: [value, tolerance]}; flow: number, {input: number} or null; chosen: {choice: option} or null.
export const weigh = (signature, readings, flow = null, chosen = null) => {
  const given = givenOf(signature, readings, flow, chosen)
  if (given.length === 0) return []
  const rows = signature.causes.map((cause) => ({ cause, ...weighed(signature, cause, given) }))
  const healthy = Math.min(FAR, FAR_HEALTHY + FAR_MORE * Math.log(given.length))
  const within = rows.filter((row) => row.misfit <= (row.cause.id === AS_EXPECTED ? healthy : FAR))
  if (within.length > 0) return told(within)
  const misfit = Math.min(...rows.map((row) => row.misfit))
  return [{ id: "", input: "", share: 0, shown: 0, word: "none fits", misfit, further: 0 }]
}

// The weightiest of the causes that fit, each with its share of them all.
const told = (rows) => {
  const top = Math.max(...rows.map((row) => row.weight))
  const total = rows.reduce((sum, row) => sum + Math.exp(row.weight - top), 0)
  const shares = rows.map((row) => ({ ...row, share: Math.exp(row.weight - top) / total }))
  shares.sort((one, other) => other.share - one.share)
  const listed = shares.filter((row) => row.share >= LEAST_SHARE)
  const further = Math.max(listed.length - MOST_LISTED, 0)
  return listed.slice(0, MOST_LISTED).map(({ cause, share, misfit, where }) => ({
    id: cause.id, input: where, share, shown: Math.floor(share * 10 + 0.5) / 10, word: wordOf(cause, share),
    misfit, further,
  }))
}

const wordOf = (cause, share) => {
  if (cause.id === AS_EXPECTED) return "as expected"
  if (share >= LIKELY) return "likely"
  return share >= POSSIBLE ? "possible" : "less likely"
}

const givenOf = (signature, readings, flow, chosen) => {
  const flows = new Map(signature.axes.map((axis) => [axis.state, axis.flows]))
  const found = new Map()
  for (const reads of signature.reads) {
    const reading = Object.hasOwn(readings, reads.input) ? readings[reads.input] : null
    if (reading === null || found.has(reads.input) || !reading.every(Number.isFinite)) continue
    if (reads.choice !== null && chosen !== null) {
      const [choice, option] = reads.choice
      if (Object.hasOwn(chosen, choice) && chosen[choice] !== option) continue
    }
    const axis = flows.get(reads.state)
    const noted = axis.length > 0 ? notedFlow(flow, reads) : null
    const one = { reads, flows: axis, value: reading[0], tolerance: reading[1], flow: noted }
    found.set(reads.input, { ...one, ...besideSound(signature, one) })
  }
  return [...found.values()]
}

// What the sound station shows, and how far a reading lies from that; 0 where it is not clear of it.
const besideSound = (signature, one) => {
  const [sound, supply, setting, half] = expected(signature, SOUND, one, false)
  const square = half * half + supply * supply + setting * setting + one.tolerance * one.tolerance / 3
  const off = one.value - sound
  return { sound, off: Math.abs(off) > CLEAR * Math.sqrt(square) ? off : 0 }
}

// Does a span move a reading that lies off the way it lies, and none the other way?
const isInPlay = (signature, first, second, given, hit) => {
  let isOff = false
  let isRight = false
  for (const [index, one] of given.entries()) {
    if (one.off === 0) continue
    isOff = true
    const moved = [first, second].map((grade) => (expected(signature, grade, one, hit[index])[0] - one.sound) / one.off)
    if (Math.max(...moved) > RIGHT) isRight = true
    else if (Math.min(...moved) < -WRONG) return false
  }
  return isRight || !isOff
}

const notedFlow = (flow, reads) => {
  let noted = flow
  if (flow !== null && typeof flow === "object") {
    const name = Object.hasOwn(flow, reads.input) ? reads.input : reads.flow
    noted = Object.hasOwn(flow, name) ? flow[name] : null
  }
  return Number.isFinite(noted) && noted >= 0 ? noted : null
}

// Only spans that fit count; where none does, the misfit is that of the nearest.
const weighed = (signature, cause, given) => {
  let best = NEVER
  let misfit = -NEVER
  let where = ""
  let count = 0
  const weights = []
  for (const [name, hit] of targets(cause, given)) {
    for (const [first, second] of cause.spans) {
      count += 1
      const ends = [cause.grades[first], cause.grades[second]]
      if (cause.id !== AS_EXPECTED && !isInPlay(signature, ...ends, given, hit)) continue
      const found = span(signature, ...ends, given, hit)
      const fits = found.misfit <= FAR
      if (fits) weights.push(found.weight)
      if (fits ? found.weight > best : weights.length === 0 && found.misfit < misfit) {
        best = fits ? found.weight : NEVER
        misfit = found.misfit
        where = name
      }
    }
  }
  if (weights.length === 0) return { weight: NEVER, misfit, where }
  const total = weights.reduce((sum, weight) => sum + Math.exp(weight - best), 0)
  return { weight: Math.log(cause.prior) + best + Math.log(total / count), misfit, where }
}

const targets = (cause, given) => {
  if (cause.on !== EACH) {
    const hit = given.map((one) => cause.on === one.reads.place)
    return hit.includes(true) || cause.on === "" ? [["", hit]] : []
  }
  const places = [...new Set(given.map((one) => one.reads.place).filter(isTap))]
  const found = []
  for (const place of places) {
    const hit = given.map((one) => one.reads.place === place)
    found.push([place, hit])
    if (hit.filter(Boolean).length > 1) {
      given.forEach((one, index) => {
        if (one.reads.place === place) found.push([one.reads.input, given.map((_, other) => other === index)])
      })
    }
  }
  return found
}

const span = (signature, first, second, given, hit) => {
  const rows = rowsOf(signature, first, second, given, hit)
  let rr = 0, rd = 0, dd = 0, det = 0
  let pr0 = 0, pr1 = 0, pd0 = 0, pd1 = 0
  let m11 = 1, m12 = 0, m22 = 1
  for (const [off, step, a, b, width] of rows) {
    const over = 1 / (width * width)
    rr += off * off * over
    rd += off * step * over
    dd += step * step * over
    det += 2 * Math.log(width)
    pr0 += off * a * over
    pr1 += off * b * over
    pd0 += step * a * over
    pd1 += step * b * over
    m11 += a * a * over
    m12 += a * b * over
    m22 += b * b * over
  }
  const under = m11 * m22 - m12 * m12
  det += Math.log(under)
  const shared = (a0, a1, b0, b1) => (m22 * a0 * b0 - m12 * (a0 * b1 + a1 * b0) + m11 * a1 * b1) / under
  rr -= shared(pr0, pr1, pr0, pr1)
  rd -= shared(pr0, pr1, pd0, pd1)
  dd -= shared(pd0, pd1, pd0, pd1)
  const free = dd > 1e-12
  const at = free ? Math.min(Math.max(rd / dd, 0), 1) : 0
  const square = Math.max(rr - 2 * at * rd + at * at * dd, 0)
  const share = free ? Math.min(1, Math.sqrt((2 * Math.PI) / dd)) : 1
  const left0 = pr0 - at * pd0
  const left1 = pr1 - at * pd1
  const supply = (m22 * left0 - m12 * left1) / under
  const setting = (m11 * left1 - m12 * left0) / under
  let misfit = Math.max(Math.abs(supply), Math.abs(setting))
  for (const [off, step, a, b, width] of rows) {
    misfit = Math.max(misfit, Math.abs(off - at * step - supply * a - setting * b) / width)
  }
  return { weight: -0.5 * square - 0.5 * det + Math.log(share), misfit }
}

const rowsOf = (signature, first, second, given, hit) => {
  const found = []
  const noted = new Set()
  given.forEach((one, index) => {
    const low = expected(signature, first, one, hit[index])
    const high = second === first ? low : expected(signature, second, one, hit[index])
    const step = high[0] - low[0]
    const half = 0.5 * (low[3] + high[3])
    const factor = hit[index] ? 0.5 * (Math.abs(first.factor) + Math.abs(second.factor)) : 1
    const tolerance = one.tolerance * factor
    const bent = (isSteep(first, second, one) ? BENT_STEEP : BENT) * step
    const width = Math.sqrt(half * half + (tolerance * tolerance) / 3 + bent * bent)
    const least = isTap(one.reads.place) ? LEAST_WIDTH : LEAST_SHARE_WIDTH * Math.abs(low[0])
    found.push([
      one.value - low[0], step, 0.5 * (low[1] + high[1]), 0.5 * (low[2] + high[2]),
      Math.max(width, least, 1e-9),
    ])
    const mark = `${one.reads.state} ${one.reads.flow || one.reads.input}`
    if (one.flow !== null && !noted.has(mark)) {
      noted.add(mark)
      found.push(flowRow(first, second, one, one.flow))
    }
  })
  return found
}

// Does the flow come near all that can pass? There readings fall off fast.
const isSteep = (first, second, one) => {
  const { state, usual } = one.reads
  const flow = one.flow === null ? usual : one.flow
  return [first, second].some((grade) => Object.hasOwn(grade.most, state) && grade.most[state] <= STEEP * flow)
}

// A flow that was noted: no more than can pass, no less than the step asks for.
const flowRow = (first, second, one, flow) => {
  const { state, usual } = one.reads
  const width = Math.max(FLOW_SHARE * flow + FLOW_LEAST * usual, 1e-9)
  const [low, high] = [first, second].map((grade) => {
    const most = Object.hasOwn(grade.most, state) ? grade.most[state] : 1e300
    const asked = LOW_FLOW * Math.min(usual, most)
    const lack = flow < asked ? 1 - flow / asked : 0
    return Math.min(flow, most) + LACKS * width * lack
  })
  const step = high - low
  return [flow - low, step, 0, 0, Math.sqrt(width * width + BENT * BENT * step * step)]
}

const expected = (signature, grade, one, slips) => {
  const key = keyOf(one.reads)
  const curve = Object.hasOwn(grade.curves, key) ? grade.curves[key] : signature.healthy[key]
  const flow = one.flow === null ? one.reads.usual : one.flow
  const [read, supply, setting, half] = at(curve, one.flows, flow)
  const value = Object.hasOwn(grade.most, one.reads.state) ? Math.max(read, 0) : read
  if (!slips) return [value, supply, setting, half]
  const { factor, offset } = grade
  return [factor * value + offset, factor * supply, factor * setting, Math.abs(factor) * half]
}

// A curve at a flow, straight in its square between the flows of the axis, level beyond.
const at = (curve, flows, flow) => {
  const last = flows.length - 1
  if (last < 1 || flow <= flows[0]) return curve.map((row) => row[0])
  if (flow >= flows[last]) return curve.map((row) => row[last])
  let i = 0
  while (flows[i + 1] < flow) i += 1
  const low = flows[i] * flows[i]
  const high = flows[i + 1] * flows[i + 1]
  const share = (flow * flow - low) / (high - low)
  return curve.map((row) => row[i] + share * (row[i + 1] - row[i]))
}
