/**
 * What has been said of a rule so far, for each control. Pure. `seen` are the observations of the
 * rule that this screen holds, in order of time. The engine has the last word on what they cost.
 *
 * Each gives `words`, the entry that answers each item, and `left`, the items not answered.
 */
import { isBetween } from '../lib/exact.js'

/** Two judges who tell the crew within this time, in milliseconds, have told it once. */
const TOGETHER = 10_000

/** The latest entry of some kinds on each item. */
function latest(seen, ...kinds) {
  const words = {}
  for (const entry of seen) if (kinds.includes(entry.kind)) words[entry.what.item ?? ''] = entry
  return words
}

function leftOf(items, words) {
  return items.filter(item => !words[item])
}

function marked({ items, seen }) {
  const words = latest(seen, 'mark')
  return { words, left: leftOf(items, words) }
}

/** A word on a whole list is the word on every item of which nothing else is said. */
function listed({ items, seen }) {
  const said = latest(seen, 'mark', 'count')
  const whole = said['']
  const words = whole ? { ...Object.fromEntries(items.map(item => [item, whole])), ...said } : said
  return { words, left: leftOf(items, words) }
}

function counted({ items, seen }) {
  const words = latest(seen, 'count')
  return { words, left: leftOf(items, words) }
}

/** `going` are the beginnings that I tapped and have not ended, `lasted` how long, in milliseconds. */
function held({ items, seen, me, restarted }) {
  const words = {}
  const lasted = {}
  const begun = {}
  for (const entry of seen) {
    const { item = '', moment } = entry.what
    const mine = `${item}\n${entry.by}`
    if (entry.kind === 'mark') {
      words[item] = entry
      delete lasted[item]
      delete begun[mine]
    } else if (entry.at < restarted) {
      continue
    } else if (entry.kind === 'measured') {
      words[item] = entry
      lasted[item] = entry.what.amount
      delete begun[mine]
    } else if (moment === 'begin') {
      begun[mine] = entry
    } else if (moment === 'end' && begun[mine]) {
      words[item] = entry
      lasted[item] = entry.at - begun[mine].at
      delete begun[mine]
    }
  }
  const own = Object.values(begun).filter(entry => entry.by === me?.person)
  const going = Object.fromEntries(own.map(entry => [entry.what.item ?? '', entry]))
  return { words, lasted, going, left: leftOf(items, words) }
}

function measured({ items, seen }) {
  const words = latest(seen, 'mark', 'measured')
  return { words, left: leftOf(items, words) }
}

function written({ items, seen }) {
  const words = latest(seen, 'value')
  return { words, left: leftOf(items, words) }
}

/** A setting: what a judge read, try by try, until it was good or there are no more tries. */
function set({ rule, seen, me }) {
  const { tries: most, low, high } = rule.more
  const byJudge = {}
  for (const entry of seen) {
    const tries = byJudge[entry.by] ??= []
    if (!isOver(tries, most)) tries.push({ entry, isGood: isBetween(entry.what.value, low, high) })
  }
  const all = Object.values(byJudge)
  const over = all.find(tries => isOver(tries, most))
  const tries = over ?? byJudge[me?.person] ?? all[0] ?? []
  const words = over ? { '': over.at(-1).entry } : {}
  return { words, tries, left: over ? [] : [''] }
}

function isOver(tries, most) {
  return tries.length === most || tries.at(-1)?.isGood === true
}

/** Faults one after the other: `told`, how often of the one that is open, and what others came to. */
function corrected({ seen }) {
  const outcomes = []
  let open = null
  for (const entry of seen) {
    if (entry.what.moment === 'told') {
      open ??= []
      const isSame = open.length && entry.at - open.at(-1).at <= TOGETHER && entry.by !== open.at(-1).by
      if (!isSame) open.push(entry)
    } else if (open) {
      outcomes.push(entry)
      open = null
    } else if (outcomes.length) {
      outcomes[outcomes.length - 1] = entry
    }
  }
  return {
    words: Object.fromEntries(outcomes.map((entry, n) => [n, entry])),
    outcomes,
    told: open ?? [],
    left: open ? [''] : [],
  }
}

/** The breach that closed a latch which nobody has released, and how many lie inside it. */
function broken({ rule, seen }) {
  let latched = null
  let inside = 0
  for (const entry of seen) {
    if (entry.kind === 'moved') {
      latched = null
      inside = 0
    } else if (latched) {
      inside += 1
    } else if (rule.more.latch) {
      latched = entry
    }
  }
  return { words: {}, left: [], latched, inside }
}

function stopped({ seen }) {
  return { words: latest(seen, 'moved'), left: [] }
}

const SAID = {
  mark: marked,
  tally: marked,
  achieve: marked,
  checklist: listed,
  count: counted,
  hold: held,
  measure: measured,
  value: given => (given.rule.kind === 'setting' ? set(given) : written(given)),
  correct: corrected,
  breach: broken,
  clock: stopped,
  computed: stopped,
}

/** The controls that there are. */
export const CONTROLS = Object.keys(SAID)

/** A rule with what has been said of it: its items, which of them are left, and their words. */
export function cardOf(rule, seen, { me, tasks, restarted = 0, givens = {} }) {
  const items = rule.items.length ? rule.items : ['']
  const said = SAID[rule.control]({ rule, items, seen, me, restarted })
  const going = Object.keys(said.going ?? {})
  return {
    rule,
    items,
    ...said,
    /** What the large target is about: what is going on, a list as a whole, or what is next. */
    next: rule.control === 'checklist' ? '' : going[0] ?? said.left[0],
    isGoing: going.length > 0,
    task: tasks.find(task => task.id === rule.task) ?? null,
    phase: rule.kind === 'placement' ? rule.more.at : '',
    /** What decides whether the rule applies, and is not known yet. */
    unsure: rule.when.filter(([name]) => givens[name] === undefined),
    /** Whether a judge may say of it, together with others, that all was done. */
    isPlain: ['mark', 'tally', 'checklist'].includes(rule.control) && rule.kind !== 'returns',
  }
}

/** Whether a rule applies, as far as what was drawn for the run is known. */
export function applies(rule, givens) {
  return rule.when.every(([name, value]) => givens[name] === undefined || givens[name] === value)
}
