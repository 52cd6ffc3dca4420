import { apply as applyCommon, entriesOf, NOTHING, rulesById, runToShow } from '../lib/state.js'
import { clockOf, closedOf, stageOf, standing, wordsOf } from '../lib/record.js'

export { NOTHING }

/** How many rules are large. */
const LARGE = 3
/** A rule counts as passed over once two of the next four after it have been marked. */
const LOOK_AHEAD = 4
const PASSED_BY = 2
/** The controls that this screen has; other rules are shown to be kept on paper. */
const TAKEN = new Set(['mark', 'tally', 'checklist', 'achieve', 'breach', 'count'])
const OBSERVED = new Set(['mark', 'breach', 'count', 'close-out'])

/** The state after a message, with the run that belongs on the screen. */
export function apply(state, message) {
  const next = applyCommon(state, message)
  // What was chosen by hand is let go when this post closes it out, not when it was closed before.
  const justClosed = next.picked && message.name === 'kept' && isClosed(next, next.chosen)
    && !isClosed(state, state.chosen)
  const free = justClosed ? { ...next, picked: false } : next
  return { ...free, chosen: runToShow(free, run => isClosed(free, run)) }
}

function isClosed(state, run) {
  return closedOf(standing(entriesOf(state, run))).has(state.me?.post)
}

/** Everything that the post screen shows of a state. */
export function derive(state) {
  const run = state.runs[state.chosen] ?? null
  const live = standing(run ? entriesOf(state, run.id) : [])
  const clock = clockOf(live)
  const words = wordsOf(live)
  const stage = stageOf(clock)
  const cards = state.rules.filter(rule => TAKEN.has(rule.control))
    .map(rule => cardOf(rule, words[rule.id] ?? {}, state.tasks))
  return {
    run,
    clock,
    stage,
    live,
    closed: closedOf(live).has(state.me?.post),
    ...inSight(cards.filter(card => card.rule.control !== 'breach')),
    breaches: likelyFirst(cards.filter(card => card.rule.control === 'breach'), live, rulesById(state)),
    open: cards.filter(card => card.rule.control !== 'breach' && card.left.length > 0),
    last: lastDone(live, state.me),
    onPaper: state.rules.filter(rule => !TAKEN.has(rule.control)),
    crew: crewOf(state.rules),
    elsewhere: startedElsewhere(state),
    ...saving(state, run),
  }
}

/** A rule with what has been said of it: its items, which of them are left, and their words. */
export function cardOf(rule, words, tasks) {
  const items = rule.items.length ? rule.items : ['']
  // A word on a whole checklist is the word on every point of which nothing else is said.
  const whole = rule.control === 'checklist' && words['']
  const said = whole ? { ...Object.fromEntries(items.map(item => [item, whole])), ...words } : words
  return {
    rule,
    words: said,
    items,
    left: items.filter(item => !said[item]),
    /** What the large target answers: the item that is next, or a checklist as a whole. */
    next: rule.control === 'checklist' ? '' : items.find(item => !said[item]),
    task: tasks.find(task => task.id === rule.task) ?? null,
  }
}

/**
 * What comes next, large; what was passed over; what comes later; and what is marked, newest first.
 *
 * The order of the rulebook is a guess at the order of the work. A rule that the crew has gone
 * past makes room, but stays in sight: it may still be done, and is one tap either way.
 */
export function inSight(cards) {
  const marks = cards.filter(card => card.rule.control !== 'count')
  const isOpen = card => card.left.length > 0
  const passed = marks.filter((card, n) => {
    const after = marks.slice(n + 1, n + 1 + LOOK_AHEAD)
    return isOpen(card) && after.filter(each => !isOpen(each)).length >= PASSED_BY
  })
  const ahead = marks.filter(card => isOpen(card) && !passed.includes(card))
  const next = (ahead.length ? ahead : passed).slice(0, LARGE)
  const large = [...next, ...passed]
  return {
    next,
    passed: passed.filter(card => !next.includes(card)),
    later: cards.filter(card => isOpen(card) && !large.includes(card)),
    marked: cards.filter(card => !isOpen(card)).sort((one, two) => lastWord(two) - lastWord(one)),
    all: cards,
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
  const last = live.findLast(entry => entry.kind === 'mark' && rules[entry.what.rule]?.task)
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
