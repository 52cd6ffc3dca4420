import { clockOf, standing } from '../lib/record.js'
import { apply as applyCommon, entriesOf, inTurn, NOTHING as COMMON } from '../lib/state.js'
import { cardsOf } from '../post/state.js'

export const NOTHING = { ...COMMON, rows: [], posting: null }

/** The state after a message. */
export function apply(state, message) {
  if (message.name === 'standings') return { ...state, rows: message.rows }
  if (message.name === 'board') return { ...state, posting: message.posting }
  const next = applyCommon(state, message)
  return next.chosen && next.runs[next.chosen] ? next : { ...next, chosen: inTurn(next)[0]?.id ?? null }
}

/** In which order findings are read: what waits for a decision, what counts, what was struck out. */
const ORDER = ['proposed', 'counts', 'struck out']

/** Everything that the desk shows of a state. */
export function derive(state) {
  const byTeam = Object.fromEntries(state.rows.map(row => [row.team, row]))
  const runs = inTurn(state).map(run => ({ ...run, row: byTeam[run.team] ?? null }))
  const card = state.cards[state.chosen] ?? null
  const run = runs.find(each => each.id === state.chosen) ?? null
  const live = standing(run ? entriesOf(state, run.id) : [])
  const givens = givensOf(run, live)
  return {
    runs,
    run,
    card,
    givens: Object.entries(state.givens).map(([name, given]) => ({ name, given, value: givens[name] ?? null })),
    asked: card ? askedOf(card.questions, cardsOf(state, live, clockOf(live), givens)) : [],
    findings: card ? sorted(card.findings) : [],
    undecided: runs.reduce((sum, run) => sum + (run.row?.undecided ?? 0), 0),
    dangers: runs.filter(run => run.stage === 'held' && run.holds.at(-1)?.reason === 'danger stop'),
  }
}

function sorted(findings) {
  const rank = finding => ORDER.indexOf(finding.state) - (finding.doubts.includes('changed since it was ruled on') ? 10 : 0)
  return findings.toSorted((one, two) => rank(one) - rank(two))
}

/** What was drawn for a run: as the server knows it, then as this device has said since. */
function givensOf(run, live) {
  const own = live.filter(entry => entry.kind === 'given').map(entry => [entry.what.name, entry.what.value])
  return { ...run?.givens, ...Object.fromEntries(own) }
}

/** The questions rule by rule: what only the head judge can answer, and what a post still may. */
function askedOf(questions, cards) {
  const rules = [...new Set(questions.map(question => question.rule))]
  return rules.map(rule => {
    const those = questions.filter(question => question.rule === rule)
    const card = cards.find(each => each.rule.id === rule) ?? null
    const unseen = those.filter(question => question.unseen).map(question => question.item)
    // A reading that was keyed in waits for what it is held against, not for another word.
    const left = unseen.filter(item => card?.words[item]?.kind !== 'value')
    return { rule, items: those.map(question => question.item), card: card && { ...card, left, next: left[0] }, left }
  })
}
