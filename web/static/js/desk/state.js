import { apply as applyCommon, inTurn, NOTHING as COMMON } from '../lib/state.js'

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
  return {
    runs,
    run: runs.find(run => run.id === state.chosen) ?? null,
    card,
    findings: card ? sorted(card.findings) : [],
    undecided: runs.reduce((sum, run) => sum + (run.row?.undecided ?? 0), 0),
    dangers: runs.filter(run => run.stage === 'held' && run.holds.at(-1)?.reason === 'danger stop'),
    rules: Object.fromEntries(state.rules.map(rule => [rule.id, rule])),
  }
}

function sorted(findings) {
  const rank = finding => ORDER.indexOf(finding.state) - (finding.doubts.includes('changed since it was ruled on') ? 10 : 0)
  return findings.toSorted((one, two) => rank(one) - rank(two))
}
