import { apply as applyCommon, entriesOf, NOTHING, rulesById, runToShow } from '../lib/state.js'
import { clockOf, closedOf, OBSERVATIONS, seenOf, stageOf, standing } from '../lib/record.js'
import { applies, cardOf } from './said.js'

export { NOTHING }

/** How many rules are large. */
const LARGE = 3
/** A rule counts as passed over once two of the next four after it have been marked. */
const LOOK_AHEAD = 4
const PASSED_BY = 2
/** What happens by itself, or may never happen: it waits in no order. */
const ASIDE = new Set(['breach', 'correct', 'clock', 'computed'])
const PHASES = ['start', '', 'end']
const OBSERVED = new Set([...OBSERVATIONS, 'close-out'])

/** The state after a message, with the run that belongs on the screen. */
export function apply(state, message) {
  const next = applyCommon(state, message)
  // What was chosen by hand is let go when this post closes it out, not when it was closed before.
  const justClosed = next.picked && message.name === 'kept' && isClosed(next, next.chosen)
    && !isClosed(state, state.chosen)
  const free = justClosed ? { ...next, picked: false } : next
  const left = message.name === 'left' ? { ...free, picked: false, left: [...free.left ?? [], message.run] } : free
  return { ...left, chosen: runToShow(left, run => isDone(left, run)) }
}

/** Whether this tablet has nothing more to do in a run: an assessment is signed, or left unsigned. */
function isDone(state, run) {
  if (!isClosed(state, run)) return false
  if (state.result !== 'assessment' || state.me.role !== 'judge' || state.left?.includes(run)) return true
  return standing(entriesOf(state, run)).some(entry => entry.kind === 'signature')
}

function isClosed(state, run) {
  return closedOf(standing(entriesOf(state, run))).has(state.me?.post)
}

/** Everything that the post screen shows of a state. */
export function derive(state) {
  const run = state.runs[state.chosen] ?? null
  const live = standing(run ? entriesOf(state, run.id) : [])
  const clock = clockOf(live)
  const all = cardsOf(state, live, clock, run?.givens ?? {})
  const cards = all.filter(card => !ASIDE.has(card.rule.control))
  const faults = all.filter(card => card.rule.control === 'correct')
  const breaches = all.filter(card => card.rule.control === 'breach')
  return {
    run,
    clock,
    stage: stageOf(clock),
    live,
    closed: closedOf(live).has(state.me?.post),
    isTimed: state.clock.timed !== false,
    ...inSight(cards, faults.filter(card => card.told.length > 0)),
    all,
    faults: faults.filter(card => card.told.length === 0),
    info: all.filter(card => ['clock', 'computed'].includes(card.rule.control)),
    breaches: likelyFirst(breaches, live, rulesById(state)),
    latches: breaches.filter(card => card.latched),
    open: all.filter(card => card.left.length > 0),
    drawn: drawnFor(state.rules, run?.givens ?? {}),
    last: lastDone(live, state.me),
    crew: crewOf(state.rules),
    elsewhere: startedElsewhere(state),
    ...saving(state, run),
  }
}

/** The rules that apply to a run, with what has been said of them, in the order of the rulebook. */
export function cardsOf(state, live, clock, givens) {
  const seen = seenOf(live)
  const about = { me: state.me, tasks: state.tasks, restarted: clock.restarted, givens }
  const cards = state.rules.filter(rule => applies(rule, givens))
    .map(rule => cardOf(rule, seen[rule.id] ?? [], about))
  // Of a task that the judge has stopped nothing more is asked.
  const stopped = new Set(cards.filter(card => card.rule.control === 'clock' && card.words[''])
    .map(card => card.rule.more.task))
  return cards.filter(card => !stopped.has(card.rule.task) || card.left.length === 0)
}

/** What was drawn for the run, as far as a rule of this post depends on it. */
function drawnFor(rules, givens) {
  const names = [...new Set(rules.flatMap(rule => rule.when.map(([name]) => name)))]
  return names.map(name => ({ name, value: givens[name] ?? null }))
}

/**
 * What comes next, large; what was passed over; what comes later; and what is marked, newest first.
 * A fault the crew was told of comes before all.
 *
 * The order of the rulebook is a guess at the order of the work. A rule that the crew has gone
 * past makes room, but stays in sight: it may still be done, and is one tap either way.
 */
export function inSight(cards, told = []) {
  const marks = PHASES.flatMap(phase =>
    cards.filter(card => card.rule.control !== 'count' && card.phase === phase))
  const isOpen = card => card.left.length > 0
  const passed = marks.filter((card, n) => {
    const after = marks.slice(n + 1, n + 1 + LOOK_AHEAD)
    return isOpen(card) && !card.isGoing && after.filter(each => !isOpen(each)).length >= PASSED_BY
  })
  const ahead = marks.filter(card => isOpen(card) && !passed.includes(card))
  const next = [...told, ...(ahead.length ? ahead : passed)].slice(0, Math.max(LARGE, told.length))
  const large = [...next, ...passed]
  const counts = cards.filter(card => card.rule.control === 'count')
  return {
    next,
    passed: passed.filter(card => !next.includes(card)),
    later: [...marks, ...counts].filter(card => isOpen(card) && !large.includes(card)),
    marked: cards.filter(card => !isOpen(card)).sort((one, two) => lastWord(two) - lastWord(one)),
  }
}

function lastWord(card) {
  return Math.max(...Object.values(card.words).map(entry => entry.at))
}

/**
 * Breaches in the order in which they are likely: those of the task that is being worked on and
 * those that hold always, then the others; each part in the rulebook's order.
 */
function likelyFirst(cards, live, rules) {
  const last = live.findLast(entry => OBSERVATIONS.has(entry.kind) && rules[entry.what.rule]?.task)
  const task = last ? rules[last.what.rule].task : null
  const isLikely = ({ rule }) => !rule.during?.length || task === null || rule.during.includes(task)
  return [
    ...cards.filter(isLikely).map(card => ({ ...card, likely: true })),
    ...cards.filter(card => !isLikely(card)).map(card => ({ ...card, likely: false })),
  ]
}

/** What undo takes back: this person's last entry of these kinds, or the batch it was made in. */
export function lastDone(live, me, kinds = OBSERVED) {
  const own = live.filter(entry => entry.by === me?.person && kinds.has(entry.kind))
  // Made last, not timed last: an answer put right later carries the later id.
  const last = own.reduce((one, two) => (one && one.id > two.id ? one : two), null)
  if (!last) return []
  return own.filter(entry => entry.kind === last.kind && entry.at === last.at)
}

/** The roles that the post's rules name, shortened to their names. */
function crewOf(rules) {
  return [...new Set(rules.flatMap(rule => rule.by).map(title => title.split(',')[0]))]
}

/** A run that is going on in the same bay while another one is on the screen. */
function startedElsewhere(state) {
  const shown = state.runs[state.chosen]
  return Object.values(state.runs).find(run =>
    run.id !== shown?.id && run.bay === shown?.bay && ['running', 'held'].includes(run.stage)) ?? null
}

function saving(state, run) {
  const isMine = entry => entry.by === state.me?.person
  return {
    saved: run ? entriesOf(state, run.id).filter(isMine).length : 0,
    waiting: state.waiting.filter(entry => entry.by === state.me?.person).length,
    foreign: state.waiting.filter(entry => state.me && entry.by !== state.me.person).length,
    refused: state.refused,
  }
}
