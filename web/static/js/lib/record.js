/**
 * What a screen makes of the entries it holds of one run. Pure: the same entries, in any order and
 * however often, give the same. The server's engine has the last word on everything that costs.
 */

/** The entries that stand, in order of time; the id decides between equal times. */
export function standing(entries) {
  const all = [...new Map(entries.map(entry => [entry.id, entry])).values()]
  const taken = new Set(all.filter(entry => entry.kind === 'withdrawal').map(entry => entry.what.entry))
  return all
    .filter(entry => !taken.has(entry.id))
    .sort((one, two) => one.at - two.at || (one.id < two.id ? -1 : 1))
}

/** The clock of a run as its signals tell it. */
export function clockOf(live) {
  const clock = { walkthrough: null, start: null, stop: null, holds: [], falseStarts: 0, restarted: 0 }
  for (const { what, at, kind } of live) if (kind === 'signal') tick(clock, what, at)
  return clock
}

function tick(clock, { signal, reason }, at) {
  const hold = openHold(clock)
  if (signal === 'walkthrough') {
    clock.walkthrough ??= { begin: at, end: null }
  } else if (signal === 'walkthrough over') {
    if (clock.walkthrough && clock.walkthrough.end === null) clock.walkthrough.end = at
  } else if (signal === 'start') {
    clock.start ??= at
  } else if (signal === 'false start') {
    Object.assign(clock, { start: null, stop: null, holds: [], falseStarts: clock.falseStarts + 1, restarted: at })
  } else if (signal === 'hold' || signal === 'danger') {
    if (clock.start !== null && clock.stop === null && !hold) {
      clock.holds.push({ begin: at, end: null, reason, danger: signal === 'danger' })
    } else if (hold && signal === 'danger') {
      hold.danger = true
    }
  } else if (signal === 'resume') {
    if (hold) hold.end = at
  } else if (signal === 'stop' && clock.start !== null && clock.stop === null) {
    clock.stop = at
    if (hold) hold.end = at
  }
}

/** The hold that is still open, if any. */
export function openHold(clock) {
  const last = clock.holds.at(-1)
  return last && last.end === null ? last : null
}

/** How far the run has come: 'waiting', 'walkthrough', 'running', 'held' or 'stopped'. */
export function stageOf(clock) {
  if (clock.stop !== null) return 'stopped'
  if (clock.start !== null) return openHold(clock) ? 'held' : 'running'
  return clock.walkthrough && clock.walkthrough.end === null ? 'walkthrough' : 'waiting'
}

/** How far into the run a moment lies, holds taken out, in milliseconds; null before a start. */
export function into(clock, at) {
  if (clock.start === null) return null
  const held = clock.holds
    .filter(hold => hold.begin < at)
    .reduce((sum, hold) => sum + Math.min(at, hold.end ?? at) - hold.begin, 0)
  return at - clock.start - held
}

/** What the run clock shows at a moment: it stands while held, and after the stop. */
export function shown(clock, at) {
  if (clock.start !== null) return into(clock, clock.stop ?? at)
  const walkthrough = clock.walkthrough
  return walkthrough ? Math.max(0, (walkthrough.end ?? at) - walkthrough.begin) : 0
}

/** The kinds of entry that are about a rule. */
export const OBSERVATIONS = new Set(['mark', 'breach', 'count', 'moved', 'measured', 'value'])

/** What was observed of each rule, in order of time. */
export function seenOf(live) {
  const seen = {}
  for (const entry of live) {
    if (OBSERVATIONS.has(entry.kind)) (seen[entry.what.rule] ??= []).push(entry)
  }
  return seen
}

/** The posts that have closed out. */
export function closedOf(live) {
  return new Set(live.filter(entry => entry.kind === 'close-out').map(entry => entry.post))
}
